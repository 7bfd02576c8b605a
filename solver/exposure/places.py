"""Where a person stands and what they can touch, in plan."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from ..model import Flags, Floats

_few = 16  # places for which all sides of an outline are looked at together


@dataclass(frozen=True)
class TouchableMetal:
    """Metal above ground that a person can touch, and where it stands."""

    name: str
    group: int  # electrode group whose potential the metal has
    # Whether metal stands anywhere inside a closed outline, is a solid thing with that
    # outline (nobody stands inside), runs along a line, or stands at points
    kind: Literal["polygon", "body", "line", "points"]
    vertices: Floats  # (n, 2): corners of the outline or line, or the points [m]
    reach: float  # horizontal distance from which a person can touch it [m]

    @property
    def closed(self) -> bool:
        """Whether the last vertex is joined to the first."""
        return self.kind in ("polygon", "body")

    def within_reach(self, places: Floats) -> Flags:
        """Whether a person at each place can touch the metal, shape (n,), bool."""
        distance = self.distance(places)
        near = distance <= self.reach * (1 + 1e-9)
        if self.kind == "body":  # at the wall is outside, whatever the rule makes of an edge
            at_wall = distance <= 1e-9 * self.reach
            near &= at_wall | ~inside(places, outline=self.vertices)
        return near

    def distance(self, places: Floats) -> Floats:
        """Distance from each place to the metal, 0 inside a polygon, shape (n,). [m]"""
        return np.asarray(np.linalg.norm(places - self.nearest(places), axis=1))

    def nearest(self, places: Floats) -> Floats:
        """Place of the metal nearest to each place, itself inside a polygon, (n, 2). [m]"""
        if self.kind == "points":
            return nearest_on_segments(places, start=self.vertices, end=self.vertices)
        last = None if self.closed else -1
        ends = np.roll(self.vertices, -1, axis=0)
        nearest = nearest_on_segments(places, start=self.vertices[:last], end=ends[:last])
        if self.kind == "polygon":
            within = inside(places, outline=self.vertices)
            nearest[within] = places[within]
        return nearest

    def pulled_within_reach(self, places: Floats) -> Floats:
        """Nearest places from which the metal can be touched, shape (n, 2). [m]"""
        nearest = self.nearest(places)
        offset = places - nearest
        distance = np.linalg.norm(offset, axis=1)
        scale = np.minimum(1.0, self.reach / np.maximum(distance, 1e-300))
        if self.kind == "body":
            scale[inside(places, outline=self.vertices)] = 0.0
        return nearest + scale[:, None] * offset


def same_places(some: Sequence[TouchableMetal], others: Sequence[TouchableMetal]) -> bool:
    """Whether metal that can be touched is the same, name by name and corner by corner."""
    return len(some) == len(others) and all(
        np.array_equal(value, vars(other)[key])
        for one, other in zip(some, others, strict=True)
        for key, value in vars(one).items()
    )


def nearest_on_segments(places: Floats, *, start: Floats, end: Floats) -> Floats:
    """Nearest point of segments, or single points, to each place in plan, (n, 2). [m]"""
    best = np.full(len(places), np.inf)
    nearest = np.zeros((len(places), 2))
    for a, b in zip(start, end, strict=True):
        along = b - a
        square = float(along @ along)
        share = np.clip((places - a) @ along / square, 0, 1) if square > 0 else 0.0
        point = a + np.multiply.outer(share, along).reshape(-1, 2)
        gap = np.einsum("ni,ni->n", places - point, places - point)
        closer = gap < best
        best[closer] = gap[closer]
        nearest[closer] = np.broadcast_to(point, places.shape)[closer]
    return nearest


def on_or_inside(places: Floats, *, outline: Floats) -> Flags:
    """Whether each place is inside a simple closed outline or on it, shape (n,)."""
    # On the outline to a micrometre, whatever the even-odd rule makes of an edge.
    ends = np.roll(outline, -1, axis=0)
    nearest = nearest_on_segments(places, start=outline, end=ends)
    edge = np.linalg.norm(places - nearest, axis=1) < 1e-6
    return np.asarray(edge | inside(places, outline=outline))


def inside(places: Floats, *, outline: Floats) -> Flags:
    """Whether each place is inside a simple closed outline (even-odd rule), shape (n,)."""
    start, end = outline, np.roll(outline, -1, axis=0)
    some = start[:, 1] != end[:, 1]
    start, end = start[some], end[some]
    x, y = places[:, 0], places[:, 1]
    if len(places) <= _few:  # of outlines with thousands of corners
        crossed = _crossed(x[:, None], y[:, None], start=start, end=end)
        return np.asarray(crossed.sum(axis=1) % 2 == 1)
    odd = np.zeros(len(places), dtype=bool)
    for a, b in zip(start, end, strict=True):
        odd ^= _crossed(x, y, start=a, end=b)
    return odd


def _crossed(x: Floats, y: Floats, *, start: Floats, end: Floats) -> Flags:
    """Whether the way from places along +x crosses sides."""
    (ax, ay), (bx, by) = start.T, end.T
    spans = (ay > y) != (by > y)
    return np.asarray(spans & (x < ax + (y - ay) / (by - ay) * (bx - ax)))
