"""Balances that a solution must meet before it is handed out."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..errors import TrustError
from ..model import Floats
from .linear import LinearSolution
from .system import System

balance_limit = 1e-5
symmetry_limit = 1e-4
boundary_limit = 0.02


@dataclass(frozen=True)
class Checks:
    """What shows that a solution can be trusted, each relative.

    Attributes
    ----------
    residual : float
        Largest true residual of the linear systems.
    balance : float
        Largest difference between the current fed in and that through the outer boundary.
    energy : float
        Largest difference between power dissipated and voltage times current.
    symmetry : float
        Largest asymmetry of the current matrix (reciprocity).
    boundary : float
        Largest change of a group's own conductance with the outer boundary at half its
        distance, to first order.
    iterations : tuple of int
        Conjugate-gradient steps for each group.
    """

    residual: float
    balance: float
    energy: float
    symmetry: float
    boundary: float
    iterations: tuple[int, ...]


def checks_of(
    system: System,
    *,
    solutions: Sequence[LinearSolution],
    current: Floats,
    matrix: Floats,
    leaving: Floats,
    effect: Floats,
) -> Checks:
    """Balances of the unit solutions; `leaving` is the current through the boundary."""
    potential = [solution.unknowns for solution in solutions]
    own = matrix.diagonal()
    return Checks(
        residual=max(solution.residual for solution in solutions),
        balance=float(np.max(np.abs(leaving - matrix.sum(axis=0)) / own)),
        energy=_energy_gap(system, potential=potential, current=current, matrix=matrix),
        symmetry=float(np.max(np.abs(matrix - matrix.T)) / np.max(np.abs(matrix))),
        boundary=float(np.max(np.abs(effect / own))),
        iterations=tuple(solution.iterations for solution in solutions),
    )


def _energy_gap(
    system: System, *, potential: Sequence[Floats], current: Floats, matrix: Floats
) -> float:
    """Largest relative gap between dissipated power and V·I over the unit solutions."""
    gaps = []
    for phi, amperes, fed in zip(potential, current, matrix.diagonal(), strict=True):
        in_soil = phi @ (system.soil_matrix @ phi)
        near_metal = amperes @ (system.short_range @ amperes)
        gaps.append(abs((in_soil + near_metal) / fed - 1))
    return float(max(gaps))


def require(checks: Checks) -> None:
    """Raise unless balance, energy and reciprocity are within their limits."""
    limits = {
        "current balance": (checks.balance, balance_limit),
        "energy balance": (checks.energy, balance_limit),
        "asymmetry of the current matrix": (checks.symmetry, symmetry_limit),
        "effect of the outer boundary": (checks.boundary, boundary_limit),
    }
    for name, (value, limit) in limits.items():
        if not value <= limit:  # also true for NaN
            msg = f"{name} {value:.1e} is above {limit:.0e}; the result is not trustworthy"
            raise TrustError(msg)
