r"""Images of a soil with all but the nearest looked up in tables, for many solves of one soil.

The images beside the source itself and those of a wave reflected or let through once at the
metal are few, and near metal they are met as wires. All others lie a detour of at least
:math:`c = 2 h` farther away, with h the thinnest layer: their sum is smooth over that length,
and depends on the plan distance r and on the sum or the difference u of the two heights alone.
It is tabled once over :math:`\ln(1 + r^2 / c^2)` and u, and taken between by straight lines:
wrong by 1e-4 of itself at most. Layers and images are those of `LayeredImages`.
"""

import math
from dataclasses import dataclass

import numpy as np

from ..model import Floats, Integers, Soil
from .images import Image, LayeredImages

# Nodes of a table over ln(1 + r²/c²), to r = 3 million c, and over the height per c.
_step, _last = 0.05, 30.0
_heights_per_detour = 24
_room = 1.5  # a table that is outgrown is made anew by so much wider


@dataclass(frozen=True)
class Table:
    """Sum of images over plan distance and one height, for 1 A. [Ω]

    Its heights are halves of odd pitches, so that it does not matter what else it holds.
    """

    detour: float  # what all images are farther away at least: c [m]
    first: int  # smallest height u in the table, in pitches and half of one
    pitch: float  # between its heights [m]
    values: Floats  # (heights, distances)

    @property
    def low(self) -> float:
        """Smallest height u in the table. [m]"""
        return self.pitch * (self.first + 0.5)

    @property
    def high(self) -> float:
        """Largest height u in the table. [m]"""
        return self.pitch * (self.first + len(self.values) - 0.5)

    def at(self, square: Floats, height: Floats) -> Floats:
        """Sum at squares of plan distances and heights u of the same shape. [Ω]"""
        row, above = self._rows(height)
        column, along = _places(square, self.detour)
        flat, width = self.values.reshape(-1), self.values.shape[1]
        first = row * width + column
        lower = flat[first] + along * (flat[first + 1] - flat[first])
        first += width
        upper = flat[first] + along * (flat[first + 1] - flat[first])
        return np.asarray(lower + above * (upper - lower))

    def by_column(self, square: Floats, height: Floats) -> Floats:
        """Sum at squares of plan distances (m, n) where each column has one height (n,). [Ω]"""
        # Wires lie in few heights: rods that are cut alike, a grid in one depth.
        few, which = np.unique(np.round(height, 9), return_inverse=True)
        row, above = self._rows(few)
        blend = self.values[row] + above[:, None] * (self.values[row + 1] - self.values[row])
        place, along = _places(square, self.detour)
        place += which * blend.shape[1]
        flat = blend.reshape(-1)
        found = flat[place]
        place += 1
        along *= flat[place] - found
        found += along
        return np.asarray(found)

    def _rows(self, height: Floats) -> tuple[Integers, Floats]:
        """Row below each height, and how far it lies on to the next."""
        at = height / self.pitch - 0.5
        node = np.clip(np.floor(at), self.first, self.first + len(self.values) - 2)
        return node.astype(np.int64) - self.first, at - node


def _places(square: Floats, detour: float) -> tuple[Integers, Floats]:
    """Column before each squared distance, and how far it lies on to the next."""
    at = np.multiply(square, detour**-2)
    np.log1p(at, out=at)
    at *= 1.0 / _step
    node = np.minimum(at.astype(np.int64), round(_last / _step) - 1)
    return node, at - node


class TabledImages(LayeredImages):
    """Images of a soil, all but the nearest of them in tables.

    Parameters
    ----------
    soil : Soil
        Layers.
    """

    def __init__(self, soil: Soil) -> None:
        super().__init__(soil)
        self._tables: dict[tuple[int, int, float], Table] = {}

    def between(self, source: int, *, point: int) -> tuple[Image, ...]:
        """The nearest images of sources in one layer for points in a layer."""
        return tuple(i for i in super().between(source, point=point) if i.detour == 0)

    def rest(
        self, source: int, *, point: int, square: Floats, heights: Floats, other: Floats
    ) -> Floats:
        """Potential at points for 1 A from point sources by all other images. [Ω]

        Parameters
        ----------
        square : ndarray of float
            Squares of plan distances. [m²]
        heights, other : ndarray of float, of the same shape
            Heights of points and sources, z up. [m]
        """
        total = np.zeros(square.shape)
        for sign in (1.0, -1.0):
            height = heights - sign * other
            table = self._table(source, point, sign, height)
            if table is not None:
                total += table.at(square, height)
        return total

    def rest_at_surface(self, source: int, *, square: Floats, other: Floats) -> Floats:
        """The same on the surface, by the half of the images that `matrices` takes twice. [Ω]

        Parameters
        ----------
        square : ndarray of float, shape (m,) or (m, n)
            Squares of plan distances. [m²]
        other : ndarray of float, shape (m,) or (n,)
            Heights of the sources, in the second form one for each column. [m]
        """
        table = self._table(source, 0, 1.0, -other)
        if table is None:
            return np.zeros(square.shape)
        found = table.at if square.ndim == 1 else table.by_column
        return 2.0 * found(square, -other)

    def _table(self, source: int, point: int, sign: float, height: Floats) -> Table | None:
        """Table of the images of one sign that holds some heights; None without images."""
        if not (self.soil.thickness and height.size):
            return None
        key = (source, point, sign)
        low, high = float(height.min()), float(height.max())
        known = self._tables.get(key)
        if known is None or low < known.low or high > known.high:
            if known is not None:
                low, high = min(low, known.low), max(high, known.high)
            known = self._tables[key] = self._made(source, point, sign, low, high)
        return known

    def _made(self, source: int, point: int, sign: float, low: float, high: float) -> Table:
        detour = 2.0 * min(self.soil.thickness)
        spare = 0.5 * (_room - 1.0) * (high - low) + detour
        pitch = detour / _heights_per_detour
        first = math.floor((low - spare) / pitch)
        # Never a whole pitch, at which images lie: that of a point on itself is no number.
        heights = pitch * (np.arange(first, math.ceil((high + spare) / pitch) + 1) + 0.5)
        square = detour**2 * np.expm1(np.arange(0.0, _last + _step, _step))
        values = np.zeros((len(heights), len(square)))
        for image in super().between(source, point=point):
            if image.detour > 0 and image.sign == sign:
                away = (heights - image.shift)[:, None] ** 2
                values += image.strength / (4.0 * np.pi) / np.sqrt(square + away)
        return Table(detour, first, pitch, values)
