"""How the plan of a case lies in another plan: a drawing, or a map."""

from dataclasses import dataclass

import numpy as np

from .arrays import Floats


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
