"""Every exposure held against its limit: where it is worst, and whether that is safe."""

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from ..exposure.shares import steps_by_share
from ..exposure.surface import with_pace
from ..exposure.worst import WorstVoltage, worst_step, worst_touch
from ..limits import unjudged
from ..model import Floats, Phasors
from .alike import distinct
from .exposures import Exposure, Safety, Timing
from .findings import JudgedPlace, Judgement, Verdict, permissible
from .ground import Ground, UnderFeet
from .rules import Rule, rule_for
from .scene import Scene
from .step_outline import step_outline

_most_places = 10  # told
LOOKED_AT = 40  # for those that are alike


def judge(
    safety: Safety,
    *,
    scene: Scene,
    timing: Timing,
    growth_factor: float = 1.0,
    decrement_factor: float = 1.0,
    seen: Verdict | None = None,
    looked_at: int = LOOKED_AT,
) -> Verdict:
    """Every exposure held against its limit.

    Parameters
    ----------
    scene : Scene
        The field at the operating point, without growth and decrement.
    timing : Timing
        How long the fault lasts; the longest duration decides.
    growth_factor, decrement_factor : float, optional
        What all voltages are multiplied with.
    seen : Verdict, optional
        Of the same field and map: of the same factors and voltage, its outline is this one's.
    looked_at : int, default 40
        Peaks that are climbed, of which the worst ten that are not alike are told.

    Raises
    ------
    CaseError
        If a limit set has no limit for an exposure, its ground or its duration.
    """
    full = scene.times(growth_factor * decrement_factor)
    feet = safety.under_feet or UnderFeet(scene.field.solution.soil, "the top of the soil")
    ground = Ground(feet.soil, safety.layers)
    judgements = [
        _not_judged(item, timing=timing, why=why)
        if (why := unjudged(item.people, item.limit))
        else _judgement(
            rule_for(item, safety=safety, timing=timing, ground=ground),
            scene=full,
            most=looked_at,
        )
        for item in safety.exposures
    ]
    outline, factors = None, (growth_factor, decrement_factor)
    if safety.step_outline is not None:
        outline = None if seen is None else seen.outline_at(safety.step_outline, factors)
        outline = outline or step_outline(safety.step_outline, scene=full)
    return Verdict(
        shortest=timing.shortest,
        longest=timing.longest,
        duration_words=timing.words,
        growth_factor=growth_factor,
        decrement_factor=decrement_factor,
        judgements=tuple(judgements),
        step_outline=outline,
        under_feet=feet.words,
    )


def _not_judged(exposure: Exposure, *, timing: Timing, why: str) -> Judgement:
    """An exposure of people for whom nothing here holds a limit."""
    return Judgement(
        name=exposure.name,
        kind=exposure.kind,
        metals=exposure.metals,
        limit_name="none",
        limit_source="",
        caution="",
        instead="",
        duration=timing.longest,
        error=0.0,
        places=(),
        grounds=(),
        outline=exposure.outline,
        pace=0.0,
        share=None,
        not_judged=why,
    )


def _judgement(rule: Rule, *, scene: Scene, most: int) -> Judgement:
    find = {"touch": _touch, "step": _step, "hands": _hands, "transferred": _transferred}
    places, maps, error = find[rule.exposure.kind](rule, scene, most)
    return Judgement(
        name=rule.exposure.name,
        kind=rule.exposure.kind,
        metals=rule.exposure.metals,
        limit_name=rule.limit_set.name,
        limit_source=rule.limit_set.source,
        caution=rule.limit_set.caution,
        instead=rule.instead,
        duration=rule.duration,
        error=error,
        places=tuple(sorted(places, key=lambda place: -place.share)),
        grounds=rule.grounds,
        outline=rule.exposure.outline,
        pace=rule.limit_set.pace or scene.surface.pace,
        share=maps.share,
        protects=rule.limit_set.protects,
        step=maps.step,
        step_direction=maps.step_direction,
        drop=scene.drop,
    )


class _Maps(NamedTuple):
    """What a judgement keeps of each place of the map; None where that means nothing."""

    share: Floats | None = None
    step: Floats | None = None
    step_direction: Floats | None = None


_Found = tuple[list[JudgedPlace], _Maps, float]


def _touch(rule: Rule, scene: Scene, most: int) -> _Found:
    names = [metal.name for metal in scene.metals]
    row = names.index(rule.exposure.metals[0])
    yardstick = rule.yardstick()
    surface = scene.surface
    worst = worst_touch(
        surface,
        index=row,
        metal=scene.metals[row],
        field=scene.field,
        area=scene.area,
        yardstick=yardstick,
        most=most,
    )
    share = yardstick.share(surface.touch[row], surface.places)
    share = np.where(yardstick.allows(surface.places), share, np.nan)
    reach = scene.metals[row].reach
    return _judged(rule, worst, scene=scene, apart=reach), _Maps(share), scene.touch_error


def _step(rule: Rule, scene: Scene, most: int) -> _Found:
    yardstick = rule.yardstick()
    pace = rule.limit_set.pace or scene.surface.pace
    surface = with_pace(scene.surface, field=scene.field, area=scene.area, pace=pace)
    step, direction = steps_by_share(
        surface.places,
        potential=surface.potential,
        step=surface.step,
        direction=surface.step_direction,
        field=scene.field,
        pace=pace,
        permissible=lambda places: permissible(rule.grounds, places=places),
        edges=[item.outline for item in rule.grounds if item.outline is not None],
    )
    changed = (None, None) if step is surface.step else (step, direction)
    surface = replace(surface, step=step, step_direction=direction)
    worst = worst_step(
        surface, field=scene.field, area=scene.area, yardstick=yardstick, most=most
    )
    heading = np.column_stack([np.cos(surface.step_direction), np.sin(surface.step_direction)])
    others = surface.places + surface.pace * heading
    share = yardstick.share(surface.step, surface.places, others)
    share = np.where(yardstick.allows(surface.places), share, np.nan)
    maps = _Maps(share, *changed)
    return _judged(rule, worst, scene=scene, apart=pace), maps, scene.step_error


def _judged(
    rule: Rule, worst: Sequence[WorstVoltage], *, scene: Scene, apart: float
) -> list[JudgedPlace]:
    """The worst places that are not alike."""
    places = [
        rule.judged(
            item.voltage, foot=item.foot, other_foot=item.other_foot, signed=item.signed
        )
        for item in worst
    ]
    conductors = scene.field.solution.conductors
    found = distinct(places, worst=worst, conductors=conductors, apart=apart, most=_most_places)
    return [replace(place, alike=more) for place, more in found]


def _hands(rule: Rule, scene: Scene, _: int) -> _Found:
    one, other = rule.exposure.groups
    (found,) = _between_points(np.array([scene.field.between(one, other)]), scene)
    return [rule.judged(found[0], signed=found[1])], _Maps(), scene.rise_error


def _transferred(rule: Rule, scene: Scene, _: int) -> _Found:
    carried = scene.field.voltage[rule.exposure.groups[0]]
    if rule.exposure.places is None:
        (found,) = _between_points(np.array([carried]), scene)
        return [rule.judged(found[0], signed=found[1])], _Maps(), scene.rise_error
    places = rule.exposure.places
    voltages = _between_points(carried - scene.field.surface_potential(places), scene)
    judged = [
        rule.judged(size, foot=(float(x), float(y)), signed=signed)
        for (size, signed), (x, y) in zip(voltages, places, strict=True)
    ]
    return judged, _Maps(), scene.touch_error


def _between_points(values: Phasors, scene: Scene) -> list[tuple[float, float]]:
    """Size of each voltage and its sign on the side of the largest rise. [V]"""
    signed = scene.field.on_side_of_rise(values)
    return list(zip(np.abs(values).tolist(), signed.tolist(), strict=True))
