"""Values written on contour lines, where they have room and touch nothing."""

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np

from ...solver.model import Floats

_edge = 0.06  # white round a label, and room to the next one [inch]
_mark = 0.08  # half of what stands at a place that is taken [inch]
_again = 3.5  # a level is named once more this far from the first time [inch]


def label_lines(
    axes: Any,
    lines: Iterable[tuple[str, Sequence[Floats]]],
    *,
    taken: Floats,
    size: tuple[float, float],
    type_size: float = 13.0,
) -> None:
    """Write a text on the lines of each level, twice where they are long.

    Parameters
    ----------
    lines : iterable of (str, sequence of ndarray)
        What is written on each level, and its lines, shape (n, 2), in the units of the axes.
    taken : ndarray of float, shape (n, 2)
        Places, in the units of the axes, from which labels keep away.
    size : tuple of float, length 2
        Of the axes. [inch]
    type_size : float
        Of the labels. [point]
    """

    def inches(points: Floats) -> Floats:
        (left, right), (bottom, top) = axes.get_xlim(), axes.get_ylim()
        found: Floats = (points - [left, bottom]) / [right - left, top - bottom] * size
        return found

    room = _Room(size, inches(taken))
    for text, segments in lines:
        half = _half_size(text, type_size=type_size)
        on_line = [inches(line) for line in segments if len(line) > 1]
        for away in (0.0, _again):
            at = room.take(on_line, half=half, away=away)
            if at is None:
                break
            axes.text(
                at[0] / size[0], at[1] / size[1], text, transform=axes.transAxes, ha="center",
                va="center_baseline", fontsize=type_size, zorder=6,
                bbox={"boxstyle": "square,pad=0.1", "facecolor": "white", "edgecolor": "none"},
            )  # fmt: skip


def _half_size(text: str, *, type_size: float) -> Floats:
    """Half of the width and height of a label with its white edge. [inch]"""
    from matplotlib.textpath import TextPath  # loads matplotlib

    width = TextPath((0, 0), text, size=type_size).get_extents().width
    return np.array([width, 1.1 * type_size]) / 72 / 2 + _edge


class _Room:
    """Where labels may still go on a picture of given size, and what they keep away from."""

    def __init__(self, size: tuple[float, float], taken: Floats) -> None:
        self._size = np.array(size)
        self._taken = taken
        self._labels: list[tuple[Floats, Floats]] = []

    def take(self, lines: Sequence[Floats], *, half: Floats, away: float) -> Floats | None:
        """Place on some lines with most room round it; None where there is none.

        Parameters
        ----------
        lines : sequence of ndarray of float, shape (n, 2)
            [inch]
        half : ndarray of float, shape (2,)
            Half of the label's width and height. [inch]
        away : float
            Least distance from the label written last. [inch]
        """
        places = np.concatenate([np.zeros((0, 2)), *lines])
        places = places[:: max(1, len(places) // 400)]
        border = np.minimum(places, self._size - places)
        free = (border > half).all(axis=1)
        room = np.minimum(border.min(axis=1), 1.0)
        for centre, other in self._labels:
            gap = np.abs(places - centre)
            free &= (gap > half + other).any(axis=1)
            room = np.minimum(room, np.linalg.norm(gap, axis=1))
        for point in self._taken:
            gap = np.abs(places - point)
            free &= (gap > half + _mark).any(axis=1)
            room = np.minimum(room, np.linalg.norm(gap, axis=1))
        if away:
            free &= np.linalg.norm(places - self._labels[-1][0], axis=1) > away
        if not free.any():
            return None
        at: Floats = places[np.argmax(np.where(free, np.round(room, 3), -1.0))]
        self._labels.append((at, half))
        return at
