"""Balances that a solution of metal with impedance must meet before it is handed out."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sparse

from ..errors import TrustError
from ..metal.induction import Induction
from ..metal.wired import Wired
from .along_system import AlongSystem
from .checks import balance_limit, boundary_limit
from .conduction import boundary_effect
from .conductivity import LayeredElements
from .linear import LinearSolution, Numbers
from .space import Space

current_limit = 1e-9
power_limit = 1e-6
port_symmetry_limit = 1e-8
Answer = tuple[Numbers, Numbers, Numbers]  # node voltages, leakages, branch currents


@dataclass(frozen=True)
class AlongChecks:
    """What shows that a solution can be trusted, each relative.

    Attributes
    ----------
    residual : float
        Largest true residual of the linear systems.
    current : float
        Largest current that is missing at a node, or between ports, leads and soil.
    balance : float
        Largest difference between the current into the soil and that through the outer
        boundary.
    power : float
        Largest difference between the power fed in and what soil, films, metal and the way
        back through the earth take.
    symmetry : float
        Largest asymmetry of the port matrix (reciprocity).
    boundary : float
        Largest change of a port's own impedance with the outer boundary at half its distance,
        to first order.
    iterations : tuple of int
        Steps of the linear solver for each port.
    """

    residual: float
    current: float
    balance: float
    power: float
    symmetry: float
    boundary: float
    iterations: tuple[int, ...]


@dataclass(frozen=True)
class Apart:
    """Metal that acts on itself alone, because there are too many runs of it to take together.

    Attributes
    ----------
    runs, of : int
        So many of so many runs.
    share : float
        Largest change of a port's impedance with what they would induce, to first order, as a
        share of it.
    """

    runs: int
    of: int
    share: float


def along_checks(
    system: AlongSystem,
    *,
    wired: Wired,
    induction: Induction | None,
    solutions: Sequence[LinearSolution],
    answers: Sequence[Answer],
    boundary: sparse.csr_matrix,
    space: Space,
    conductivity: LayeredElements,
) -> AlongChecks:
    """Balances of the unit solutions."""
    ports = list(wired.ports)
    matrix = np.array([voltage[ports] for voltage, _, _ in answers])
    own, through = np.abs(matrix.diagonal()), np.asarray(boundary.sum(axis=0)).ravel()
    missing, balance, power, effect = [], [], [], []
    for number, (solution, (voltage, leakage, current)) in enumerate(
        zip(solutions, answers, strict=True)
    ):
        entering = np.zeros(wired.nodes)
        entering[ports[number]] = 1.0
        gone = wired.leak @ leakage + wired.incidence.T @ current - entering
        missing.append(float(np.abs(gone).max()))
        phi = solution.unknowns
        balance.append(float(abs(through @ phi - leakage.sum())))
        taken = _power(system, wired, induction, phi, leakage, current)
        fed = float(voltage[ports[number]].real)
        power.append(abs(taken - fed) / max(abs(voltage[ports[number]]), 1e-300))
        effect += [
            abs(
                boundary_effect(
                    space,
                    conductivity=conductivity,
                    boundary=boundary,
                    potential=np.ascontiguousarray(part),
                )
            )
            / own[number]
            for part in ((phi.real, phi.imag) if np.iscomplexobj(phi) else (phi,))
        ]
    return AlongChecks(
        residual=max(solution.residual for solution in solutions),
        current=max(missing),
        balance=max(balance),
        power=float(max(power)),
        symmetry=float(np.abs(matrix - matrix.T).max() / own.max()),
        boundary=float(max(effect)),
        iterations=tuple(solution.iterations for solution in solutions),
    )


def _power(
    system: AlongSystem,
    wired: Wired,
    induction: Induction | None,
    potential: Numbers,
    leakage: Numbers,
    current: Numbers,
) -> float:
    """Power that soil, films, metal and the way back take. [W]"""
    taken = complex(np.vdot(potential, system.in_soil(potential)))
    taken += complex(np.vdot(leakage, system.beside(leakage)))
    own = wired.impedance if induction is None else wired.impedance + induction.own
    taken += complex(np.vdot(current, own * current))
    if induction is not None:
        mean = induction.runs.of_branch.T @ current
        taken += complex(np.vdot(mean, induction.mutual @ mean))
    return taken.real


def require_along(checks: AlongChecks) -> None:
    """Raise `TrustError` unless all balances are within their limits."""
    limits = {
        "current balance of the metal": (checks.current, current_limit),
        "current balance of the soil": (checks.balance, balance_limit),
        "power balance": (checks.power, power_limit),
        "asymmetry of the port matrix": (checks.symmetry, port_symmetry_limit),
        "effect of the outer boundary": (checks.boundary, boundary_limit),
    }
    for name, (value, limit) in limits.items():
        if not value <= limit:  # also true for NaN
            msg = f"{name} {value:.1e} is above {limit:.0e}; the result is not trustworthy"
            raise TrustError(msg)


def apart_of(
    induction: Induction | None, *, answers: Sequence[Answer], ports: Sequence[int]
) -> Apart | None:
    """What metal does not induce; None where all of it does."""
    if induction is None or induction.alone is None:
        return None
    current = np.array([current for _, _, current in answers])
    own = np.array(
        [voltage[port] for (voltage, _, _), port in zip(answers, ports, strict=True)]
    )
    share = np.abs(induction.left_out(current).diagonal() / own).max()
    alone = len(induction.alone)
    return Apart(alone, alone + len(induction.runs), float(share))
