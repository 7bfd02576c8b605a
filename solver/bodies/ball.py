"""A ball in the soil, whole or cut by the surface."""

from dataclasses import dataclass

import numpy as np

from ..arrays import Flags, Floats
from ..errors import CaseError
from .crossings import Bounds, Solid, of_round, touching
from .upright import refuse_round


@dataclass(frozen=True)
class Ball(Solid):
    """A ball, or the part of one that lies below the surface.

    Attributes
    ----------
    centre : tuple of float, length 3
        x, y and *depth* of the centre; a depth of 0 makes a half ball, one above the surface
        (negative) a bowl. [m]
    radius : float
        Radius, > 0; some of the ball must lie below the surface. [m]

    Raises
    ------
    CaseError
        If the radius is not positive, or all of the ball is above the surface.
    """

    centre: tuple[float, float, float]
    radius: float

    def __post_init__(self) -> None:
        refuse_round(self.centre, radius=self.radius)
        if self.centre[2] <= -self.radius:
            msg = (
                f"a ball of {self.radius:g} m with its centre {-self.centre[2]:g} m above the "
                "surface; some of it must lie in the soil"
            )
            raise CaseError(msg)

    @property
    def top(self) -> float:
        """Depth of its highest place in the soil. [m]"""
        return max(self.centre[2] - self.radius, 0.0)

    @property
    def bottom(self) -> float:
        """Depth of its lowest place. [m]"""
        return self.centre[2] + self.radius

    @property
    def smallest_side(self) -> float:
        """Diameter, or what of it is in the soil. [m]"""
        return self.bottom - self.top

    @property
    def rim(self) -> float:
        """Radius of the circle in which the surface cuts it, 0 if it does not. [m]"""
        return float(np.sqrt(max(self.radius**2 - self.centre[2] ** 2, 0.0)))

    def bounds(self) -> Bounds:
        """Lowest and highest x, y and z. [m]"""
        x, y, depth = self.centre
        widest = self.radius if depth >= 0 else self.rim
        low = np.array([x - widest, y - widest, -self.bottom])
        return low, np.array([x + widest, y + widest, -self.top])

    def holds(self, points: Floats) -> Flags:
        """Whether points, shape (n, 3), are in the body or on its face, shape (n,)."""
        off = np.linalg.norm(self._off(points), axis=1)
        return np.asarray((off <= self.radius + touching) & (points[:, 2] <= touching))

    def distance(self, points: Floats) -> Floats:
        """Distance of points, shape (n, 3), to the face, from either side. [m]"""
        off = self._off(points)
        size = np.linalg.norm(off, axis=1)
        reach = np.abs(size - self.radius)
        # Where the nearest place of the whole ball is above the surface, the rim is nearest.
        above = off[:, 2] * self.radius > self.centre[2] * size
        rim = np.hypot(np.hypot(off[:, 0], off[:, 1]) - self.rim, points[:, 2])
        return np.asarray(np.where(above, rim, reach))

    def _candidates(self, start: Floats, end: Floats) -> Floats:
        a, b = self._off(np.array([start, end]))
        return of_round(a, end=b, radius=self.radius)

    def _off(self, points: Floats) -> Floats:
        """From the centre to points, shape (n, 3). [m]"""
        x, y, depth = self.centre
        return np.asarray(points - [x, y, -depth])
