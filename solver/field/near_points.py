r"""Short-range part of the potential at points: exact thin wires minus what the mesh sees.

Points of one cell of space are taken together: each cell sums over all line elements that are
near any of its points, in dense blocks in which wires and their balls are the same source. In
an image far above or below, a row of balls is as good as the wire itself, and both are
:math:`\operatorname{erfc}(r / \sqrt 2 s) / r`. What balls of one height do at the surface, all
images together, depends on the distance in plan alone and is read from a table.
"""

from collections.abc import Iterable
from functools import cached_property

import numpy as np
import scipy.sparse as sparse
from scipy.spatial import cKDTree
from scipy.special import erf

from ..model import Floats, Integers, Phasors, Soil
from ..pairs import pairs_within
from ..threads import in_threads
from .clouds import Clouds
from .elements import WIRE, LineElements
from .faced_elements import edge_orders, faces_near_points, from_faces
from .images import Ray, rays_into_layers, seen_from_surface
from .joints import Joints
from .media import conductivities
from .near_field import rows_of_balls_do

_cut = 2.6  # erfc(2.6) = 2e-4 of what is left at that distance, itself little
_face_reach = 14.0  # radii; beyond, a face is as good as its axis
_wide = 1.4  # cells of points, as a share of the usual reach of an element
_groups = 64  # cells of one thread's task
_block = 1_000_000  # pairs of a point and an image of an end taken at once
# Of log(1 + q), q the squared distance over 2 s², to 1e-6 of the value at 0.
_step = 0.004


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
        self._reach = _cut * np.sqrt(2.0) * elements.spread + 0.5 * elements.length
        self._size = _wide * float(np.median(self._reach))
        self._tree = cKDTree(elements.middle)
        self._joints = Joints.of(elements)
        self._layers: dict[int, _Layer] = {}

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
        reach = _cut * np.sqrt(2.0) * float(self._elements.spread.max())
        return list(rays_into_layers(self._elements, soil=self._soil, reach=reach))

    def _of_layer(self, layer: int) -> "_Layer":
        """The line elements as they act in a layer, or with -1 at the surface."""
        surface = layer < 0
        made = _Layer(
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
        near, found = self._layers[layer], np.zeros(len(points), dtype=current.dtype)
        cells = np.floor(points / self._size)
        order = np.lexsort(cells.T)
        first = np.flatnonzero(np.any(np.diff(cells[order], axis=0) != 0, axis=1)) + 1
        groups = np.split(order, first)
        centres = (cells[order[np.append(0, first)]] + 0.5) * self._size
        radius = np.sqrt(0.75) * self._size
        if layer < 0:  # a square of the surface
            centres[:, 2], radius = 0.0, np.sqrt(0.5) * self._size
        charge = self._clouds.shares.copy()
        charge.data = charge.data * np.repeat(current, np.diff(charge.indptr))
        change = self._joints.change.copy()
        change.data = change.data * np.repeat(current, np.diff(change.indptr))

        def of_task(first: int) -> None:
            some = slice(first, first + _groups)
            member = self._members(centres[some], radius=radius)
            charges = member @ charge  # of the balls, by the elements near each cell
            changes = member @ change
            changes.sort_indices()
            for k, (group, centre) in enumerate(zip(groups[some], centres[some], strict=True)):
                index, _ = _row(member, k)
                if len(index):
                    balls, amperes = _row(charges, k)
                    ends, steps = _row(changes, k)
                    parts = near.at(
                        points[group],
                        centre=centre,
                        balls=(balls, _columns(amperes)),
                        wires=(index, _columns(current[index])),
                        ends=(ends, _columns(steps)),
                    )
                    found[group] = parts[:, 0] if parts.shape[1] == 1 else parts @ [1, 1j]

        in_threads(of_task, range(0, len(groups), _groups))
        return found

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


def _faces_near(elements: LineElements, *, ray: Ray, between: tuple[float, float]) -> bool:
    """Whether images of faces are so near some heights that their axes would not do."""
    faced = (elements.face != WIRE) & (elements.layer == ray.source_layer)
    if not faced.any():
        return False
    ends = np.stack([elements.start[faced, 2], elements.end[faced, 2]])
    images = ray.sign * ends + ray.shift
    apart = max(between[0] - images.max(), images.min() - between[1])
    return bool(apart < _face_reach * elements.radius[faced].max())


class _Layer:
    """Line elements with their balls, as they act in one layer."""

    def __init__(
        self,
        elements: LineElements,
        *,
        clouds: Clouds,
        joints: Joints,
        soil: Soil,
        paths: Iterable[Ray],
        layer: int,
        surface: bool,
    ) -> None:
        self.elements, self.clouds, self.joints = elements, clouds, joints
        self.length = np.linalg.norm(elements.end - elements.start, axis=1)
        self.axis = elements.axis
        self.order = edge_orders(elements, soil=soil)
        key = np.column_stack([np.round(clouds.place[:, 2], 7), clouds.spread, clouds.layer])
        _, self.first, kind = np.unique(key, axis=0, return_index=True, return_inverse=True)
        self.kind = kind.ravel()
        self.table: Floats | None = None  # those of all kinds, one after the other
        self.begin = np.zeros(len(self.first), dtype=np.int64)
        if surface:
            paths = seen_from_surface(paths)
        sigma = conductivities(soil)
        planes = [0.0, *(-soil.interface_depth), -np.inf]
        between = (0.0, 0.0) if surface else (planes[layer + 1], planes[layer])
        # Each ray, its volts per ampere and inverse metre, and whether wires act as such in it.
        self.paths = [
            (
                ray,
                ray.strength / (4 * np.pi * sigma[ray.source_layer]),
                not rows_of_balls_do(ray, clouds=clouds, between=between)
                or _faces_near(elements, ray=ray, between=between),
            )
            for ray in paths
            if ray.target_layer == layer
        ]
        self.exact = [(ray, factor) for ray, factor, exact in self.paths if exact]

    def tabulate(self, *, farthest: float) -> None:
        """Tables of what balls do at the surface, up to a distance in plan."""
        twice = 2 * self.clouds.spread[self.first] ** 2
        tables = []
        for ball, scale in zip(self.first, twice.tolist(), strict=True):
            steps = np.arange(int(np.log1p(farthest**2 / scale) / _step) + 2)
            value = self._of_balls(
                (np.expm1(_step * steps) * scale)[:, None],
                index=np.array([ball]),
                heights=np.zeros(1),
            )
            tables.append(value[:, 0])
        self.begin[1:] = np.cumsum([len(table) for table in tables])[:-1]
        self.table = np.concatenate(tables)

    def at(
        self,
        points: Floats,
        *,
        centre: Floats,
        balls: tuple[Integers, Floats],
        wires: tuple[Integers, Floats],
        ends: tuple[Integers, Floats],
    ) -> Floats:
        """Sum over some balls and wires with their currents at points, shape (n, c). [V]

        `ends` are the joints of the wires and what their leakage changes there.
        """
        index, charge = balls
        square = np.subtract.outer(points[:, 0], self.clouds.place[index, 0]) ** 2
        square += np.subtract.outer(points[:, 1], self.clouds.place[index, 1]) ** 2
        if self.table is None:
            found = self._of_balls(square, index=index, heights=points[:, 2]) @ charge
        else:
            found = self._from_tables(square, index=index) @ charge
        parts = max(1, len(points) * len(ends[0]) * len(self.exact) // _block)
        for some in np.array_split(np.arange(len(points)), parts):
            found[some] += self._of_wires(points[some], centre=centre, wires=wires, ends=ends)
        return np.asarray(found)

    def _of_wires(
        self,
        points: Floats,
        *,
        centre: Floats,
        wires: tuple[Integers, Floats],
        ends: tuple[Integers, Floats],
    ) -> Floats:
        """Sum over the images that act as wires, shape (n, c). [V]"""
        sums, left = self.joints.potential(
            points, centre=centre, ends=ends, rays=self.exact, apart=_face_reach
        )
        index, current = wires
        for (ray, factor), rows in zip(self.exact, left, strict=True):
            if len(rows):
                own = np.isin(self.joints.row_of[index], rows)
                mean = self._wires(points, centre=centre, index=index[own], ray=ray)
                sums += factor * (mean @ current[own])
        return sums

    def _of_balls(self, square: Floats, *, index: Integers, heights: Floats) -> Floats:
        """Volts per ampere of balls at points, shape (n, k); `square` of the distance in plan.

        Less what the mesh has of them, and more what they are where wires are not exact.
        """
        value = np.zeros(square.shape)
        width = np.sqrt(2.0) * self.clouds.spread[index]
        place, layer = self.clouds.place[index], self.clouds.layer[index]
        for ray, factor, exact in self.paths:
            own = layer == ray.source_layer
            if own.any():
                off = np.subtract.outer(heights, ray.image(place[own])[:, 2])
                r = np.maximum(np.sqrt(square[:, own] + off**2), 1e-7 * width[own])
                value[:, own] += factor * ((0.0 if exact else 1.0) - erf(r / width[own])) / r
        return value

    def _from_tables(self, square: Floats, *, index: Integers) -> Floats:
        """The same at the surface."""
        assert self.table is not None
        square *= 0.5 / self.clouds.spread[index] ** 2
        square += 1.0
        np.log(square, out=square)
        square *= 1 / _step
        below = square.astype(np.int64)
        square -= below
        below += self.begin[self.kind[index]]
        low = self.table[below]
        below += 1
        return np.asarray(low + square * (self.table[below] - low))

    def _wires(self, points: Floats, *, centre: Floats, index: Integers, ray: Ray) -> Floats:
        """Mean inverse distance from images of wires, shape (n, wires). [1/m]"""
        start, axis = ray.image(self.elements.start[index]), self.axis[index].copy()
        axis[:, 2] *= ray.sign
        length, a = self.length[index], self.elements.radius[index]
        # About the middle of the cell: differences of squares would lose figures.
        here, start = points - centre, start - centre
        along = here @ axis.T - np.einsum("ni,ni->n", start, axis)
        across = np.einsum("ni,ni->n", here, here)[:, None] - 2 * here @ start.T
        across += np.einsum("ni,ni->n", start, start)
        across -= along**2
        np.maximum(across, 0.0, out=across)
        beyond = along - length
        near = across < (_face_reach * a) ** 2
        close = np.nonzero(near) if near.any() else None
        if close is not None:  # a point inside the metal is taken at its face
            past = np.maximum(np.maximum(-along[close], beyond[close]), 0.0)
            gap = across[close] + past**2
            across[close] += np.maximum(a[close[1]] ** 2 - gap, 0.0)
        ends = np.sqrt(across + along**2) + np.sqrt(across + beyond**2)
        mean = np.log((ends + length) / (ends - length)) / length
        if close is not None:
            faced = faces_near_points(
                self.elements, index=index[close[1]], gap=np.sqrt(np.maximum(gap, 0.0))
            )
            p, e = close[0][faced], close[1][faced]
            mean[p, e] = self._faces(points[p], index=index[e], ray=ray)
        return np.asarray(mean)

    def _faces(self, points: Floats, *, index: Integers, ray: Ray) -> Floats:
        """Mean inverse distance of points from images of faces. [1/m]"""
        if not len(index):
            return np.zeros(0)
        ends = (ray.image(self.elements.start[index]), ray.image(self.elements.end[index]))
        heights = (ends[0][:, 2], ends[1][:, 2])
        return from_faces(
            self.elements, points=points, index=index, heights=heights, order=self.order
        )
