"""Where a person stands and what they can touch, in plan."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from .model import Floats


@dataclass(frozen=True)
class TouchableMetal:
    """Metal above ground that a person can touch, and where it stands.

    Attributes
    ----------
    name : str
        The user's name.
    group : int
        Electrode group whose potential the metal has.
    kind : {"polygon", "line", "points"}
        Whether metal stands anywhere inside a closed outline, along a line, or at points.
    vertices : ndarray of float, shape (n, 2)
        Corners of the outline or line, or the points. [m]
    reach : float
        Horizontal distance from which a person can touch it. [m]
    """

    name: str
    group: int
    kind: Literal["polygon", "line", "points"]
    vertices: Floats
    reach: float

    def within_reach(self, places: Floats) -> np.ndarray:
        """Whether a person at each place can touch the metal, shape (n,), bool."""
        return self.distance(places) <= self.reach * (1 + 1e-9)

    def distance(self, places: Floats) -> Floats:
        """Distance from each place to the metal, 0 inside an outline, shape (n,). [m]"""
        if self.kind == "points":
            gaps = np.linalg.norm(places[:, None] - self.vertices[None], axis=2)
            return gaps.min(axis=1)
        ends = np.roll(self.vertices, -1, axis=0)
        closed = self.kind == "polygon"
        last = None if closed else -1
        distance = distance_to_segments(places, start=self.vertices[:last], end=ends[:last])
        if closed:
            distance[inside(places, outline=self.vertices)] = 0.0
        return distance


def distance_to_segments(places: Floats, *, start: Floats, end: Floats) -> Floats:
    """Distance from each place to the nearest of some segments, in plan.

    Parameters
    ----------
    places : ndarray of float, shape (n, 2)
        [m]
    start, end : ndarray of float, shape (m, 2)
        [m]

    Returns
    -------
    distance : ndarray of float, shape (n,)
        [m]
    """
    nearest = np.full(len(places), np.inf)
    for a, b in zip(start, end, strict=True):
        along = b - a
        square = float(along @ along)
        share = np.clip((places - a) @ along / square, 0, 1) if square > 0 else 0.0
        gap = places - a - np.multiply.outer(share, along).reshape(-1, 2)
        nearest = np.minimum(nearest, np.hypot(gap[:, 0], gap[:, 1]))
    return nearest


def inside(places: Floats, *, outline: Floats) -> np.ndarray:
    """Whether each place is inside a simple closed outline (even-odd rule), shape (n,)."""
    x, y = places[:, 0], places[:, 1]
    odd = np.zeros(len(places), dtype=bool)
    for a, b in zip(outline, np.roll(outline, -1, axis=0), strict=True):
        if a[1] == b[1]:
            continue
        spans = (a[1] > y) != (b[1] > y)
        crossing = a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0])
        odd ^= spans & (x < crossing)
    return odd
