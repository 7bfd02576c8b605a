"""A quick look at what exposures meet: at places they can be, the worst of them climbed from.

What is found is met at a place where somebody may stand, so that a design it makes fail does
fail, as far as the field is right. A peak between the places may be missed: what passes here
is judged in full before anybody says so.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..exposure.places import TouchableMetal
from ..exposure.raster import Area
from ..exposure.worst import Yardstick, climb, farthest_apart
from ..limits import unjudged
from ..model import Floats, Phasors
from ..solved_soil import Field
from ..verdict import Exposure, Ground, Safety, Timing, UnderFeet, rule_for
from ..verdict.findings import JudgedPlace
from ..verdict.rules import Rule
from .evaluation import Met

_most_places = 1000  # of the raster
_starts, _rounds = 3, 6
_near_reach = 0.98  # of the reach, at which people stand along metal


@dataclass(frozen=True)
class Raster:
    """Places looked at, with the potential of the soil there."""

    x: Floats  # (a,) and (b,): where its lines are [m]
    y: Floats
    potential: Phasors  # (a, b) [V]

    @property
    def places(self) -> Floats:
        """Its nodes, shape (a b, 2). [m]"""
        return np.stack(np.meshgrid(self.x, self.y, indexing="ij"), axis=-1).reshape(-1, 2)

    @property
    def spacing(self) -> float:
        """Between its lines. [m]"""
        return float(self.x[1] - self.x[0])


def met_by(
    safety: Safety,
    *,
    field: Field,
    area: Area,
    metals: Sequence[TouchableMetal],
    pace: float,
    timing: Timing,
    factor: float,
    error: float,
    drop: float = 0.0,
) -> tuple[tuple[Met, ...], tuple[str, ...]]:
    """The worst that each exposure meets, and the exposures that cannot be judged.

    Parameters
    ----------
    area : Area
        What may be looked at; its raster is not.
    pace : float
        Distance between the feet where a limit has none of its own. [m]
    factor : float
        Of growth and decrement, on all voltages.
    error : float
        Of any voltage, before that factor. [V]
    drop : float
        What any voltage may be too low by, as metal is not at one potential; the same. [V]

    Raises
    ------
    CaseError
        If a limit set has no limit for an exposure, its ground or its duration.
    """
    feet = safety.under_feet or UnderFeet(field.solution.soil, "")
    ground = Ground(feet.soil, safety.layers)
    raster = _raster(area, field=field, pace=pace)
    found: list[Met] = []
    missed: list[str] = []
    for exposure in safety.exposures:
        if unjudged(exposure.people, exposure.limit):
            missed.append(exposure.name)
            continue
        rule = rule_for(exposure, safety=safety, timing=timing, ground=ground)
        place = _worst(rule, field=field, area=area, metals=metals, pace=pace, raster=raster)
        if place is None:
            missed.append(exposure.name)
            continue
        voltage, off, limit = factor * place.voltage, factor * error, place.limit.voltage
        found.append(
            Met(
                exposure.name,
                voltage,
                limit,
                off,
                (voltage + off + factor * drop) / limit,
                place.foot,
                place.other_foot,
            )
        )
    return tuple(found), tuple(missed)


def _raster(area: Area, *, field: Field, pace: float) -> Raster:
    width, height = np.subtract(area.high, area.low)
    spacing = max(math.sqrt(width * height / _most_places), 0.5 * pace)
    x, y = (
        np.linspace(low, high, max(3, round((high - low) / spacing) + 1))
        for low, high in zip(area.low, area.high, strict=True)
    )
    empty = Raster(x, y, np.zeros(0))
    potential = field.surface_potential(empty.places)
    return Raster(x, y, potential.reshape(len(x), len(y)))


def _worst(
    rule: Rule,
    *,
    field: Field,
    area: Area,
    metals: Sequence[TouchableMetal],
    pace: float,
    raster: Raster,
) -> JudgedPlace | None:
    """Where an exposure meets the largest share of its limit; None where nobody meets it."""
    exposure = rule.exposure
    if exposure.kind == "touch":
        metal = next(item for item in metals if item.name == exposure.metals[0])
        return _touch(rule, field=field, area=area, metal=metal, raster=raster)
    if exposure.kind == "step":
        pace = rule.limit_set.pace or pace
        return _step(rule, field=field, area=area, pace=pace, raster=raster)
    return max(_carried(exposure, field, rule), key=lambda place: place.share)


def _carried(exposure: Exposure, field: Field, rule: Rule) -> list[JudgedPlace]:
    """Voltages between metals, or between metal and the places it is carried to."""
    carried = field.voltage[exposure.groups[0]]
    if exposure.kind == "hands":
        return [rule.judged(float(abs(carried - field.voltage[exposure.groups[1]])))]
    if exposure.places is None:
        return [rule.judged(float(abs(carried)))]
    voltages = np.abs(carried - field.surface_potential(exposure.places))
    return [
        rule.judged(float(size), foot=(float(x), float(y)))
        for size, (x, y) in zip(voltages, exposure.places, strict=True)
    ]


def _touch(
    rule: Rule, *, field: Field, area: Area, metal: TouchableMetal, raster: Raster
) -> JudgedPlace | None:
    yardstick = rule.yardstick()
    beside = _along(metal, spacing=raster.spacing)
    beside = beside[((beside >= area.low) & (beside <= area.high)).all(axis=1)]
    places = np.concatenate([raster.places, beside])
    known = np.concatenate([raster.potential.ravel(), field.surface_potential(beside)])
    able = metal.within_reach(places)
    able[able] = yardstick.allows(places[able])
    if not able.any():
        return None
    places, known = places[able], known[able]

    def share(potential: Phasors, at: Floats) -> Floats:
        return yardstick.share(np.abs(field.voltage[metal.group] - potential), at)

    def allowed(at: Floats) -> Floats:
        for _ in range(2):
            at = metal.pulled_within_reach(yardstick.pulled(at))
            at = np.clip(at, area.low, area.high)
        return at

    values = share(known, places)
    rows = farthest_apart(values, places=places, apart=2 * raster.spacing, most=_starts)
    climbed = climb(
        places[rows],
        steps=np.full(2, 0.5 * raster.spacing),
        value=lambda at: share(field.surface_potential(at), at),
        allowed=allowed,
        rounds=_rounds,
    )
    climbed = climbed[metal.within_reach(climbed) & yardstick.allows(climbed)]
    best = np.concatenate([places[rows[:1]], climbed])
    potential = field.surface_potential(best)
    top = int(share(potential, best).argmax())
    size = float(abs(field.voltage[metal.group] - potential[top]))
    return rule.judged(size, foot=_pair(best[top]))


def _along(metal: TouchableMetal, *, spacing: float) -> Floats:
    """Places from which metal can just be touched, about a spacing apart, shape (n, 2). [m]"""
    reach = _near_reach * metal.reach
    corners = metal.vertices
    angle = 2 * np.pi * np.arange(8) / 8
    circle = reach * np.column_stack([np.cos(angle), np.sin(angle)])
    found = [(corners[:, None] + circle).reshape(-1, 2)]
    if metal.kind != "points":
        ends = np.roll(corners, -1, axis=0) if metal.closed else corners[1:]
        for start, end in zip(corners, ends, strict=False):
            length = float(np.linalg.norm(end - start))
            if length == 0:
                continue
            count = max(1, math.ceil(length / spacing))
            on = start + np.linspace(0, 1, count + 1)[:, None] * (end - start)
            across = reach * np.array([start[1] - end[1], end[0] - start[0]]) / length
            found += [on + across, on - across]
    return np.concatenate(found)


def _step(
    rule: Rule, *, field: Field, area: Area, pace: float, raster: Raster
) -> JudgedPlace | None:
    yardstick: Yardstick = rule.yardstick()
    along: list[Floats] = list(
        np.gradient(field.on_side_of_rise(raster.potential), raster.x, raster.y)
    )
    slope = np.stack(along, axis=-1).reshape(-1, 2)
    places = raster.places
    angle = np.arctan2(-slope[:, 1], -slope[:, 0])
    state = np.column_stack([places, angle])

    def feet(at: Floats) -> tuple[Floats, Floats]:
        heading = np.column_stack([np.cos(at[:, 2]), np.sin(at[:, 2])])
        return at[:, :2], at[:, :2] + pace * heading

    def value(at: Floats) -> Floats:
        both = field.surface_potential(np.concatenate(feet(at)))
        return yardstick.share(np.abs(both[: len(at)] - both[len(at) :]), *feet(at))

    def allowed(at: Floats) -> Floats:
        inside = at[:, :2]
        for _ in range(2):
            inside = np.clip(yardstick.pulled(inside), area.low, area.high)
        return np.column_stack([inside, at[:, 2]])

    likely = yardstick.share(pace * np.linalg.norm(slope, axis=1), *feet(state))
    likely = np.where(yardstick.allows(places), likely, np.nan)
    rows = farthest_apart(likely, places=places, apart=2 * raster.spacing, most=_starts)
    if not rows:
        return None
    steps = np.array([0.5 * raster.spacing, 0.5 * raster.spacing, 0.3])
    climbed = climb(state[rows], steps=steps, value=value, allowed=allowed, rounds=_rounds)
    climbed = climbed[yardstick.allows(climbed[:, :2])]
    best = np.concatenate([state[rows], climbed])
    top = best[[int(value(best).argmax())]]
    one, other = feet(top)
    ground = field.surface_potential(np.concatenate([one, other]))
    size = float(abs(ground[0] - ground[1]))
    return rule.judged(size, foot=_pair(one[0]), other_foot=_pair(other[0]))


def _pair(place: Floats) -> tuple[float, float]:
    return float(place[0]), float(place[1])
