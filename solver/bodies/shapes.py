"""Shapes of bodies in the soil: what they hold, how far their faces are, what crosses them.

Positions are (x, y, z), z up, the surface z = 0; depths are positive down. Faces belong to
the body, to a micrometre. What of a body lies on the surface is not a face: nothing crosses it.
"""

from dataclasses import dataclass
from functools import cached_property
from math import hypot, inf, isfinite

import numpy as np

from ..arrays import Floats
from ..errors import CaseError
from ..polygons import distance_to_sides, fault_of_outline, inside, signed_area
from .crossings import Bounds, of_planes, of_round
from .upright import Upright, refuse_round


@dataclass(frozen=True)
class Prism(Upright):
    """A polygon in plan, between two depths.

    Attributes
    ----------
    outline : tuple of (x, y)
        Corners of a simple polygon, counter-clockwise. [m]
    top, bottom : float
        Depths, 0 <= top < bottom; bottom may be infinite. [m]

    Raises
    ------
    CaseError
        If the outline is not simple or runs clockwise, or the depths do not fit.
    """

    outline: tuple[tuple[float, float], ...]
    top: float
    bottom: float

    def __post_init__(self) -> None:
        corners = self.corners
        fault = (
            "it needs three corners or more, with finite coordinates"
            if len(corners) < 3 or not np.isfinite(corners).all()
            else fault_of_outline(corners)
        )
        if not fault and signed_area(corners) < 0:
            fault = "its corners run clockwise; give them counter-clockwise"
        if fault:
            msg = f"the outline of a body is no simple polygon: {fault}"
            raise CaseError(msg)
        self._refuse_depths()

    @cached_property
    def corners(self) -> Floats:
        """Corners of the outline, shape (n, 2). [m]"""
        return np.array(self.outline, dtype=float).reshape(-1, 2)

    @cached_property
    def smallest_side(self) -> float:
        """Thickness, or the distance of a corner to a side that is not its own. [m]"""
        corners = self.corners
        ends = np.roll(corners, -1, axis=0)
        narrowest = inf
        for k, corner in enumerate(corners):
            others = np.roll(np.arange(len(corners)), -k)[1:-1]  # sides k and k - 1 meet in it
            along = ends[others] - corners[others]
            share = np.einsum("ni,ni->n", corner - corners[others], along)
            share = np.clip(share / np.einsum("ni,ni->n", along, along), 0, 1)
            gaps = np.linalg.norm(corners[others] + share[:, None] * along - corner, axis=1)
            narrowest = min(narrowest, float(gaps.min()))
        return min(narrowest, self.thickness)

    def bounds(self) -> Bounds:
        """Lowest and highest x, y and z. [m]"""
        low, high = self.corners.min(axis=0), self.corners.max(axis=0)
        return np.array([*low, -self.bottom]), np.array([*high, -self.top])

    def beyond(self, plan: Floats) -> Floats:
        """Distance in plan to the wall, negative inside, shape (n,). [m]"""
        gap = distance_to_sides(plan, outline=self.corners)
        return np.where(inside(plan, outline=self.corners), -gap, gap)

    def wall_candidates(self, start: Floats, *, end: Floats) -> Floats:
        """Parameters at which a segment in plan may meet the wall, or leave one along it."""
        along = end - start
        square = float(along @ along)
        if square == 0:
            return np.empty(0)
        side = np.roll(self.corners, -1, axis=0) - self.corners
        off = self.corners - start
        across = along[0] * side[:, 1] - along[1] * side[:, 0]
        met = off[:, 0] * side[:, 1] - off[:, 1] * side[:, 0]
        slanted = np.abs(across) > 1e-12 * np.sqrt(square) * np.linalg.norm(side, axis=1)
        # A segment along a side leaves it at a corner.
        return np.concatenate([met[slanted] / across[slanted], off @ along / square])


@dataclass(frozen=True)
class Cylinder(Upright):
    """A circle in plan, between two depths.

    Attributes
    ----------
    centre : tuple of float, length 2
        Place of the vertical axis. [m]
    radius : float
        Radius, > 0. [m]
    top, bottom : float
        Depths, 0 <= top < bottom; bottom may be infinite. [m]

    Raises
    ------
    CaseError
        If the radius is not positive, or the depths do not fit.
    """

    centre: tuple[float, float]
    radius: float
    top: float
    bottom: float

    def __post_init__(self) -> None:
        refuse_round(self.centre, radius=self.radius)
        self._refuse_depths()

    @property
    def smallest_side(self) -> float:
        """Diameter or thickness. [m]"""
        return min(2 * self.radius, self.thickness)

    def bounds(self) -> Bounds:
        """Lowest and highest x, y and z. [m]"""
        x, y = self.centre
        low = np.array([x - self.radius, y - self.radius, -self.bottom])
        return low, np.array([x + self.radius, y + self.radius, -self.top])

    def beyond(self, plan: Floats) -> Floats:
        """Distance in plan to the wall, negative inside, shape (n,). [m]"""
        return np.asarray(np.hypot(*(plan - self.centre).T) - self.radius)

    def wall_candidates(self, start: Floats, *, end: Floats) -> Floats:
        """Parameters at which a segment in plan may meet the wall, or leave one along it."""
        centre = np.array(self.centre)
        return of_round(start - centre, end=end - centre, radius=self.radius)


@dataclass(frozen=True)
class HalfSpace(Upright):
    """All that lies beyond a vertical plane, between two depths.

    Attributes
    ----------
    point : tuple of float, length 2
        A place on the plane. [m]
    normal : tuple of float, length 2
        Direction in plan from the plane into the body, of any length.
    top, bottom : float
        Depths, 0 <= top < bottom; bottom may be infinite. [m]

    Raises
    ------
    CaseError
        If the normal has no direction, or the depths do not fit.
    """

    point: tuple[float, float]
    normal: tuple[float, float]
    top: float = 0.0
    bottom: float = inf

    def __post_init__(self) -> None:
        size = hypot(*self.normal)
        if not (isfinite(size) and size > 0 and np.isfinite(self.point).all()):
            msg = (
                f"a body beyond a plane at {self.point} that faces {self.normal}; give a "
                "place and a direction of finite coordinates, the direction not (0, 0)"
            )
            raise CaseError(msg)
        self._refuse_depths()

    @property
    def direction(self) -> Floats:
        """Unit vector in plan from the plane into the body, shape (2,)."""
        return np.array(self.normal) / hypot(*self.normal)

    @property
    def smallest_side(self) -> float:
        """Thickness; infinite where it has no bottom. [m]"""
        return self.thickness

    def bounds(self) -> Bounds:
        """Lowest and highest x, y and z, infinite where it goes on. [m]"""
        low, high = np.full(2, -inf), np.full(2, inf)
        for axis in (0, 1):
            if self.normal[1 - axis] == 0:
                side = low if self.normal[axis] > 0 else high
                side[axis] = self.point[axis]
        return np.array([*low, -self.bottom]), np.array([*high, -self.top])

    def beyond(self, plan: Floats) -> Floats:
        """Distance in plan to the wall, negative inside, shape (n,). [m]"""
        return np.asarray((self.point - plan) @ self.direction)

    def wall_candidates(self, start: Floats, *, end: Floats) -> Floats:
        """Parameters at which a segment in plan may meet the wall, or leave one along it."""
        a, b = self.beyond(np.array([start, end]))
        return of_planes(float(a), end=float(b), at=np.zeros(1))
