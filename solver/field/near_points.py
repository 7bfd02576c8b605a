r"""Short-range part of the potential at points: exact thin wires minus what the mesh sees.

Points of one cell of space are taken together: each cell sums over all line elements that are
near any of its points, in dense blocks in which wires and their balls are the same source. In
an image far above or below, a row of balls is as good as the wire itself, and both are
:math:`\operatorname{erfc}(r / \sqrt 2 s) / r`. What balls of one height do at the surface, all
images together, depends on the distance in plan alone and is read from a table.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from hashlib import blake2b

import numpy as np
import scipy.sparse as sparse
from scipy.spatial import cKDTree

from ..model import Floats, Integers, Phasors, Soil
from ..pairs import pairs_within
from ..threads import in_threads
from .clouds import Clouds
from .elements import LineElements
from .images import Ray, rays_into_layers
from .joints import Joints
from .near_layer import CUT, Cell, Layer

_wide = 1.4  # cells of points, as a share of the usual reach of an element
_groups = 64  # cells of one thread's task
_most_kept = 500_000  # images of ends in all cells of which is kept what acts in them; 50 MB
_Key = tuple[float, ...]  # layer and cell


@dataclass
class _Kept:
    """What acts in cells, of one set of currents, as long as it is not too much."""

    currents: bytes = b""
    cells: dict[_Key, Cell | None] = field(default_factory=dict)
    images: int = 0

    def keep(self, key: _Key, cell: Cell | None) -> None:
        """Keep what acts in a cell if there is room."""
        images = 1 if cell is None else 1 + len(cell.ends.row)
        if self.images + images <= _most_kept:
            self.cells[key] = cell
            self.images += images


class NearField:
    """Short-range part of the potential of line elements, to be added to that of the mesh.

    Parameters
    ----------
    elements : LineElements
        The m line elements of the metal.
    clouds : Clouds
        Balls of source that the mesh feels in their place.
    """

    def __init__(self, elements: LineElements, *, clouds: Clouds, soil: Soil) -> None:
        self._elements, self._clouds, self._soil = elements, clouds, soil
        self._reach = CUT * np.sqrt(2.0) * elements.spread + 0.5 * elements.extent
        self._size = _wide * float(np.median(self._reach))
        self._tree = cKDTree(elements.middle)
        self._joints = Joints.of(elements)
        self._layers: dict[int, Layer] = {}
        self._kept = _Kept()

    def potential(self, points: Floats, *, current: Phasors) -> Phasors:
        """Potential at points, inside the metal the value at its face.

        Parameters
        ----------
        points : ndarray of float, shape (n, 3)
            Places in the soil or on its surface. [m]
        current : ndarray of float or complex, shape (m,)
            Of each line element. [A]

        Returns
        -------
        potential : ndarray of float or complex, shape (n,)
            [V]
        """
        found = np.zeros(len(points), dtype=current.dtype)
        layers = np.where(points[:, 2] < 0, self._soil.layer_at(-points[:, 2]), -1)
        for layer in np.unique(layers).tolist():
            if layer not in self._layers:
                self._layers[layer] = self._of_layer(layer)
            members = np.flatnonzero(layers == layer)
            found[members] = self._in_cells(points[members], layer=layer, current=current)
        return found

    @cached_property
    def _rays(self) -> list[Ray]:
        """Of all layers; in thin ones there are thousands."""
        reach = CUT * np.sqrt(2.0) * float(self._elements.spread.max())
        return list(rays_into_layers(self._elements, soil=self._soil, reach=reach))

    def _of_layer(self, layer: int) -> Layer:
        """The line elements as they act in a layer, or with -1 at the surface."""
        surface = layer < 0
        made = Layer(
            self._elements,
            clouds=self._clouds,
            joints=self._joints,
            soil=self._soil,
            paths=self._rays,
            layer=max(layer, 0),
            surface=surface,
        )
        if surface:
            # As far as a cell goes from one side to what is near its other side.
            made.tabulate(farthest=2 * (self._size + float(self._reach.max())))
        return made

    def _in_cells(self, points: Floats, *, layer: int, current: Phasors) -> Phasors:
        """The sum at points of one layer, shape (n,). [V]

        Cells are fixed in space, so that a point does not depend on what is asked with it.
        """
        found = np.zeros(len(points), dtype=current.dtype)
        cells = np.floor(points / self._size)
        order = np.lexsort(cells.T)
        first = np.flatnonzero(np.any(np.diff(cells[order], axis=0) != 0, axis=1)) + 1
        groups, cells = np.split(order, first), cells[order[np.append(0, first)]]
        keys: list[_Key] = [(layer, *cell) for cell in cells.tolist()]
        kept = self._kept_of(current)

        def of_task(first: int) -> None:
            some = range(first, min(first + _groups, len(keys)))
            new = [k for k in some if keys[k] not in kept.cells]
            made = self._cells(cells[new], layer=layer, current=current)
            for k in some:
                cell = next(made) if k in new else kept.cells[keys[k]]
                if cell is not None:
                    parts = cell.at(points[groups[k]])
                    found[groups[k]] = parts[:, 0] if parts.shape[1] == 1 else parts @ [1, 1j]
                if k in new:
                    kept.keep(keys[k], cell)

        in_threads(of_task, range(0, len(groups), _groups))
        return found

    def _kept_of(self, current: Phasors) -> _Kept:
        """Cells known for some currents; searches ask for the same ones again and again."""
        which = blake2b(current.tobytes(), digest_size=16).digest()
        if self._kept.currents != which:
            self._kept = _Kept(which)
        return self._kept

    def _cells(self, cells: Floats, *, layer: int, current: Phasors) -> Iterator[Cell | None]:
        """What acts in some cells, one after the other; None where nothing does."""
        if not len(cells):
            return
        near, centres, radius = self._layers[layer], (cells + 0.5) * self._size, np.sqrt(0.75)
        if layer < 0:  # a square of the surface
            centres[:, 2], radius = 0.0, np.sqrt(0.5)
        charge, change = self._clouds.shares.copy(), self._joints.change.copy()
        for each in (charge, change):
            each.data = each.data * np.repeat(current, np.diff(each.indptr))
        member = self._members(centres, radius=radius * self._size)
        charges = member @ charge  # of the balls, by the elements near each cell
        changes = member @ change
        changes.sort_indices()
        for k, centre in enumerate(centres):
            (index, _), (balls, amperes) = _row(member, k), _row(charges, k)
            if not len(index):
                yield None
                continue
            ends, steps = _row(changes, k)
            yield near.cell(
                centre,
                balls=(balls, _columns(amperes)),
                wires=(index, _columns(current[index])),
                ends=(ends, _columns(steps)),
            )

    def _members(self, centre: Floats, *, radius: float) -> sparse.csr_matrix:
        """Elements near any point of each cell, shape (cells, m)."""
        group, index = pairs_within(
            self._tree,
            centres=centre,
            radius=np.full(len(centre), radius + self._reach.max()),
        )
        gap = np.linalg.norm(self._tree.data[index] - centre[group], axis=1)
        near = gap < radius + self._reach[index]
        ends = np.cumsum(np.bincount(group[near], minlength=len(centre)))
        return sparse.csr_matrix(
            (np.ones(ends[-1]), index[near], np.append(0, ends)),
            shape=(len(centre), len(self._elements)),
        )


def _row(matrix: sparse.csr_matrix, row: int) -> tuple[Integers, Phasors]:
    """Columns and values of a row."""
    own = slice(matrix.indptr[row], matrix.indptr[row + 1])
    return matrix.indices[own].astype(np.int64), np.asarray(matrix.data[own])


def _columns(values: Phasors) -> Floats:
    """Real values as one column, complex ones as two."""
    parts = (values.real, values.imag) if np.iscomplexobj(values) else (values,)
    return np.column_stack(parts)
