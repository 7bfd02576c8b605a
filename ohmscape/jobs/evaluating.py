"""From unit solutions to a result: maps, worst places, accuracy, verdict."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from .. import __version__
from ..cases.case import Case
from ..solver.exposure.places import same_places
from ..solver.field.sensitivity import soil_shares
from ..solver.handbook.order_check import order_checks
from ..solver.metal import AlongField
from ..solver.model import Floats
from ..solver.progress import Laps, Progress, unwatched
from ..solver.results.accuracy import compare, drawn_places
from ..solver.results.result import Result
from ..solver.results.versions import versions
from ..solver.threads import own_threads_only
from .along_metal import along_agreement, along_compared, operate_solved
from .distances import distances_of
from .feet import people_of
from .judging import Errors, clearing_of, verdict_of
from .one_potential import doubt_of, one_potential_of
from .peak_memory import peak_memory
from .solving import Solved, agreement_of, feet_asked, tolerance_of, without_bodies_of
from .steps import (
    Operated,
    View,
    find_worst,
    look,
    profiles_of,
    raster_of,
    touchable_metals,
)

# What the steps cost, as shares of them all.
_evaluating = {
    "maps": 0.5,
    "worst places": 0.15,
    "accuracy": 0.02,
    "second opinion at the worst places": 0.03,
    "voltage along the metal": 0.02,
    "verdict": 0.3,
}
# By when it is known whether a result meets its tolerance.
share_before_verdict = 1.0 - _evaluating["verdict"]


@own_threads_only()
def evaluate(
    case: Case,
    solved: Solved,
    *,
    tolerance: float | None = None,
    coarser: float = 1.0,
    earlier: Sequence[Result] = (),
    progress: Progress = unwatched,
) -> Result:
    """Result of a case from unit solutions of its metal and soil; nothing is solved.

    Parameters
    ----------
    solved : Solved
        What `solve_case` gave for the same soil and metal.
    coarser : float, default 1
        Multiplies the raster of the map, as for `look`.
    earlier : sequence of Result
        Of other cases: where the metal of one is in the same soil at the same voltages, and
        its map is of the same places, nothing is looked at twice.
    progress : callable, optional
        Told the name of each step as it begins, and the share of the work done by then.

    Raises
    ------
    CaseError
        If bonds and drives contradict, or nothing is driven.
    ToleranceError
        If the estimated error is above the tolerance.
    TrustError
        If the shares of soil layers do not add up to a resistance.
    """
    asked = case.study.soil_shares
    more = {"solved feet": 0.2 * feet_asked(case), "shares of the soil": 1.0 * asked}
    laps = Laps(progress, _evaluating | {step: part for step, part in more.items() if part})
    laps.begin("maps")
    operated = operate_solved(case, solved)
    point, field = operated.point, operated.field
    seen = next(
        (
            one
            for one in earlier
            if one.solution is solved.fine
            and one.along is solved.along
            and _seen_in(one, case=case, operated=operated, coarser=coarser)
        ),
        None,
    )
    view = (
        View(seen.area, seen.metals, seen.surface)
        if seen
        else look(case, field, coarser=coarser)
    )
    profiles = profiles_of(case, field)
    laps.begin("worst places")
    worst = seen.worst if seen else find_worst(view, field=field)
    laps.begin("accuracy")
    rougher = operate_solved(case, solved, coarse=True)
    accuracy = compare(
        point,
        worst=worst,
        metal_groups={metal.name: metal.group for metal in view.metals},
        drawn=drawn_places(view.surface, profiles=profiles, conductors=case.conductors),
        coarse=solved.coarse,
        rougher=rougher.point,
        growth=solved.growth,
        tolerance=tolerance_of(case) if tolerance is None else tolerance,
        contact_resistance=case.contact_resistance,
        model=solved.fine.model_doubt,
        along=along_compared(solved, rougher),
    )
    laps.begin("second opinion at the worst places")
    agreed = without = along = None
    if case.wiring is None:
        agreed = agreement_of(case, solved, operating=point, worst=worst, accuracy=accuracy)
        without = without_bodies_of(case, solved, operating=point, worst=worst)
        laps.begin("voltage along the metal")
        if not case.conductors.flat.any():  # plates have no currents along wires
            along = one_potential_of(case, operated=operated, worst=worst)
    else:
        agreed = along_agreement(case, solved, operating=point, worst=worst)
    laps.begin("verdict")
    clearing = clearing_of(case, operating=point, operation=operated.operation)
    rise = float(np.abs(point.voltage).max())
    errors = Errors.of_accuracy(accuracy, rise=rise, agreement=agreed)
    if case.wiring is None:
        drop = doubt_of(case, operated) if along is None else along.doubt
        errors = replace(errors, drop=drop)
    verdict = verdict_of(
        case,
        operated=operated,
        view=view,
        errors=errors,
        clearing=clearing,
        seen=None if seen is None else seen.verdict,
    )
    if verdict is not None and feet_asked(case):
        laps.begin("solved feet")
        people = people_of(case, verdict=verdict, solution=solved.coarse, metals=view.metals)
        verdict = replace(verdict, people=people)
    reaches = distances_of(case, operated=operated, verdict=verdict)
    shares = None
    if asked:
        laps.begin("shares of the soil")
        shares = soil_shares(
            solved.fine,
            electrode_set=point.bonded_set,
            contact_resistance=case.contact_resistance,
        )
    laps.end()
    return Result(
        title=case.title,
        variant=case.variant,
        units=case.units,
        case_file=case.source.file,
        case_text=case.source.text,
        case_hash=case.source.sha256,
        solution=solved.fine,
        coarse=solved.coarse,
        drives=case.drives,
        bonds=tuple(bond.groups for bond in case.bonds if bond.closed),
        operating=point,
        area=view.area,
        surface=view.surface,
        metals=view.metals,
        worst=worst,
        profiles=profiles,
        order_checks=order_checks(
            case.conductors,
            soil=case.soil,
            operating=point,
            contact_resistance=case.contact_resistance,
        ),
        accuracy=accuracy,
        seconds=solved.seconds | laps.seconds,
        peak_memory=peak_memory(),
        versions=versions(__version__),
        verdict=verdict,
        operation=operated.operation,
        clearing=clearing,
        second_opinion=solved.second,
        agreement=agreed,
        without_bodies=without,
        sounding=None if case.survey is None else case.survey.found,
        north=case.north,
        job=case.job,
        contact_resistance=case.contact_resistance,
        system=case.system,
        strips=tuple((part.name, *part.strip) for part in case.parts if part.strip),
        drawn=case.drawn,
        ground_picture=case.ground_picture,
        site=case.site,
        underlay=None if case.drawing is None else case.drawing.under_maps,
        placed=None if case.drawing is None else case.drawing.placed,
        distances=reaches,
        soil_shares=shares,
        option=case.option,
        one_potential=along,
        along=solved.along,
        along_coarse=solved.along_coarse,
        along_second=solved.along_second,
        along_drive=field.drive if isinstance(field, AlongField) else None,
        places=case.places,
        raised=_raised(case),
    )


def _seen_in(result: Result, *, case: Case, operated: Operated, coarser: float) -> bool:
    """Whether the map of a result of the same solution is that of a case in operation too."""
    return (
        result.contact_resistance == case.contact_resistance
        and np.array_equal(result.operating.voltage, operated.point.voltage)
        and result.area == raster_of(case, coarser=coarser)
        and result.surface.pace == case.study.pace
        and same_places(result.metals, touchable_metals(case))
    )


def _raised(case: Case) -> Floats | None:
    """What parts are joined by above ground, in plan, shape (n, 2, 2); None without it. [m]"""
    ends = [each.raised.ends for each in case.parts if each.raised is not None]
    if not any(ends):
        return None
    return np.concatenate([np.array(each)[:, :, :2] for each in ends if each])
