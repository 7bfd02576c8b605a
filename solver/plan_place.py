"""How the plan of a case lies in another plan: a drawing, or a map."""

from dataclasses import dataclass

import numpy as np

from .arrays import Floats


@dataclass(frozen=True)
class Unit:
    """A unit of length that a drawing may be in."""

    name: str
    code: int  # in the head of a drawing, from the format
    metres: float


# The survey foot is 1200/3937 m (NIST, Federal Register Notice 2020-21902).
UNITS = (
    Unit("m", 6, 1.0),
    Unit("dm", 14, 0.1),
    Unit("cm", 5, 0.01),
    Unit("mm", 4, 0.001),
    Unit("km", 7, 1000.0),
    Unit("ft", 2, 0.3048),
    Unit("in", 1, 0.0254),
    Unit("yd", 10, 0.9144),
    Unit("US survey ft", 21, 1200.0 / 3937.0),
)


@dataclass(frozen=True)
class PlanPlace:
    """Another plan that the case was taken from, or lies in.

    Attributes
    ----------
    origin : tuple of float, length 2
        Place of the other plan that is (0, 0) of the case. [m]
    rotation : float
        Angle by which the other plan was turned about it, from x towards y. [rad]
    metres : float
        One unit of the other plan. [m]
    """

    origin: tuple[float, float]
    rotation: float = 0.0
    metres: float = 1.0

    def other(self, points: Floats) -> Floats:
        """Points of the case, shape (n, 2) or (n, 3), in the units of the other plan."""
        cosine, sine = np.cos(self.rotation), np.sin(self.rotation)
        plan = points[:, :2] @ np.array([[cosine, -sine], [sine, cosine]]) + self.origin
        return np.column_stack([plan, points[:, 2:]]) / self.metres

    def own(self, points: Floats) -> Floats:
        """Points of the other plan, shape (n, 2) or (n, 3) in its units, in the case's. [m]"""
        cosine, sine = np.cos(self.rotation), np.sin(self.rotation)
        metres = np.asarray(points, dtype=float) * self.metres
        plan = (metres[:, :2] - self.origin) @ np.array([[cosine, sine], [-sine, cosine]])
        return np.column_stack([plan, metres[:, 2:]])


@dataclass(frozen=True)
class SitePlace:
    """Where on the earth the plan of a case lies.

    Attributes
    ----------
    epsg : int
        Code of the projected coordinate system.
    system : str
        Its name.
    place : PlanPlace
        How the case lies in it.
    world : tuple of float, length 2
        Longitude and latitude (WGS 84) of (0, 0) of the case. [degree]
    north : float
        Direction of true north, clockwise from +y. [rad]
    """

    epsg: int
    system: str
    place: PlanPlace
    world: tuple[float, float]
    north: float
