"""From a field at its operating point to a verdict: how long, how much more, how exact."""

from dataclasses import dataclass, replace
from typing import Self

from ..cases.case import Case
from ..solver.circuit import EARTH_CURRENT, Operation
from ..solver.drives import OperatingPoint
from ..solver.protection import (
    CONVENTIONAL_TOUCH_VOLTAGE,
    Answer,
    Device,
    FaultClearing,
    ResidualCurrentDevice,
    fault_clearing,
)
from ..solver.results.result import Accuracy
from ..solver.solved_soil import Field
from ..solver.thin_wire import Agreement
from ..solver.verdict import LOOKED_AT, Safety, Scene, Timing, Verdict, judge
from ..solver.wording import plain
from .heating import factors_of, heating_of, timing_by
from .steps import Operated, View


def clearing_of(
    case: Case, *, operating: OperatingPoint, operation: Operation | None
) -> FaultClearing | None:
    """What the protective devices of a case do; None where it has none.

    Parameters
    ----------
    operation : Operation or None
        Its fault circuit, where it has one.

    Notes
    -----
    Devices are asked at today's symmetrical current, without growth and decrement: more
    current never makes them slower.
    """
    if case.protection is None:
        return None
    names = case.conductors.group_names

    def current_through(name: str) -> complex:
        if operation is not None:
            return operation.current_through(name)
        return complex(operating.current[names.index(name.removeprefix(EARTH_CURRENT))])

    found = fault_clearing(case.protection, current_through=current_through)
    answers = [
        _by_rule(answer, device, names=names, operating=operating)
        for device, answer in zip(case.protection, found.answers, strict=True)
    ]
    return replace(found, answers=tuple(answers))


def _by_rule(
    answer: Answer, device: Device, *, names: tuple[str, ...], operating: OperatingPoint
) -> Answer:
    """The answer with resistance times rated residual current, if it guards one electrode."""
    kind, electrode = device.characteristic, device.measures.removeprefix(EARTH_CURRENT)
    if not isinstance(kind, ResidualCurrentDevice) or electrode not in names:
        return answer
    number = operating.bonded_set[names.index(electrode)]
    volts = kind.earth_voltage(float(operating.resistance[number, number]))
    allowed = CONVENTIONAL_TOUCH_VOLTAGE
    kept = volts <= allowed
    remark = (
        f"resistance x rated residual current {plain(volts, allowed)} V "
        f"{'keeps to' if kept else 'is ABOVE'} the {allowed:g} V of the rule for choosing it "
        "(IEC 60364-4-41, from memory), which is not the voltage met"
    )
    return replace(answer, remark=remark, keeps_rule=kept)


@dataclass(frozen=True)
class Errors:
    """Estimated numerical errors of voltages, and what the model leaves open.

    Attributes
    ----------
    touch, step, rise : float
        [V]
    drop : float
        What any voltage may be too low by, as metal is not at one potential. [V]
    """

    touch: float
    step: float
    rise: float
    drop: float = 0.0

    @classmethod
    def of_accuracy(
        cls, accuracy: Accuracy, *, rise: float, agreement: Agreement | None = None
    ) -> Self:
        """By how far voltages move on a coarser mesh, or are off by another method.

        Parameters
        ----------
        rise : float
            The largest one. [V]
        """
        resistance, touch, step = estimates = accuracy.estimates
        doubt = 0.0
        if agreement is not None:
            doubt = agreement.doubt(resistance_error=resistance, voltage_error=max(estimates))
        return cls(*(rise * max(each, doubt) for each in (touch, step, resistance)))

    @classmethod
    def of_method(cls, field: Field) -> Self:
        """By what the method that solved the soil can tell alone, the same for all."""
        return cls(*[field.voltage_error] * 3)


def verdict_of(
    case: Case,
    *,
    operated: Operated,
    view: View,
    errors: Errors,
    clearing: FaultClearing | None,
    seen: Verdict | None = None,
    looked_at: int = LOOKED_AT,
) -> Verdict | None:
    """Exposures and metal of a case held against their limits; None where it declares none.

    Parameters
    ----------
    operated : Operated
        The case in operation; its circuit gives growth and decrement.
    clearing : FaultClearing or None
        What its protective devices do.
    seen : Verdict, optional
        Of another case in the same operation, with the same view.
    looked_at : int, default 40
        Peaks of each exposure that are climbed.

    Raises
    ------
    CaseError
        If a limit does not hold for what is asked of it.
    """
    if case.safety is None and case.heating is None:
        return None
    scene = Scene(
        field=operated.field,
        surface=view.surface,
        area=view.area,
        metals=view.metals,
        touch_error=errors.touch,
        step_error=errors.step,
        rise_error=errors.rise,
        drop=errors.drop,
    )
    timing = timing_of(case, clearing)
    factors = factors_of(case, timing.longest)
    verdict = judge(
        case.safety or Safety(exposures=()),
        scene=scene,
        timing=timing,
        growth_factor=factors.growth,
        decrement_factor=factors.decrement,
        seen=seen,
        looked_at=looked_at,
    )
    heating = heating_of(case, operated=operated, timing=timing, errors=errors)
    answers = () if clearing is None else clearing.answers
    broken = [
        f"{answer.name}: {answer.remark}"
        for answer in answers
        if answer.fitted and not answer.keeps_rule
    ]
    return replace(verdict, broken_rules=tuple(broken), heating=heating)


def timing_of(case: Case, clearing: FaultClearing | None) -> Timing:
    """How long the fault lasts, by the case or by its protective devices."""
    if clearing is None:
        duration = None if case.safety is None else case.safety.duration
        if case.safety is None and case.heating is not None:
            duration = case.heating.duration
        assert duration is not None  # the case file has one or the other
        return Timing(duration, duration, "given in the case")
    return timing_by(clearing.trip)
