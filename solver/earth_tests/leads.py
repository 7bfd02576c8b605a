"""Where the probes of a fall-of-potential test stand."""

import math
from dataclasses import dataclass, replace

import numpy as np

from ..errors import CaseError
from ..model import Floats


@dataclass(frozen=True)
class Leads:
    """Leads to the current probe and to the potential probe, laid straight from one place.

    Attributes
    ----------
    start : tuple of float, length 2
        Where distances are measured from, (x, y). [m]
    azimuth : float
        Direction of the current lead, from the x axis towards the y axis. [rad]
    distance : float
        From start to current probe, > 0. [m]
    angle : float
        From the current lead to the potential lead, in the sense of `azimuth`. [rad]

    Raises
    ------
    CaseError
        If the distance is not positive.
    """

    start: tuple[float, float]
    azimuth: float
    distance: float
    angle: float = 0.0

    def __post_init__(self) -> None:
        if not 0 < self.distance < math.inf:
            msg = f"the current probe is {self.distance:g} m away; give a distance above 0"
            raise CaseError(msg)

    @property
    def current_place(self) -> tuple[float, float]:
        """Place of the current probe, (x, y). [m]"""
        x, y = self.start
        along = (math.cos(self.azimuth), math.sin(self.azimuth))
        return (x + self.distance * along[0], y + self.distance * along[1])

    @property
    def in_line(self) -> bool:
        """Whether the potential probe walks towards the current probe."""
        return abs(math.remainder(self.angle, 2 * math.pi)) < 1e-9

    def potential_points(self, distance: Floats) -> Floats:
        """Points on the surface, (n, 3), at distances along the potential lead. [m]"""
        direction = self.azimuth + self.angle
        x = self.start[0] + distance * math.cos(direction)
        y = self.start[1] + distance * math.sin(direction)
        return np.column_stack([x, y, np.zeros(len(distance))])

    def at_distance(self, distance: float) -> "Leads":
        """The same leads with the current probe at another distance."""
        return replace(self, distance=distance)
