"""The safety block in SI units: limit sets, surface layers, and what is judged by which."""

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from ...solver.errors import CaseError, Problem
from ...solver.limits import (
    En50522,
    Iec60479,
    Ieee80,
    LimitSet,
    Livestock,
    OwnCurrent,
    OwnVoltage,
)
from ...solver.model import Conductors, Floats, Soil
from ...solver.verdict import (
    Exposure,
    FeetAsked,
    Ground,
    Safety,
    SurfaceLayer,
    Timing,
    UnderFeet,
    rule_for,
)
from ...solver.wording import AS_GIVEN, plain
from ..reading.documents import Document, Step
from ..reading.problems import in_order
from ..study.study import Study
from . import schema as schema_safety
from .fences import outline_inside
from .places import problems_of_places

_own_body = 1000.0  # Ω
_same = 0.05  # within this share, a surface layer is the top layer of the soil again


def safety_of(
    given: schema_safety.Safety,
    *,
    conductors: Conductors,
    study: Study,
    soil: Soil | None,
    protected: bool,
    document: Document,
) -> Safety:
    """What is to be judged, and by which limits; names in the block have been checked.

    Without soil, as layers are fitted later, nothing is held against it
    (`problems_of_safety`). `protected` is whether a protection block says how long the fault
    lasts. `CaseError` if a limit does not hold for what is asked of it, the duration is
    missing or given twice, a surface layer is in the soil model already, or an exposure is
    met outside the mapped area.
    """
    problems: list[Problem] = []
    sets: dict[str, LimitSet] = {}
    for number, limit in enumerate(given.limits):
        try:
            sets[limit.name] = _limit_set(limit)
        except CaseError as error:
            path = ("safety", "limits", number)
            problems.append(document.problem(str(error), path=path))
    problems += _about_duration(given, protected=protected, document=document)
    if problems:
        raise CaseError(in_order(problems))
    duration = math.inf if given.continuous else given.duration
    exposures: list[Exposure] = []
    for number, item in enumerate(given.exposures):
        try:
            exposure = _exposure(
                item, limit=sets[item.limit], conductors=conductors, study=study
            )
        except CaseError as error:
            place = ("safety", "exposures", number, "inside")
            raise CaseError([document.problem(str(error), path=place)]) from error
        exposures.append(replace(exposure, people=item.people))
    layers = [
        SurfaceLayer(item.name, np.array(item.polygon), item.resistivity, item.thickness)
        for item in given.surface
    ]
    safety = Safety(
        exposures=tuple(exposures),
        layers=tuple(layers),
        duration=duration,
        under_feet=_stated(given.under_feet),
        step_outline=given.step_outline,
        solved_feet=None if given.solved_feet is None else FeetAsked(**dict(given.solved_feet)),
    )
    if given.long_duration_limit is not None:
        safety = replace(safety, long_duration_limit=sets[given.long_duration_limit])
    found = [] if soil is None else problems_of_safety(safety, soil=soil, document=document)
    found += problems_of_places(
        safety.exposures, conductors=conductors, study=study, document=document
    )
    if found:
        raise CaseError(in_order(found))
    return safety


def problems_of_safety(safety: Safety, *, soil: Soil, document: Document) -> list[Problem]:
    """What cannot be judged in a soil: limits that do not hold, layers counted twice."""
    found = list(_counted_twice(safety, soil=soil))
    ground = Ground(safety.under_feet.soil if safety.under_feet else soil, safety.layers)
    for number, exposure in enumerate(safety.exposures):
        # The protection is not asked yet: a short fault shows what ground does to a limit, one
        # without end whether the limit for long faults can take over.
        short = exposure.limit.durations[0] or 1.0
        for duration in (short, math.inf) if safety.duration is None else (safety.duration,):
            timing = Timing(duration, duration, "")
            try:
                rule_for(exposure, safety=safety, timing=timing, ground=ground)
            except CaseError as error:
                found.append((("safety", "exposures", number), str(error)))
                break
    return [document.problem(message, path=path) for path, message in found]


def _counted_twice(safety: Safety, *, soil: Soil) -> Iterator[tuple[tuple[Step, ...], str]]:
    """Surface layers that look like the top layer of the soil model."""
    if not soil.thickness:
        return
    top, depth = soil.resistivity[0], soil.thickness[0]
    for number, layer in enumerate(safety.layers):
        if math.isclose(layer.thickness, depth, rel_tol=_same) or (
            math.isclose(layer.resistivity, top, rel_tol=_same) and depth <= 2 * layer.thickness
        ):
            msg = (
                f"{layer.resistivity:g} ohm*m, {layer.thickness:g} m looks like the top layer "
                f"of the soil ({top:g} ohm*m, {depth:g} m); a layer counts in the soil model "
                "or here, not in both: leave one of them out"
            )
            yield ("safety", "surface", number), msg


def _about_duration(
    given: schema_safety.Safety, *, protected: bool, document: Document
) -> list[Problem]:
    fixed = given.duration is not None or given.continuous
    if fixed and protected:
        msg = (
            "the duration is given here and by 'protection'; leave one out (a fixed clearing "
            "time can be given as a device)"
        )
    elif not fixed and not protected:
        msg = (
            "needs the duration of the fault: 'duration', 'continuous: true' where nothing "
            "clears it, or a 'protection' block"
        )
    else:
        return []
    return [document.problem(msg, path=("safety",))]


def _limit_set(given: schema_safety.Limit) -> LimitSet:
    name = given.name
    if given.ieee_80 is not None:
        return Ieee80(name, given.ieee_80.body)
    if given.en_50522 is not None:
        return En50522(name, **dict(given.en_50522))
    if given.iec_60479 is not None:
        return Iec60479(name, **dict(given.iec_60479))
    if given.livestock is not None:
        return Livestock(name, **dict(given.livestock))
    assert given.own is not None  # the schema asks for exactly one
    return _own(name, given.own)


def _outline(
    inside: tuple[tuple[float, float], ...] | str | None, *, study: Study
) -> Floats | None:
    """Where people stand; None anywhere. `CaseError` if metal named does not go round."""
    if isinstance(inside, str):
        return outline_inside(next(item for item in study.touchables if item.name == inside))
    return None if inside is None else np.array(inside)


def _stated(resistivity: float | None) -> UnderFeet | None:
    if resistivity is None:
        return None
    words = f"{plain(resistivity, figures=AS_GIVEN)} Ω·m, as the case states"
    return UnderFeet(Soil((resistivity,)), words)


def _own(name: str, given: schema_safety.Own) -> LimitSet:
    body = given.body or _own_body
    if given.current is not None:
        return OwnCurrent(name, given.current, body, feet=bool(given.feet))
    points = given.table
    if points is None:
        assert given.voltage is not None  # the schema asks for exactly one
        points = ((1.0, given.voltage),)  # one point holds for every duration
    return OwnVoltage(name, points, body)


def _exposure(
    given: schema_safety.Exposure, *, limit: LimitSet, conductors: Conductors, study: Study
) -> Exposure:
    groups = {item.name: item.group for item in study.touchables}
    # An electrode goes before touchable metal of the same name.
    groups |= {name: k for k, name in enumerate(conductors.group_names)}
    outline = _outline(given.inside, study=study)
    if given.touch is not None:
        group = next(item.group for item in study.touchables if item.name == given.touch)
        return Exposure(given.name, "touch", limit, (given.touch,), (group,), outline)
    if given.step is not None:
        return Exposure(given.name, "step", limit, outline=outline)
    if given.hands is not None:
        held = tuple(groups[name] for name in given.hands)
        return Exposure(given.name, "hands", limit, given.hands, held)
    assert given.transferred is not None  # the schema asks for exactly one
    places: Floats | None = None if given.at is None else np.array(given.at)
    held = (groups[given.transferred],)
    return Exposure(given.name, "transferred", limit, (given.transferred,), held, places=places)
