"""Where a person stands and what they can touch, in plan."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from ..model import Flags, Floats
from ..polygons import inside, nearest_on_segments


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
