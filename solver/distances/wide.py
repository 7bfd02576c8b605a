"""Potential of a solved soil at any distance, far beyond the reach of a mesh."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..anisotropy import stretched
from ..bodies import Body
from ..contact import BehindContact
from ..errors import TrustError
from ..field.layer_sources import layer_sources
from ..field.solution import Solution
from ..model import Conductors, Flags, Floats, Integers, Phasors, Soil
from ..solved_soil import Field
from ..thin_wire.images import LayeredImages

# Beyond so many diagonals of all metal from its middle, currents are taken as points.
_near = 2.0
# Cells along each side of the box round all metal; currents in one are one.
_cells = 12
_batch = 1_000_000  # distances at once
# Of the radius of the mesh: farther out its own boundary is in the field.
_within_mesh = 0.5
_far_in_mesh = 20.0  # diagonals to which it is made where nothing else is known of the field
_around = 16  # directions in which both ways are held against each other
Source = tuple[int, Floats, Phasors]
"""Layer, places and currents of points."""


@dataclass(frozen=True)
class WideField:
    """A field that reaches everywhere.

    Attributes
    ----------
    field : Field
        The solved one, which holds near the metal.

    Notes
    -----
    Farther away than twice the diagonal of all metal the same currents are points in the same
    layers, by images; those within a twelfth of the metal's size are one. That is off by some
    hundredths of a percent there, and becomes ρ I / 2 π r.

    With bodies in the soil the box is that of metal and bodies, and the points are what both
    are to the layers (`field.layer_sources`). Where a body goes on for ever, or has a film,
    there are no such points: the field ends where that of the mesh does (`farthest`).
    """

    field: Field

    def surface(self, places: Floats) -> Phasors:
        """Potential of the surface at places of shape (n, 2), shape (n,). [V]"""
        return self.potential(np.column_stack([places, np.zeros(len(places))]))

    def potential(self, points: Floats) -> Phasors:
        """Potential to remote earth at points of shape (n, 3), z <= 0, shape (n,). [V]

        Raises
        ------
        CaseError
            If a point is above the surface or not a number.
        TrustError
            If the layers cannot be put into images well enough, or a place is farther out
            than anything is known of.
        """
        far = self._is_far(points)
        if far.any() and np.isfinite(self.farthest):
            raise self.too_far()
        found = np.zeros(len(points), dtype=self.field.element_current.dtype)
        if not far.all():
            found[~far] = self.field.potential(points[~far])
        if far.any():
            found[far] = self._of_points(points[far], sources=self._sources)
        return found

    @cached_property
    def farthest(self) -> float:
        """Distance in plan from `middle` up to which the field is known. [m]"""
        return np.inf if closed_bodies(self.field.solution.soil) else self._reach

    @property
    def middle(self) -> Floats:
        """Middle of all metal and bodies in plan, shape (2,). [m]"""
        low, high = self._box
        return np.asarray((low + high)[:2] / 2)

    @cached_property
    def seam(self) -> float | None:
        """Largest difference of both ways where one takes over, as a share; None in layers."""
        if not self.field.solution.soil.bodies or np.isfinite(self.farthest):
            return None
        angle = 2 * np.pi * np.arange(_around) / _around
        ring = self._reach * np.column_stack([np.cos(angle), np.sin(angle), 0 * angle])
        ring[:, :2] += self.middle
        near = self.field.potential(ring)
        far = self._of_points(ring, sources=self._sources)
        return float(np.abs(near - far).max() / np.abs(far).max())

    def too_far(self) -> TrustError:
        """What is raised where the field is asked for farther out than it is known."""
        names = ", ".join(repr(body.name) for body in _open_bodies(self.field.solution.soil))
        x, y = self.middle
        msg = (
            f"a distance that is asked for is more than {self.farthest:.4g} m from "
            f"({x:.4g}, {y:.4g}) m, beyond what is known of the field: {names} in the soil "
            "goes on for ever or has a film, and the mesh ends soon after; ask for a higher "
            "voltage, map a wider study.area, as far as levels may reach, or give the body "
            "an end"
        )
        return TrustError(msg)

    def at_most(self, away: float, *, middle: Floats, depths: Floats) -> Floats:
        """What no potential is above so far in plan from a place, or farther, (depths,). [V]

        As if all currents went one way from where they are nearest, as the potential of each
        falls with the distance; infinite unless all of that is far.
        """
        low, high = self._box
        if away - np.linalg.norm(middle - (low + high)[:2] / 2) <= self._reach:
            return np.full(len(depths), np.inf)
        spread = max(
            np.linalg.norm(places[:, :2] - middle, axis=1).max()
            for _, places, _ in self._sources
        )
        points = np.column_stack([np.full(len(depths), away - spread), 0 * depths, -depths])
        over_another = [
            (layer, places * [0.0, 0.0, 1.0], np.abs(current))
            for layer, places, current in self._sources
        ]
        return np.abs(self._of_points(points, sources=over_another))

    def _is_far(self, points: Floats) -> Flags:
        low, high = self._box
        gap = np.linalg.norm(self._stretched(points) - (low + high) / 2, axis=1)
        return np.asarray(gap > self._reach)

    def _stretched(self, points: Floats) -> Floats:
        """Points in the isotropic twin of the soil, in which all here is. [m]"""
        return stretched(points, soil=self.field.solution.soil)

    @cached_property
    def _reach(self) -> float:
        if closed_bodies(self.field.solution.soil):
            low, high = self._box
            return _near * float(np.linalg.norm(high - low))
        mesh = self._on_mesh[0].mesh
        return _within_mesh * mesh.outer_radius - float(
            np.linalg.norm(self.middle - mesh.centre)
        )

    @cached_property
    def _box(self) -> tuple[Floats, Floats]:
        """Opposite corners of a box round all that acts in the twin, from the surface. [m]"""
        metal = self.field.solution.conductors
        ends = self._stretched(np.concatenate([metal.start, metal.end]))
        return _box_round(ends, soil=self.field.solution.soil)

    @cached_property
    def _on_mesh(self) -> tuple[Solution, Phasors]:
        """The solution with the bodies, and the voltage of each group behind its contact."""
        solved, voltage = self.field.solution, self.field.voltage
        if isinstance(solved, BehindContact):
            solved = solved.soil_alone
            voltage = np.linalg.solve(solved.current_matrix, self.field.group_current())
        assert isinstance(solved, Solution)  # other methods refuse bodies
        return solved, voltage

    @cached_property
    def _images(self) -> LayeredImages:
        return LayeredImages(self.field.solution.soil.layers_alone)

    @cached_property
    def _sources(self) -> tuple[Source, ...]:
        """Points that stand for all metal, and for bodies in the layers."""
        if self.field.solution.soil.bodies:
            return self._of_bodies()
        elements, current = self.field.solution.elements, self.field.element_current
        middle = (elements.start + elements.end) / 2
        layer = self.field.solution.soil.layer_at(-middle[:, 2])
        middle = self._stretched(middle)
        low, high = self._box
        cell = np.floor(_cells * (middle - low) / np.maximum(high - low, 1e-9)).astype(int)
        found = []
        for each in np.unique(layer):
            mine = np.flatnonzero(layer == each)
            found.append((int(each), *_joined(middle[mine], current[mine], cell[mine])))
        return tuple(found)

    def _of_bodies(self) -> tuple[Source, ...]:
        """Points that stand for metal and bodies; sources and sinks apart, or they would go."""
        solved, voltage = self._on_mesh
        made = layer_sources(solved)
        current = voltage @ made.current
        layer = solved.soil.layer_at(-made.places[:, 2])
        low, high = self._box
        cell = np.floor(_cells * (made.places - low) / np.maximum(high - low, 1e-9)).astype(int)
        sink = self.field.on_side_of_rise(current) < 0
        found = []
        for each, below in np.unique(np.column_stack([layer, sink]), axis=0).tolist():
            mine = np.flatnonzero((layer == each) & (sink == below))
            found.append((each, *_joined(made.places[mine], current[mine], cell[mine])))
        return tuple(found)

    def _of_points(self, points: Floats, *, sources: Sequence[Source]) -> Phasors:
        total: Phasors = np.zeros(len(points), dtype=self.field.element_current.dtype)
        layer = self.field.solution.soil.layer_at(-points[:, 2])
        points = self._stretched(points)
        for here in np.unique(layer):
            rows = np.flatnonzero(layer == here)
            for there, places, current in sources:
                step = max(1, _batch // len(places))
                for begin in range(0, len(rows), step):
                    some = rows[begin : begin + step]
                    ohms = self._between(points[some], int(here), there, places)
                    total[some] = total[some] + ohms @ current
        return total

    def _between(self, points: Floats, here: int, there: int, places: Floats) -> Floats:
        """Potential at points for 1 A at each place, shape (points, places). [Ω]"""
        offset = points[:, None, :2] - places[:, :2]
        plan = np.einsum("pqk,pqk->pq", offset, offset)
        total = np.zeros(plan.shape)
        for image in self._images.between(there, point=here):
            height = image.sign * places[:, 2] + image.shift
            square = plan + (points[:, None, 2] - height) ** 2
            total += image.strength / (4 * np.pi) / np.sqrt(square)
        return total


def _joined(middle: Floats, current: Phasors, cell: Integers) -> tuple[Floats, Phasors]:
    """Currents of one cell as one, where they are in the middle of their sizes."""
    row = np.unique(cell, axis=0, return_inverse=True)[1].reshape(-1)
    count = int(row.max()) + 1
    size = np.maximum(np.abs(current), 1e-300)
    weight = np.bincount(row, weights=size, minlength=count)
    places = np.column_stack(
        [np.bincount(row, weights=size * column, minlength=count) for column in middle.T]
    )
    total = np.zeros(count, dtype=current.dtype)
    np.add.at(total, row, current)
    return places / weight[:, None], total


def closed_bodies(soil: Soil) -> bool:
    """Whether all bodies in a soil, if any, have ends, and none has a film."""
    return not _open_bodies(soil)


def _open_bodies(soil: Soil) -> list[Body]:
    return [
        body
        for body in soil.bodies
        if body.film is not None or not np.isfinite(body.shape.bounds()).all()
    ]


def places_to_mesh(conductors: Conductors, *, soil: Soil) -> Floats:
    """Places that a mesh must hold for distances where bodies are in the soil, (n, 3). [m]"""
    if not soil.bodies:
        return np.zeros((0, 3))
    ends = np.concatenate([conductors.start, conductors.end])
    low, high = _box_round(ends, soil=soil)
    middle, far = (low + high) / 2, _near * float(np.linalg.norm(high - low))
    if not closed_bodies(soil):
        # The boundary of the mesh takes all for a point in its middle, which images are not.
        gaps = [float(body.shape.distance(ends).max()) for body in _open_bodies(soil)]
        far = _far_in_mesh * (float(np.linalg.norm(high - low)) + 2 * max(gaps))
    corners = np.array([[1.0, 0, 0], [-1, 0, 0], [0, 1, 0], [0, -1, 0]])
    return np.asarray(middle * [1.0, 1.0, 0.0] + far * corners)


def _box_round(ends: Floats, *, soil: Soil) -> tuple[Floats, Floats]:
    """Opposite corners of a box round ends of metal and bodies that have ends. [m]"""
    low, high = ends.min(axis=0), ends.max(axis=0)
    for body in soil.bodies:
        least, most = body.shape.bounds()
        if np.isfinite([least, most]).all():
            low, high = np.minimum(low, least), np.maximum(high, most)
    high[2] = 0.0
    return low, high
