"""Axisymmetric electrodes in layered soil: rod, hemisphere, plate."""

from .bodies import Cylinder, Fill, HalfSpheroid
from .rod import SolvedRod, is_one_rod, solve_rod
from .solution import AxisymmetricSolution, solve_axisymmetric

__all__ = [
    "AxisymmetricSolution",
    "Cylinder",
    "Fill",
    "HalfSpheroid",
    "SolvedRod",
    "is_one_rod",
    "solve_axisymmetric",
    "solve_rod",
]
