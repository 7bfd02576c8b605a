"""How far the metal of a case in operation is from the one potential it is taken at."""

from collections.abc import Sequence

import numpy as np

from ..cases.along_metal.bars import bar_of
from ..cases.case import Case, PartSummary
from ..solver.exposure.worst import WorstVoltage
from ..solver.heating import Material, material
from ..solver.metal import NEARLY_TO_RISE, Bar, FeedPlace, OnePotential, one_potential
from .steps import Operated

# What parts are taken as of which nobody says: what leads best and what leads worst.
_TAKEN = ("annealed copper", "zinc-coated steel rod")
# Where nobody says: the higher one of the usual two, whose drop is up to a fifth larger.
_FREQUENCY = 60.0
# More than the reactance of thin wires with their return through poor soil. [Ω/m per Hz]
_PER_HERTZ = 2.5e-5


def one_potential_of(
    case: Case, *, operated: Operated, worst: Sequence[WorstVoltage]
) -> OnePotential:
    """How far metal is from one potential, as the case stands.

    Parameters
    ----------
    worst : sequence of WorstVoltage
        Worst touch and step voltages.
    """
    metals, without = _metals(case)
    frequency, given = _frequency(case)
    feeds: Sequence[FeedPlace | None] = case.feeds or [None] * len(case.drives)
    return one_potential(
        operated.field,
        metals=metals,
        frequency=frequency,
        frequency_given=given,
        feeds=feeds,
        touch=max((item.voltage for item in worst if item.kind == "touch"), default=0.0),
        without_material=without,
    )


def doubt_of(case: Case, operated: Operated) -> float:
    """What voltages may be too low by, as `OnePotential.doubt` has it. [V]

    Not worked out where all current, led through all round metal in a row, would not matter;
    beside plates, which have hardly any resistance, no more than that is known.
    """
    field, flat = operated.field, case.conductors.flat
    if flat.all():
        return 0.0
    rise = float(np.abs(field.voltage).max())
    current = float(np.abs(field.element_current).sum())
    frequency, _ = _frequency(case)
    radius = np.array([case.conductors.radius[~flat].min()])
    bars = [bar for _, bars in _metals(case)[0] for bar in bars]
    inside = max(abs(bar.impedance(radius, frequency=frequency)[0]) for bar in bars)
    whole = float(case.conductors.length[~flat].sum()) * (inside + _PER_HERTZ * frequency)
    if current * whole <= NEARLY_TO_RISE * rise:
        return 0.0
    if flat.any():
        return current * whole
    return one_potential_of(case, operated=operated, worst=()).doubt


def _metals(case: Case) -> tuple[list[tuple[str, list[Bar]]], list[str]]:
    """What parts may be made of, by what is taken where nobody says, and which those are."""
    made = [_material(case, part) for part in case.parts]
    pairs = list(zip(case.parts, made, strict=True))
    without = [part.name for part, metal in pairs if metal is None]
    taken = [metal for name in _TAKEN if (metal := material(name))] if without else [None]
    return [
        (
            "" if other is None else other.name,
            [_usual(part, metal or other) for part, metal in pairs],
        )
        for other in taken
    ], without


def _material(case: Case, part: PartSummary) -> Material | None:
    own = {item.name: item for item in case.own_materials}
    return own.get(part.material) or material(part.material)


def _frequency(case: Case) -> tuple[float, bool]:
    """Frequency of the fault, and whether the case says it. [Hz]"""
    if case.circuit is not None:
        return case.circuit.frequency, True
    if case.system is not None and case.system.frequency is not None:
        return case.system.frequency, True
    return _FREQUENCY, False


def _usual(part: PartSummary, metal: Material | None) -> Bar:
    assert metal is not None  # of the case, or taken for it
    return bar_of(part, metal, permeability=metal.permeability[1])
