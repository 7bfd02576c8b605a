"""How hot leads and metal of a case get: by a solved field, or by what the case says alone."""

import math
from collections.abc import Callable
from typing import Protocol

import numpy as np

from ..cases.case import Case
from ..solver.circuit import EARTH_CURRENT, SUPPLY, Factors, Operation
from ..solver.drives import OperatingPoint
from ..solver.errors import CaseError
from ..solver.heating import (
    EQUATIONS,
    Carried,
    Conductor,
    DryingSoil,
    Heating,
    HeatingPlan,
    heated,
    lasting_voltage,
    most_along,
    most_in_a_rod,
)
from ..solver.limits import duration_in_words
from ..solver.metal import AlongField
from ..solver.model import Phasors
from ..solver.protection import Trip, fault_clearing
from ..solver.verdict import Timing
from .steps import Operated

_GIVEN = "the current given"


class CurrentErrors(Protocol):
    """Numerical errors of voltages, see `judging.Errors`. [V]"""

    @property
    def touch(self) -> float: ...  # noqa: D102
    @property
    def step(self) -> float: ...  # noqa: D102
    @property
    def rise(self) -> float: ...  # noqa: D102


def heating_of(
    case: Case, *, operated: Operated, timing: Timing, errors: CurrentErrors
) -> Heating | None:
    """Leads, metal and joints of a case in operation; None where it does not ask for them.

    Parameters
    ----------
    timing : Timing
        How long the fault lasts.
    errors : CurrentErrors
        What currents may be off by, as the rise and the worst voltages are.
    """
    plan = case.heating
    if plan is None:
        return None
    rise = max(float(np.abs(operated.point.voltage).max()), 1e-300)

    def carried(conductor: Conductor) -> Carried:
        if conductor.current is not None:
            return Carried(conductor.current, _GIVEN)
        if conductor.part is None:
            return _in_lead(conductor.carries, case, operated, errors.rise / rise)
        if isinstance(operated.field, AlongField):
            most = operated.field.most_along(conductor.part)
            return Carried(most, "the most that is found along its metal", errors.rise / rise)
        rods = None
        if conductor.use == "rod" and conductor.share is None:
            rods = most_in_a_rod(operated.field, part=conductor.part)
        if rods is not None:
            worst = max(errors.touch, errors.step, errors.rise)
            return Carried(rods, "the most that one rod lets into the soil", worst / rise)
        group = int(case.conductors.group[case.conductors.part == conductor.part][0])
        most = most_along(_terminals(case, operated, group))
        name = case.conductors.group_names[group]
        return Carried(most, _all_of(name), errors.rise / rise)

    return _heating(case, plan, timing=timing, carried=carried, point=operated.point)


def heating_known(case: Case) -> tuple[Heating | None, tuple[str, ...]]:
    """What is known of the heat of a case before it is solved, and the names of the rest.

    Currents that are given, and the fault current where the supply gives it, for as long as the
    case or a device that sees such a current says. The heating is None where nothing is known.
    """
    plan = case.heating
    if plan is None:
        return None, ()
    timing = _timing_known(case)
    known = {item.name: each for item in plan.conductors if (each := _known(item, case))}
    unknown = tuple(item.name for item in plan.conductors if item.name not in known)
    if timing is None or not known:
        return None, tuple(item.name for item in plan.conductors)
    found = _heating(
        case, plan, timing=timing, carried=lambda item: known.get(item.name), point=None
    )
    return found, unknown


def _heating(
    case: Case,
    plan: HeatingPlan,
    *,
    timing: Timing,
    carried: Callable[[Conductor], Carried | None],
    point: OperatingPoint | None,
) -> Heating:
    duration, words = timing.longest, timing.words
    if plan.duration is not None and plan.duration > duration:
        duration, words = plan.duration, "given for the heat of metal"
    factors = factors_of(case, duration)
    pairs = [(item, carried(item)) for item in plan.conductors]
    return Heating(
        source="; ".join(
            dict.fromkeys(
                EQUATIONS[plan.equation](item.material).source for item in plan.conductors
            )
        ),
        ambient=plan.ambient,
        duration=duration,
        duration_words=words,
        growth_factor=factors.growth,
        decrement_factor=factors.decrement,
        offset_known=case.circuit is not None and case.circuit.x_over_r is not None,
        conductors=tuple(
            heated(item, carried=each, plan=plan, duration=duration, factor=factors.product)
            for item, each in pairs
            if each is not None
        ),
        soil=_drying(case, plan, point, factors.growth) if math.isinf(duration) else (),
    )


def factors_of(case: Case, duration: float) -> Factors:
    """Growth and decrement of a case for a fault of some duration. [s]"""
    circuit = case.circuit
    if circuit is None:
        return Factors(1.0, 1.0)
    # An effective value over less than half a cycle means nothing.
    return circuit.factors(max(duration, 0.5 / circuit.frequency))


def _in_lead(name: str, case: Case, operated: Operated, error: float) -> Carried:
    """Current of a lead by its name, without error where the supply gives it."""
    operation = operated.operation
    if operation is None:
        names = case.conductors.group_names
        group = names.index(name.removeprefix(EARTH_CURRENT))
        return Carried(float(abs(operated.point.current[group])), _of(name), error)
    given = name == SUPPLY and operation.circuit.supply.current is not None
    size = float(abs(operation.current_through(name)))
    return Carried(size, _of(name), 0.0 if given else error)


def _terminals(case: Case, operated: Operated, group: int) -> Phasors:
    """Currents that enter the metal bonded to a group, in the soil by line element. [A]"""
    point, field = operated.point, operated.field
    bonded = np.flatnonzero(point.bonded_set == point.bonded_set[group])
    elements = field.solution.elements
    inside = np.isin(field.solution.conductors.group[elements.piece], bonded)
    into_soil = -field.element_current[inside]
    if operated.operation is None:
        entering = [complex(point.current[bonded].sum())]
    else:
        names = {case.conductors.group_names[k] for k in bonded}
        entering = _from_circuit(operated.operation, names)
    return np.concatenate([into_soil, entering])


def _from_circuit(operation: Operation, names: set[str]) -> list[complex]:
    """Currents of the circuit that enter metal of some names. [A]"""
    supply = operation.circuit.supply
    found = [
        sign * operation.supply_current
        for node, sign in ((supply.to, 1), (supply.returns_at, -1))
        if node in names
    ]
    for branch in operation.branches:
        first, second = branch.between
        found += [-branch.current] * (first in names)
        found += [branch.far_current] * (second in names)
    return found


def _drying(
    case: Case, plan: HeatingPlan, point: OperatingPoint | None, growth: float
) -> tuple[DryingSoil, ...]:
    """What the soil of each electrode stands for ever, by what in it stands least."""
    if point is None:
        return ()
    lasting = None
    if plan.soil is not None:
        # The best of all, either way: heat leaves beds sideways and upright alike.
        lasting = lasting_voltage(
            min(case.soil.leading),
            conductivity=plan.soil.conductivity,
            rise=plan.soil.highest - plan.ambient,
        )
    live = np.abs(point.current) > 1e-6 * np.abs(point.current).max()
    return tuple(
        DryingSoil(name, growth * float(abs(point.voltage[k])), lasting)
        for k, name in enumerate(case.conductors.group_names)
        if live[k]
    )


def _known(conductor: Conductor, case: Case) -> Carried | None:
    """Current of a conductor that the case itself says."""
    if conductor.current is not None:
        return Carried(conductor.current, _GIVEN)
    circuit = case.circuit
    if conductor.part is None:
        fault = None if circuit is None else circuit.supply.current
        return Carried(fault, _of(SUPPLY)) if fault and conductor.carries == SUPPLY else None
    if conductor.use == "rod" and conductor.share is None:
        return None
    group = int(case.conductors.group[case.conductors.part == conductor.part][0])
    return _known_along(case, group)


def _known_along(case: Case, group: int) -> Carried | None:
    """All that metal of an electrode can carry where one given current feeds it alone."""
    name, circuit = case.conductors.group_names[group], case.circuit
    if case.wiring is not None:
        return None
    if any(bond.closed and group in bond.groups for bond in case.bonds):
        return None
    size = None
    if circuit is None:
        drive = case.drives[group]
        size = abs(drive.value) if drive.kind == "current" else None
    elif not circuit.paths and circuit.supply.to == name:
        size = circuit.supply.current
    return None if not size else Carried(size, _all_of(name))


def _all_of(electrode: str) -> str:
    return f"all that metal of '{electrode}' can carry"


def _of(name: str) -> str:
    """A current of the circuit, or into the soil, in words."""
    if name == SUPPLY:
        return "the current of the supply"
    return f"the {name}" if name.startswith(EARTH_CURRENT) else f"the current of '{name}'"


def _timing_known(case: Case) -> Timing | None:
    """How long the fault lasts, where that can be told before it is solved."""
    plan, safety, circuit = case.heating, case.safety, case.circuit
    assert plan is not None
    if case.protection is None:
        duration = plan.duration if safety is None else safety.duration
        assert duration is not None  # the case file has one or the other
        return Timing(duration, duration, "given in the case")
    fault = None if circuit is None else circuit.supply.current

    def current_through(name: str) -> complex:
        if name != SUPPLY or fault is None:
            msg = f"{name} is not known before the case is solved"
            raise CaseError(msg)
        return complex(fault)

    try:
        trip = fault_clearing(case.protection, current_through=current_through).trip
    except CaseError:
        return None
    return timing_by(trip)


def timing_by(trip: Trip) -> Timing:
    """How long a fault lasts that protective devices end."""
    if trip.certainty == "certainly":
        words = f"cleared in {duration_in_words(trip.longest)} at most ({trip.words})"
    elif trip.certainty == "possibly":
        words = f"no device is certain to clear it ({trip.words})"
    else:
        words = "no device clears it"
    return Timing(trip.shortest, trip.longest, words)
