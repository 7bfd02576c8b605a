"""A frame on a sheet: data coordinates to pixels, ticks, axis names, clipping."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...solver.model import Floats
from ..wording import short
from .boxes import Box
from .levels import round_step, round_values
from .painting import Colour
from .sheet import Sheet, black, light, plain_type

_tick = 9


@dataclass(frozen=True)
class Frame:
    """Rectangle of data shown in a rectangle of the page.

    Attributes
    ----------
    box : Box
        Where it is on the page. [pixel]
    low, high : tuple of float, length 2
        Data at the lower left and the upper right corner.
    """

    box: Box
    low: tuple[float, float]
    high: tuple[float, float]

    @classmethod
    def equal_scale(
        cls, room: Box, *, low: tuple[float, float], high: tuple[float, float]
    ) -> "Frame":
        """Largest frame in the upper left of some room with the same scale both ways."""
        span = np.subtract(high, low)
        scale = float(min(room.width / span[0], room.height / span[1]))
        right = room.left + scale * span[0]
        return cls(Box(room.left, room.top - scale * span[1], right, room.top), low, high)

    @property
    def scale(self) -> Floats:
        """Pixels per unit of data along both axes, shape (2,)."""
        return np.array([self.box.width, self.box.height]) / np.subtract(self.high, self.low)

    def page(self, places: npt.ArrayLike) -> Floats:
        """Pixels of data places, shape of `places`, last axis 2."""
        corner = np.array([self.box.left, self.box.bottom])
        pixels: Floats = corner + (np.asarray(places, dtype=float) - self.low) * self.scale
        return pixels

    def holds(self, places: Floats) -> np.ndarray:
        """Whether each place, shape (n, 2), is in the frame."""
        places = np.asarray(places, dtype=float).reshape(-1, 2)
        inside = np.all((places >= self.low) & (places <= self.high), axis=1)
        return np.asarray(inside)

    def clipped(self, segments: Floats) -> Floats:
        """Parts of data segments, shape (n, 2, 2), inside the frame.

        By the parameters at which a line enters and leaves (Liang and Barsky 1984).
        """
        segments = np.asarray(segments, dtype=float).reshape(-1, 2, 2)
        start, along = segments[:, 0], segments[:, 1] - segments[:, 0]
        with np.errstate(divide="ignore", invalid="ignore"):
            one, other = (self.low - start) / along, (self.high - start) / along
        flat = along == 0
        within = (start >= self.low) & (start <= self.high)
        enter = np.where(flat, np.where(within, -np.inf, np.inf), np.minimum(one, other))
        leave = np.where(flat, np.where(within, np.inf, -np.inf), np.maximum(one, other))
        first = np.clip(enter.max(axis=1), 0, None)
        last = np.clip(leave.min(axis=1), None, 1)
        keep = last > first
        share = np.stack([first, last], axis=1)[keep][:, :, None]
        inside: Floats = start[keep][:, None] + share * along[keep][:, None]
        return inside

    def draw_axes(self, sheet: Sheet, *, names: tuple[str, str], grid: bool = False) -> None:
        """Outline, ticks with numbers, and the names of both axes with their units."""
        box = self.box
        along = self._ticks(0, room=box.width)
        up = self._ticks(1, room=box.height)
        if grid:
            self._grid(sheet, along=along, up=up)
        sheet.path(box.corners(), width=2.5)
        for value in along:
            x = float(self.page(np.array([value, self.low[1]]))[0])
            sheet.path([(x, box.bottom), (x, box.bottom - _tick)], width=2.5)
            sheet.text(
                (x, box.bottom - 2 * _tick), short(value), size=plain_type, anchor=(0.5, 1)
            )
        widest = 0.0
        for value in up:
            y = float(self.page(np.array([self.low[0], value]))[1])
            sheet.path([(box.left, y), (box.left - _tick, y)], width=2.5)
            label = sheet.text(
                (box.left - 2 * _tick, y), short(value), size=plain_type, anchor=(1, 0.5)
            )
            widest = max(widest, label.width)
        middle = ((box.left + box.right) / 2, (box.bottom + box.top) / 2)
        sheet.text((middle[0], box.bottom - 56), names[0], size=plain_type, anchor=(0.5, 1))
        left = box.left - 3 * _tick - widest
        sheet.text((left, middle[1]), names[1], size=plain_type, anchor=(0.5, 1), upright=True)

    def _ticks(self, axis: int, *, room: float) -> Floats:
        low, high = self.low[axis], self.high[axis]
        # Numbers are wider than high.
        parts = max(2, min(10, round(room / (130, 70)[axis])))
        return round_values(low, high, step=round_step(high - low, parts=parts))

    def _grid(self, sheet: Sheet, *, along: Floats, up: Floats) -> None:
        pale: Colour = light
        for value in along:
            x = float(self.page(np.array([value, self.low[1]]))[0])
            sheet.path([(x, self.box.bottom), (x, self.box.top)], colour=pale, width=1.5)
        for value in up:
            y = float(self.page(np.array([self.low[0], value]))[1])
            sheet.path([(self.box.left, y), (self.box.right, y)], colour=pale, width=1.5)


def draw_scale_bar(
    sheet: Sheet, *, at: tuple[float, float], pixels_per_unit: float, symbol: str, room: float
) -> None:
    """Bar of a round length with its length above, from a lower left corner."""
    length = round_step(room / pixels_per_unit, parts=1)
    while length * pixels_per_unit > room:
        length = round_step(0.7 * length, parts=2)
    x, y = at
    end = x + length * pixels_per_unit
    middle = (x + end) / 2
    for left, right, colour in ((x, middle, black), (middle, end, (1.0, 1.0, 1.0))):
        bar = Box(left, y, right, y + 12)
        sheet.area(bar.corners()[:4], colour=colour)
        sheet.path(bar.corners(), width=2)
    sheet.text((middle, y + 20), f"{short(length)} {symbol}", size=plain_type, anchor=(0.5, 0))
