"""Distances that a case asks for, from its solved field."""

import math

from ..cases.case import Case
from ..solver.distances import Distances, distances
from ..solver.verdict import Verdict
from .steps import Operated, touchable_metals

_permeability = 4e-7 * math.pi  # of soil [V·s/(A·m)]


def distances_of(
    case: Case, *, operated: Operated, verdict: Verdict | None
) -> Distances | None:
    """How far voltages reach; None where the case does not ask.

    Voltages include growth and decrement as the verdict has them; without a verdict nobody
    said how long the fault lasts, and they include growth alone.
    """
    if case.distances is None:
        return None
    circuit = case.circuit
    growth = 1.0 if circuit is None else circuit.growth_factor
    factor = growth if verdict is None else verdict.growth_factor * verdict.decrement_factor
    return distances(
        case.distances,
        field=operated.field,
        metals=touchable_metals(case),
        pace=case.study.pace,
        factor=factor,
        plain_to=None if circuit is None else _depth_of_current(case, circuit.frequency),
    )


def _depth_of_current(case: Case, frequency: float) -> float:
    """Depth to which alternating current enters the deepest soil, √(ρ/(π f μ)). [m]"""
    return math.sqrt(case.soil.resistivity[-1] / (math.pi * frequency * _permeability))
