"""What all shapes with vertical walls and flat faces between two depths have in common."""

from abc import abstractmethod
from math import isfinite

import numpy as np

from ..arrays import Flags, Floats
from ..errors import CaseError
from .crossings import Solid, of_planes, touching


class Upright(Solid):
    """A plan shape between two depths, faces as in `shapes.py`."""

    top: float
    bottom: float

    @abstractmethod
    def beyond(self, plan: Floats) -> Floats:
        """Distance in plan to the wall, negative inside, shape (n,). [m]"""

    @abstractmethod
    def wall_candidates(self, start: Floats, *, end: Floats) -> Floats:
        """Parameters at which a segment in plan may meet the wall, or leave one along it."""

    def holds(self, points: Floats) -> Flags:
        """Whether points, shape (n, 3), are in the body or on its faces, shape (n,)."""
        low, high = self.bounds()
        near = np.flatnonzero(
            ((points >= low - touching) & (points <= high + touching)).all(axis=1)
        )
        found = np.zeros(len(points), dtype=bool)
        found[near[self.beyond(points[near, :2]) <= touching]] = True
        return found

    def distance(self, points: Floats) -> Floats:
        """Distance of points, shape (n, 3), to the nearest face, from either side. [m]"""
        depth = -points[:, 2]
        beyond = self.beyond(points[:, :2])
        above_or_below = np.maximum(np.maximum(self.top - depth, depth - self.bottom), 0)
        nearest = np.hypot(beyond, above_or_below)
        for level in self._levels:
            nearest = np.minimum(nearest, np.hypot(np.maximum(beyond, 0), depth - level))
        return np.asarray(nearest)

    def _candidates(self, start: Floats, end: Floats) -> Floats:
        flat = of_planes(-start[2], end=-end[2], at=self._levels)
        return np.concatenate([flat, self.wall_candidates(start[:2], end=end[:2])])

    @property
    def _levels(self) -> Floats:
        """Depths of the flat faces. [m]"""
        top = [self.top] if self.top > 0 else []
        return np.array([*top, *([self.bottom] if isfinite(self.bottom) else [])])

    @property
    def thickness(self) -> float:
        """From top to bottom, infinite where it has no bottom. [m]"""
        return self.bottom - self.top

    def _refuse_depths(self) -> None:
        if not (0 <= self.top < self.bottom and isfinite(self.top)):
            msg = (
                f"a body from {self.top:g} m to {self.bottom:g} m deep; its top must be at "
                "the surface (0 m) or below it, and its bottom below its top"
            )
            raise CaseError(msg)


def refuse_round(centre: tuple[float, ...], *, radius: float) -> None:
    """Refuse a circle or ball without a place or a radius."""
    if not (np.isfinite(centre).all() and isfinite(radius) and radius > 0):
        msg = (
            f"a round body at {centre} with a radius of {radius:g} m; give a centre of finite "
            "coordinates and a radius above 0 m"
        )
        raise CaseError(msg)
