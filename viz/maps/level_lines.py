"""Outlines of the levels of voltage that a case asks for, on the map of that voltage."""

from dataclasses import dataclass

import numpy as np

from ...solver.distances import Level
from ...solver.model import Floats
from ...solver.results.result import Result
from ..wording import with_unit


@dataclass(frozen=True)
class LevelLine:
    """Closed outlines outside which less than a level is met.

    Attributes
    ----------
    name : str
        The user's.
    words : str
        What it is, for a key.
    polygons : tuple of ndarray of float, each of shape (n, 2)
        The last corner is joined to the first. [m]
    """

    name: str
    words: str
    polygons: tuple[Floats, ...]

    @property
    def segments(self) -> Floats:
        """Straight pieces of all outlines, shape (n, 2, 2). [m]"""
        sides = [np.stack([one, np.roll(one, -1, axis=0)], axis=1) for one in self.polygons]
        return np.concatenate([np.zeros((0, 2, 2)), *sides])

    def within(self, low: tuple[float, float], high: tuple[float, float]) -> bool:
        """Whether any of it lies in a rectangle."""
        corners = np.concatenate([np.zeros((0, 2)), *self.polygons])
        return bool(((corners >= low) & (corners <= high)).all(axis=1).any())


def level_text(level: Level) -> str:
    """Which voltage a level is."""
    volts = with_unit(level.voltage, symbol="V")
    return f"touch of '{level.metal}' {volts}" if level.metal else f"{level.kind} {volts}"


def level_lines(
    result: Result,
    kind: str,
    *,
    low: tuple[float, float],
    high: tuple[float, float],
    metal: str = "",
) -> tuple[LevelLine, ...]:
    """Levels of one kind of voltage, as far as they are met and run through a map.

    Parameters
    ----------
    kind : {"potential", "step", "touch"}
    low, high : tuple of float, length 2
        Corners of the map. [m]
    metal : str
        What is touched.
    """
    found = result.distances
    if found is None:
        return ()
    grown = "" if found.factor == 1 else ", growth and decrement included"
    lines = (
        LevelLine(
            item.level.name,
            f"{item.level.name}: {level_text(item.level)} is met within{grown}",
            item.polygons,
        )
        for item in found.levels
        if (item.level.kind, item.level.metal) == (kind, metal) and item.polygons
    )
    return tuple(line for line in lines if line.within(low, high))
