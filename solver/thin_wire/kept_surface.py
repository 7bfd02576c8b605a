r"""The surface above thin conductors, read quickly at any place and kept while metal moves.

With c some distance between nodes, the potential of each point of a wire is split in two:

.. math:: \frac{1}{r} = \frac{\operatorname{erf}(r / c) + \operatorname{erfc}(r / c)}{r}

(P. P. Ewald, Annalen der Physik 369, 1921, from memory). The first part is smooth over c: what
all wires make of it is known at the nodes of a raster and a spline between them. The second
ends a few c from the wire, and is taken as it is at each place. So the surface is as sharp as
its metal is shallow, however far apart the nodes are.
"""

from dataclasses import dataclass, field
from functools import cached_property
from typing import Final

import numpy as np
from scipy.ndimage import map_coordinates, spline_filter
from scipy.spatial import cKDTree
from scipy.special import erf

from ..model import Conductors, Flags, Floats, Integers, Phasors, Soil
from ..pairs import distance_to_segment
from ..sheaths import within_sheaths
from ..solved_soil import at_most, require_in_soil, with_metal
from ..wire_distances import point_to_wire
from .images import LayeredImages
from .kept import keys_of, rows_before
from .matrices import mirrored, point_matrix, seen_from_surface
from .opinion import SecondOpinion
from .wires import Wires

# Distances between nodes over which potentials are smooth, and as many of these as it takes to
# the end of what is sharp: erfc is 1e-4 there. Images as deep as so many are smooth already.
_smooth, _sharp, _deep = 1.3, 2.75, 1.75
_order: Final = 5
_beyond = 5  # nodes on all sides of the rectangle, for the ends of the spline
_at_once = 20_000  # places
_share, _weight = np.polynomial.legendre.leggauss(5)
_share, _weight = 0.5 * _share, 0.5 * _weight


class KeptSurface:
    """What wires do to the nodes of a rectangle of the surface, in one soil.

    Parameters
    ----------
    images : LayeredImages
        Of the soil.
    soil : Soil
        The isotropic twin.
    low, high : tuple of float, length 2
        Corners of the rectangle. [m]
    nodes : int
        Distances between nodes along its longer side.
    """

    def __init__(
        self,
        images: LayeredImages,
        *,
        soil: Soil,
        low: tuple[float, float],
        high: tuple[float, float],
        nodes: int,
    ) -> None:
        self.images, self._soil = images, soil
        self.low, self.high = np.array(low), np.array(high)
        self.pitch = float((self.high - self.low).max()) / nodes
        self._first = self.low - _beyond * self.pitch
        count = np.ceil((self.high - self.low) / self.pitch).astype(int) + 1 + 2 * _beyond
        self.shape = (int(count[0]), int(count[1]))
        x, y = (self._first[k] + self.pitch * np.arange(self.shape[k]) for k in (0, 1))
        grid = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
        self._nodes = np.column_stack([grid, np.zeros(len(grid))])
        self._tree = cKDTree(self._nodes)
        self._keys: list[bytes] = []
        self._smooth = np.zeros((0, len(grid)))

    def holds(self, points: Floats) -> Flags:
        """Which points of shape (n, 3) are on the surface of the rectangle."""
        inside = ((points[:, :2] >= self.low) & (points[:, :2] <= self.high)).all(axis=1)
        return np.asarray(inside & (points[:, 2] == 0))

    def smooth_part(self, wires: Wires) -> Floats:
        """Smooth potential at the nodes for 1 A from each wire, shape (n, nodes). [Ω]

        It holds until the next call, which may write over it.
        """
        keys = keys_of(wires)
        if keys == self._keys:
            return self._smooth
        before = rows_before(keys, self._keys)
        kept, fresh = np.flatnonzero(before >= 0), np.flatnonzero(before < 0)
        made = self._made(wires_at(wires, fresh))
        smooth = self._smooth
        if len(keys) != len(self._keys) or (before[kept] != kept).any():
            smooth = np.empty((len(wires), len(self._nodes)))
            smooth[kept] = self._smooth[before[kept]]
        smooth[fresh] = made
        self._keys, self._smooth = keys, smooth
        return smooth

    def _made(self, wires: Wires) -> Floats:
        made = np.empty((len(wires), len(self._nodes)))
        whole = point_matrix(self._nodes, wires=wires, soil=self._soil, images=self.images)
        for rows, block in whole:
            made[:, rows] = block.T
        node, wire, value = self.sharp_part(self._nodes, wires, tree=self._tree)
        np.subtract.at(made, (wire, node), value)
        return made

    def sharp_part(
        self, points: Floats, wires: Wires, *, tree: cKDTree | None = None
    ) -> tuple[Integers, Integers, Floats]:
        """Pairs of points and wires near each other, and the rest of the potential for 1 A.

        Parameters
        ----------
        points : ndarray of float, shape (m, 3)
            On the surface. [m]

        Returns
        -------
        point, wire : ndarray of int, shape (k,)
        potential : ndarray of float, shape (k,)
            [Ω]
        """
        tree = cKDTree(points) if tree is None else tree
        # Five points along a wire stand for it where it is no longer than twice what is smooth.
        width = np.maximum(_smooth * self.pitch, 0.5 * wires.length)
        found = []
        for layer in np.unique(wires.layer):
            some = np.flatnonzero(wires.layer == layer)
            for image in seen_from_surface(self.images.between(int(layer), point=0)):
                start, end = (mirrored(side[some], image) for side in (wires.start, wires.end))
                depth = np.minimum(np.abs(start[:, 2]), np.abs(end[:, 2]))
                near = np.flatnonzero(depth < _deep * width[some] / _smooth)
                if image.detour > 0 or not len(near):
                    continue
                point, row = _near_pairs(
                    tree,
                    centres=0.5 * (start + end)[near],
                    radius=_sharp * width[some[near]] + 0.5 * wires.length[some[near]],
                )
                row = near[row]
                values = _sharp_mean(
                    points[point],
                    start=start[row],
                    end=end[row],
                    face=wires.face[some[row]],
                    width=width[some[row]],
                )
                found.append((point, some[row], image.strength / (4 * np.pi) * values))
        if not found:
            return np.zeros(0, np.int64), np.zeros(0, np.int64), np.zeros(0)
        point, wire, value = (np.concatenate(each) for each in zip(*found, strict=True))
        return point, wire, value

    def spline(self, values: Floats) -> Floats:
        """Coefficients of the spline through values at the nodes."""
        shaped = values.reshape(self.shape)
        return np.asarray(spline_filter(shaped, order=_order, mode="mirror"))

    def between(self, spline: Floats, points: Floats) -> Floats:
        """What a spline gives at points of the surface."""
        at = ((points[:, :2] - self._first) / self.pitch).T
        return np.asarray(
            map_coordinates(spline, at, order=_order, mode="mirror", prefilter=False)
        )


def _near_pairs(tree: cKDTree, *, centres: Floats, radius: Floats) -> tuple[Integers, Integers]:
    """Pairs of a point of the tree and a centre within the centre's own radius."""
    found = tree.sparse_distance_matrix(
        cKDTree(centres), float(radius.max()), output_type="ndarray"
    )
    found = found[found["v"] <= radius[found["j"]]]
    return found["i"].astype(np.int64), found["j"].astype(np.int64)


def _sharp_mean(
    points: Floats, *, start: Floats, end: Floats, face: Floats, width: Floats
) -> Floats:
    """Mean of erfc(r / c) / r from each point to its own wire. [1/m]"""
    offset = np.zeros(len(points))
    # Points are on the surface: only wires that come near it have them in their face.
    shallow = np.flatnonzero(np.minimum(np.abs(start[:, 2]), np.abs(end[:, 2])) < face)
    axis = distance_to_segment(points[shallow], start=start[shallow], end=end[shallow])
    offset[shallow] = np.sqrt(np.maximum(face[shallow] ** 2 - axis**2, 0.0))
    mean = point_to_wire(points, start=start, end=end, offset=offset)
    # Of the middle of the wire and half of it, by rows: twice as fast as by columns.
    x, y, z = np.ascontiguousarray((points - 0.5 * (start + end)).T)
    u, v, w = np.ascontiguousarray((end - start).T)
    least = 1e-12 * width**2
    for share, weight in zip(_share, _weight, strict=True):
        distance = np.sqrt(
            (x - share * u) ** 2 + (y - share * v) ** 2 + (z - share * w) ** 2 + least
        )
        mean -= weight * erf(distance / width) / distance
    return mean


def wires_at(wires: Wires, rows: Integers) -> Wires:
    """Some of the wires, among which are no panels."""
    assert wires.corners is None
    kept = {key: value[rows] for key, value in vars(wires).items() if value is not None}
    return Wires(**kept)


@dataclass(frozen=True)
class QuicklyRead:
    """A second opinion whose surface is read quickly within a rectangle; a `SolvedSoil`."""

    opinion: SecondOpinion
    surface: KeptSurface
    smooth: Floats  # (n, nodes): of the wires of this opinion [Ω]
    _splines: dict[bytes, Floats] = field(default_factory=dict, repr=False)

    @property
    def soil(self) -> Soil:
        """Layers."""
        return self.opinion.soil

    @property
    def conductors(self) -> Conductors:
        """The pieces of metal."""
        return self.opinion.conductors

    @cached_property
    def elements(self) -> Wires:
        """The wires where they are."""
        return self.opinion.elements

    @property
    def current(self) -> Floats:
        """Current out of each wire with group k at 1 V, the others at 0 V, (g, n). [A/V]"""
        return self.opinion.current

    @cached_property
    def current_matrix(self) -> Floats:
        """Current out of group i with group k at 1 V, symmetric, shape (g, g). [S]"""
        return self.opinion.current_matrix

    @cached_property
    def resistance_error(self) -> float:
        """Estimated error of a resistance, relative, as the opinion has it."""
        return self.opinion.resistance_error

    def potential(self, points: Floats, *, voltage: Phasors) -> Phasors:
        """Potential of the soil, as of the opinion; quickly on the surface of the rectangle.

        Parameters
        ----------
        points : ndarray of float, shape (m, 3)
            z up; the surface is z = 0. [m]
        voltage : ndarray of float or complex, shape (g,)
            Of each group. [V]

        Raises
        ------
        CaseError
            If a point is above the surface or not a number.
        """
        require_in_soil(points)
        quick = self.surface.holds(points)
        found = np.empty(len(points), dtype=np.result_type(voltage, float))
        if not quick.all():
            found[~quick] = self.opinion.potential(points[~quick], voltage=voltage)
        rows = np.flatnonzero(quick)
        for first in range(0, len(rows), _at_once):
            some = rows[first : first + _at_once]
            found[some] = self._read(points[some], voltage=voltage)
        return found

    def _read(self, points: Floats, *, voltage: Phasors) -> Phasors:
        source = voltage @ self.current
        near = self.surface.sharp_part(points, self.opinion.wires)
        found: Phasors = self._part(np.real(source), points, near=near)
        if np.iscomplexobj(source):
            found = found + 1j * self._part(np.imag(source), points, near=near)
        found = within_sheaths(
            at_most(found, voltage=voltage),
            points=points,
            conductors=self.conductors,
            voltage=voltage,
        )
        return with_metal(found, points=points, conductors=self.conductors, voltage=voltage)

    def _part(
        self, source: Floats, points: Floats, *, near: tuple[Integers, Integers, Floats]
    ) -> Floats:
        """Real or imaginary part of the potential for that of the currents of the wires."""
        key = source.tobytes()
        if key not in self._splines:
            self._splines[key] = self.surface.spline(source @ self.smooth)
        point, wire, value = near
        sharp = np.bincount(point, weights=value * source[wire], minlength=len(points))
        return self.surface.between(self._splines[key], points) + sharp
