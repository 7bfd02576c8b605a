"""One design tried: by thin conductors, or solved in full, in the case and every variant."""

from collections import OrderedDict
from collections.abc import Hashable, Sequence

import numpy as np

from ..cases.case import Case
from ..solver.design import Condition, Evaluation, Met, met_by, side_by_side
from ..solver.drives import OperatingPoint
from ..solver.model import Conductors, Soil, metal_key
from ..solver.results.result import Result
from ..solver.solved_soil import remembering
from ..solver.thin_wire import (
    SecondOpinion,
    TabledImages,
    WiredOpinion,
    second_opinion,
    usual_length,
    wired_opinion,
)
from .along_metal import operate_along
from .heating import factors_of, heating_of
from .judging import Errors, clearing_of, timing_of
from .one_potential import doubt_of
from .solving import mapped_area
from .steps import Operated, operate, touchable_metals

# Metal is cut into about so many wires for its length, and two for each piece at least.
_usual_wires = 250
_most_kept = 400  # solutions, each with what it was asked some hundred kilobytes
_most_wired = 40  # likewise with voltages along the metal, ten times as large
# Time of one design in one condition on two cores: alone, and for each piece of metal. [s]
_trying, _trying_piece = 0.03, 0.0007
_along = 1.0  # more with voltages along the metal
# Of the other conditions so many are looked at: 0.04 of the yard's, 0.55 of the pad's.
_not_given_up = 0.3


def trying_time(case: Case, *, designs: int) -> float:
    """Time to try so many designs of a case by thin conductors, on two cores. [s]"""
    others = len(case.variants) * (1.0 if designs <= side_by_side else _not_given_up)
    return designs * (1.0 + others) * _look_time(case)


def drawing_time(case: Case, *, draws: int) -> float:
    """Time to try so many draws of a case by thin conductors, on two cores. [s]"""
    return draws * (1.0 + len(case.variants)) * _look_time(case)


def _look_time(case: Case) -> float:
    """Time to try metal in one condition, on two cores. [s]"""
    more = 0.0 if case.wiring is None else _along
    return _trying + _trying_piece * len(case.conductors.radius) + more


class Trials:
    """Designs tried one after the other; what their soils share is made once.

    Parameters
    ----------
    wires : int
        About so many wires, more where there are many short pieces.
    """

    def __init__(self, *, wires: int = _usual_wires) -> None:
        self._wires = wires
        self._images: dict[Soil, TabledImages] = {}
        self._known: OrderedDict[Hashable, SecondOpinion] = OrderedDict()  # last used last
        self._wired: dict[Hashable, WiredOpinion] = {}

    def evaluation(self, case: Case) -> Evaluation:
        """What a design reaches by thin conductors; `case` has its variants.

        Raises
        ------
        CaseError
            If bonds and drives contradict, nothing is driven, or a limit does not hold for
            what is asked of it.
        BudgetError, TrustError
            If it has too much metal for thin conductors, or that lies too close.
        """
        every = (case, *case.variants)
        found = [_condition(each, *self._operated(each)) for each in every]
        return Evaluation("thin conductors", tuple(found))

    def _operated(self, case: Case) -> tuple[Operated, float]:
        """A case in operation, and the error that the method knows of its resistances."""
        solution = self._solved(case.conductors, case.soil)
        if case.wiring is None:
            return operate(case, solution), solution.resistance_error
        along = self._along(case)
        return operate_along(case, along, solution=solution), along.resistance_error

    def _along(self, case: Case) -> WiredOpinion:
        """The metal as it is wired, with voltages along it, solved once likewise."""
        assert case.wiring is not None  # or it is at one potential
        key = (case.soil, metal_key(case.conductors), case.wiring)
        if key not in self._wired:
            if len(self._wired) >= _most_wired:
                self._wired.clear()
            longest = float(case.conductors.length.sum()) / self._wires
            self._wired[key] = wired_opinion(
                case.conductors, soil=case.soil, wiring=case.wiring, longest=longest
            )
        return self._wired[key]

    def _solved(self, conductors: Conductors, soil: Soil) -> SecondOpinion:
        """The metal in the soil, solved once for all that differ in something else."""
        key = (soil, metal_key(conductors))
        found = self._known.pop(key, None)
        if found is None:
            images = self._images.setdefault(soil, TabledImages(soil))
            longest = usual_length(conductors, wires=self._wires)
            found = remembering(
                second_opinion(conductors, soil=soil, longest=longest, images=images)
            )
        self._known[key] = found
        if len(self._known) > _most_kept:
            self._known.popitem(last=False)
        return found


def _condition(case: Case, operated: Operated, resistance_error: float) -> Condition:
    field, point = operated.field, operated.point
    error = field.voltage_error
    drop = doubt_of(case, operated) if case.wiring is None else 0.0
    met: tuple[Met, ...] = ()
    unjudged: tuple[str, ...] = ()
    melts: tuple[str, ...] = ()
    if case.safety is not None or case.heating is not None:
        clearing = clearing_of(case, operating=point, operation=operated.operation)
        timing = timing_of(case, clearing)
        errors = Errors.of_method(field)
        heating = heating_of(case, operated=operated, timing=timing, errors=errors)
        # What is too close by thin conductors may hold by finite elements.
        failing = () if heating is None else heating.failing
        melts = tuple(item.name for item in failing if item.outcome in ("too hot", "melts"))
        answers = () if clearing is None else clearing.answers
        unjudged = tuple(
            answer.name for answer in answers if answer.fitted and not answer.keeps_rule
        )
    if case.safety is not None:
        factors = factors_of(case, timing.longest)
        factor = factors.growth * factors.decrement
        met, missed = met_by(
            case.safety,
            field=field,
            area=mapped_area(case),
            metals=touchable_metals(case),
            pace=case.study.pace,
            timing=timing,
            factor=factor,
            error=error,
            drop=drop,
        )
        unjudged += missed
    rise = float(np.abs(point.voltage).max())
    return Condition(
        variant=case.variant,
        resistance=_resistance(case, point),
        resistance_error=resistance_error + drop / max(rise, 1e-300),
        rise=rise,
        rise_error=error + drop,
        met=met,
        unjudged=unjudged,
        melts=melts,
    )


def _resistance(case: Case, point: OperatingPoint) -> float:
    """Largest resistance to remote earth of a driven electrode with its bonds. [Ω]"""
    driven = {
        point.bonded_set[group]
        for group, drive in enumerate(case.drives)
        if drive.kind != "floating"
    }
    return max(float(point.resistance[one, one].real) for one in driven)


def evaluation_of(case: Case, results: Sequence[Result]) -> Evaluation:
    """What a design reaches by the finite elements of its results; `case` has its variants."""
    return Evaluation(
        "finite elements",
        tuple(
            judged(each, result)
            for each, result in zip((case, *case.variants), results, strict=True)
        ),
    )


def judged(case: Case, result: Result) -> Condition:
    """What a design reaches in one condition, by the finite elements of its result."""
    verdict, accuracy = result.verdict, result.accuracy
    judgements = () if verdict is None else verdict.judgements
    heating = None if verdict is None else verdict.heating
    failing = () if heating is None else heating.failing
    met = [
        Met(
            item.name,
            item.worst.voltage,
            item.worst.limit.voltage,
            item.error,
            max((place.voltage + item.doubt) / place.limit.voltage for place in item.places),
            item.worst.foot,
            item.worst.other_foot,
        )
        for item in judgements
        if item.worst is not None
    ]
    rise = float(np.abs(result.operating.voltage).max())
    error = accuracy.estimates[0]
    if result.agreement is not None:
        error = max(
            error,
            result.agreement.doubt(
                resistance_error=error, voltage_error=max(accuracy.estimates)
            ),
        )
    if result.one_potential is not None:
        error += result.one_potential.doubt / max(rise, 1e-300)
    return Condition(
        variant=case.variant,
        resistance=_resistance(case, result.operating),
        resistance_error=error,
        rise=rise,
        rise_error=rise * error,
        met=tuple(met),
        unjudged=(
            *(item.name for item in judgements if item.worst is None),
            *(() if verdict is None else verdict.broken_rules),
        ),
        melts=tuple(item.name for item in failing),
    )
