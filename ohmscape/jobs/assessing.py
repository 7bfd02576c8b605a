"""Worst voltages and verdict of a case from any solved soil, without maps and profiles."""

from dataclasses import dataclass, replace

from ..cases.case import Case
from ..solver.exposure.worst import WorstVoltage
from ..solver.protection import FaultClearing
from ..solver.solved_soil import SolvedSoil
from ..solver.verdict import Verdict
from .judging import Errors, clearing_of, verdict_of
from .one_potential import doubt_of
from .steps import Operated, find_worst, look, operate

# The raster that searches begin from, in terms of that of a map.
_coarser = 4.0


@dataclass(frozen=True)
class Assessment:
    """What decides on a design.

    Attributes
    ----------
    operated : Operated
        Field, voltages, currents and resistances.
    worst : tuple of WorstVoltage
        Worst touch on each metal that can be reached, then the worst step.
    clearing : FaultClearing or None
        What each protective device does; None where the case has none.
    verdict : Verdict or None
        Every exposure held against its limit; None where the case declares none.
    """

    operated: Operated
    worst: tuple[WorstVoltage, ...]
    clearing: FaultClearing | None
    verdict: Verdict | None


def assess(case: Case, solution: SolvedSoil) -> Assessment:
    """Worst voltages and verdict of a case.

    Searches begin from a raster four times as coarse as that of a map; peaks are climbed in
    the field itself all the same, but one between its places may be missed. What is chosen
    by this is to be run in full (`run_case`) before anybody relies on it.

    Parameters
    ----------
    solution : SolvedSoil
        Of the metal and soil of the case; its own estimate of its error is what voltages
        must keep from their limits.

    Raises
    ------
    CaseError
        If bonds and drives contradict, nothing is driven, or a limit does not hold for what
        is asked of it.
    """
    operated = operate(case, solution)
    view = look(case, operated.field, coarser=_coarser)
    clearing = clearing_of(case, operating=operated.point, operation=operated.operation)
    verdict = verdict_of(
        case,
        operated=operated,
        view=view,
        errors=replace(Errors.of_method(operated.field), drop=doubt_of(case, operated)),
        clearing=clearing,
    )
    return Assessment(operated, find_worst(view, field=operated.field), clearing, verdict)
