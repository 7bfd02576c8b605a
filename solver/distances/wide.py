"""Potential of a solved soil at any distance, far beyond the reach of a mesh."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..anisotropy import stretched
from ..model import Flags, Floats, Integers, Phasors
from ..solved_soil import Field
from ..thin_wire.images import LayeredImages

# Beyond so many diagonals of all metal from its middle, currents are taken as points.
_near = 2.0
# Cells along each side of the box round all metal; currents in one are one.
_cells = 12
_batch = 1_000_000  # distances at once
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
            If the layers cannot be put into images well enough.
        """
        far = self._is_far(points)
        found = np.zeros(len(points), dtype=self.field.element_current.dtype)
        if not far.all():
            found[~far] = self.field.potential(points[~far])
        if far.any():
            found[far] = self._of_points(points[far], sources=self._sources)
        return found

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
        low, high = self._box
        return _near * float(np.linalg.norm(high - low))

    @cached_property
    def _box(self) -> tuple[Floats, Floats]:
        """Opposite corners of a box round all metal in the twin, from the surface down. [m]"""
        metal = self.field.solution.conductors
        ends = self._stretched(np.concatenate([metal.start, metal.end]))
        low, high = ends.min(axis=0), ends.max(axis=0)
        high[2] = 0.0
        return low, high

    @cached_property
    def _images(self) -> LayeredImages:
        return LayeredImages(self.field.solution.soil)

    @cached_property
    def _sources(self) -> tuple[Source, ...]:
        """Points that stand for all metal."""
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
