"""Axisymmetric electrodes in layered soil: rod, hemisphere, plate."""

from .bodies import Cylinder, Fill, HalfSpheroid
from .solution import AxisymmetricSolution, solve_axisymmetric

__all__ = [
    "AxisymmetricSolution",
    "Cylinder",
    "Fill",
    "HalfSpheroid",
    "solve_axisymmetric",
]
