"""Somebody at the worst places, on feet that whoever solved the soil puts there."""

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from ..errors import CaseError, TrustError
from ..exposure.places import TouchableMetal
from ..limits import Livestock, formula_resistance
from ..model import Floats, Soil
from .exposures import FeetAsked, Safety, Timing
from .findings import JudgedPlace, Judgement, Verdict, deciding
from .ground import Ground, SurfaceLayer, UnderFeet
from .person import PersonThere
from .rules import Rule, rule_for

Feet = Callable[[Floats, Sequence[SurfaceLayer | None]], tuple[Floats, str]]
"""Resistance matrix of two feet at places of shape (2, 2) on a layer each, the metal at its
voltage [Ω], and what they stand on in words."""


def people_there(
    verdict: Verdict,
    *,
    safety: Safety,
    soil: Soil,
    metals: Sequence[TouchableMetal],
    feet: Feet,
) -> tuple[PersonThere, ...]:
    """What somebody gets at the worst places of a verdict, if the safety asks for it.

    Notes
    -----
    The metal keeps its voltage, whatever the body takes from it: the loaded voltage is above
    the true one by the share that the metal's own resistance has of all, on the safe side.
    Feet are for people: an exposure that is held against a limit for livestock has none.
    """
    asked = safety.solved_feet
    if asked is None:
        return ()
    timing = Timing(verdict.shortest, verdict.longest, verdict.duration_words)
    under = safety.under_feet or UnderFeet(soil, "")
    ground = Ground(under.soil, safety.layers)
    found = []
    for exposure, judgement in zip(safety.exposures, verdict.judgements, strict=True):
        places = [place for place in judgement.places if place.foot is not None]
        if not places:
            continue
        rule = rule_for(exposure, safety=safety, timing=timing, ground=ground)
        if isinstance(rule.limit_set, Livestock):
            continue
        for place in places[: asked.places]:
            pair = _pair(place, asked=asked, metals=metals)
            found.append(
                _person(place, pair, judgement=judgement, rule=rule, feet=feet, on=ground)
            )
    return tuple(found)


def _pair(place: JudgedPlace, *, asked: FeetAsked, metals: Sequence[TouchableMetal]) -> Floats:
    """Where the feet are: those of a step, or side by side before what is touched, (2, 2)."""
    foot = np.array(place.foot)
    if place.other_foot is not None:
        return np.array([foot, place.other_foot])
    towards = np.zeros(2)
    for metal in metals:
        if metal.name in place.metals:
            towards = metal.nearest(foot[None])[0] - foot
    gap = float(np.linalg.norm(towards))
    aside = np.array([-towards[1], towards[0]]) / gap if gap > 0 else np.array([1.0, 0.0])
    return foot + np.outer([-0.5, 0.5], asked.apart * aside)


def _person(
    place: JudgedPlace,
    pair: Floats,
    *,
    judgement: Judgement,
    rule: Rule,
    feet: Feet,
    on: Ground,
) -> PersonThere:
    """One person."""
    exposure = rule.exposure.limit_exposure
    under = deciding(rule.grounds, places=pair)
    row = min((int(k) for k in under), key=lambda k: rule.grounds[k].limit.voltage)
    standing = rule.standings[row]
    (a, b), (c, d) = pair.tolist()
    there = PersonThere(
        exposure=judgement.name,
        kind=judgement.kind,
        metals=place.metals,
        place=(float(place.foot[0]), float(place.foot[1])) if place.foot else (a, b),
        feet=((a, b), (c, d)),
        stands_on="",
        voltage=place.voltage,
        permitted=place.limit.voltage,
        by_formula=formula_resistance(exposure, standing=standing),
    )
    layers = [None if k == 0 else on.layers[int(k) - 1] for k in under]
    try:
        own, stands_on = feet(pair, layers)
    except (CaseError, TrustError) as error:
        return replace(there, unsolved=str(error))
    if exposure == "step":
        solved = float(own[0, 0] + own[1, 1] - own[0, 1] - own[1, 0])
    else:
        solved = float(1 / np.linalg.inv(own).sum())
    standing = replace(standing, solved_feet=solved)
    limit = rule.limit_set.permissible(exposure, duration=rule.duration, standing=standing)
    got, most = (
        rule.effect(voltage, standing=standing) for voltage in (place.voltage, limit.voltage)
    )
    shoes = 0.0
    if got is not None and got.body_current > 0:
        behind = (place.voltage - got.loaded_voltage) / got.body_current
        shoes = max(0.0, behind - solved)
    return replace(
        there,
        stands_on=stands_on,
        solved=solved,
        limit=limit,
        effect=got,
        most_current=None if most is None else most.body_current,
        shoes=shoes if shoes > 1e-6 * solved else 0.0,
    )
