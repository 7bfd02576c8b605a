"""Every exposure held against its limit: where it is worst, and whether that is safe."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ...errors import CaseError
from ..field import Field
from ..limits import Effect, LimitSet, Standing, duration_in_words
from ..model import Floats, Soil
from ..places import TouchableMetal
from ..surface import Area, SurfaceMap, with_pace
from ..worst import WorstVoltage, Yardstick, worst_step, worst_touch
from .exposures import Exposure, Safety, Timing
from .findings import (
    GroundLimit,
    JudgedPlace,
    Judgement,
    StepOutline,
    Verdict,
    deciding,
    permissible,
)
from .ground import Ground
from .outline import level_segments, on_edge

_most_places = 10
# Soil at remote earth is nobody's model: feet there add nothing that could be counted on.
_unknown_ground = Ground(Soil((1.0,)))


@dataclass(frozen=True)
class Scene:
    """What is judged: the field, its map, and how far off its voltages may be.

    Attributes
    ----------
    field : Field
        At the operating point.
    surface : SurfaceMap
        Its map.
    area : Area
        What was mapped.
    metals : tuple of TouchableMetal
        One for each row of `surface.touch`.
    touch_error, step_error, rise_error : float
        Estimated numerical errors of a touch voltage, a step voltage and a rise. [V]
    """

    field: Field
    surface: SurfaceMap
    area: Area
    metals: tuple[TouchableMetal, ...]
    touch_error: float
    step_error: float
    rise_error: float

    def times(self, factor: float) -> "Scene":
        """The same with all currents larger by a factor; nothing is solved."""
        surface = replace(
            self.surface,
            potential=factor * self.surface.potential,
            step=factor * self.surface.step,
            touch=factor * self.surface.touch,
        )
        return Scene(
            field=Field(self.field.solution, factor * self.field.voltage),
            surface=surface,
            area=self.area,
            metals=self.metals,
            touch_error=factor * self.touch_error,
            step_error=factor * self.step_error,
            rise_error=factor * self.rise_error,
        )


@dataclass(frozen=True)
class Rule:
    """The limit set that decides on one exposure, and what it permits on each ground.

    Attributes
    ----------
    exposure : Exposure
        What somebody can meet.
    limit_set : LimitSet
        What decides.
    instead : str
        Why that is another one, or for another duration, than asked for; empty where not.
    duration : float
        The duration that decides. [s]
    standings : tuple of Standing
        The grounds as limits take them.
    grounds : tuple of GroundLimit
        What is permissible on each.
    """

    exposure: Exposure
    limit_set: LimitSet
    instead: str
    duration: float
    standings: tuple[Standing, ...]
    grounds: tuple[GroundLimit, ...]

    def yardstick(self) -> Yardstick:
        """The rule as what ranks places."""
        return Yardstick(
            lambda places: permissible(self.grounds, places=places), self.exposure.outline
        )

    def judged(
        self,
        voltage: float,
        *,
        foot: tuple[float, float] | None = None,
        other_foot: tuple[float, float] | None = None,
    ) -> JudgedPlace:
        """A voltage held against the lowest limit under its feet."""
        feet = np.array([place for place in (foot, other_foot) if place is not None])
        under = deciding(self.grounds, places=feet.reshape(-1, 2))
        # Without a foot in the yard: bare hands, or soil somewhere else.
        row = min(
            (int(k) for k in under), key=lambda k: self.grounds[k].limit.voltage, default=0
        )
        return JudgedPlace(
            metals=self.exposure.metals,
            foot=foot,
            other_foot=other_foot,
            ground="" if foot is None else self.grounds[row].name,
            voltage=voltage,
            limit=self.grounds[row].limit,
            effect=self._effect(voltage, row),
        )

    def _effect(self, voltage: float, row: int) -> Effect | None:
        try:
            return self.limit_set.effect(
                self.exposure.limit_exposure,
                voltage=voltage,
                duration=self.duration,
                standing=self.standings[row],
            )
        except CaseError:  # the set has no body or no zone for this
            return None


def judge(
    safety: Safety,
    *,
    scene: Scene,
    timing: Timing,
    growth_factor: float = 1.0,
    decrement_factor: float = 1.0,
) -> Verdict:
    """Every exposure held against its limit.

    Parameters
    ----------
    safety : Safety
        What is to be judged.
    scene : Scene
        The field at the operating point, without growth and decrement.
    timing : Timing
        How long the fault lasts; the longest duration decides.
    growth_factor, decrement_factor : float, optional
        What all voltages are multiplied with.

    Returns
    -------
    verdict : Verdict

    Raises
    ------
    CaseError
        If a limit set has no limit for an exposure, its ground or its duration.
    """
    full = scene.times(growth_factor * decrement_factor)
    ground = Ground(scene.field.solution.soil, safety.layers)
    judgements = [
        _judgement(rule_for(item, safety=safety, timing=timing, ground=ground), scene=full)
        for item in safety.exposures
    ]
    outline = None
    if safety.step_outline is not None:
        outline = _step_outline(safety.step_outline, scene=full)
    return Verdict(
        shortest=timing.shortest,
        longest=timing.longest,
        duration_words=timing.words,
        growth_factor=growth_factor,
        decrement_factor=decrement_factor,
        judgements=tuple(judgements),
        step_outline=outline,
    )


def rule_for(exposure: Exposure, *, safety: Safety, timing: Timing, ground: Ground) -> Rule:
    """The limit set that decides on an exposure, and what it permits on each ground.

    Parameters
    ----------
    exposure : Exposure
        What somebody can meet.
    safety, timing, ground
        As `judge` has them.

    Raises
    ------
    CaseError
        If a limit set has no limit for the exposure, its ground or its duration.

    Notes
    -----
    The longest duration decides, for the limit and for the decrement, as the trade has it;
    limits of IEEE 80 fall faster with it than the decrement does. (Curve c1 of IEC 60479-1
    does not below 0.1 s: up to 8 % at X/R 20; a fixed voltage never does.) A limit set that
    does not hold for so long gives way to the safety's long-duration limit; one that does not
    hold for so short is asked for its shortest, on the safe side. Both are told.
    Where a voltage is carried to remote earth, soil and layers of the site are not: the ground
    there counts as 1 Ω·m.
    """
    limit_set, duration, instead = exposure.limit, timing.longest, ""
    shortest, longest = limit_set.durations
    if duration > longest:
        other = safety.long_duration_limit
        instead = (
            f"'{limit_set.name}' holds to {duration_in_words(longest)} and the fault is "
            f"{duration_in_words(duration)}: judged by '{other.name}'"
        )
        limit_set = other
        shortest = limit_set.durations[0]
    if duration < shortest:
        instead = (
            f"'{limit_set.name}' holds from {duration_in_words(shortest)} up and the fault "
            f"lasts {duration_in_words(duration)}: judged as if it lasted that long"
        )
        duration = shortest
    if exposure.kind == "transferred" and exposure.places is None:
        ground = _unknown_ground
    grounds = ground.limits(limit_set, exposure=exposure.limit_exposure, duration=duration)
    return Rule(exposure, limit_set, instead, duration, ground.standings, grounds)


def _judgement(rule: Rule, *, scene: Scene) -> Judgement:
    find = {"touch": _touch, "step": _step, "hands": _hands, "transferred": _transferred}
    places, share, error = find[rule.exposure.kind](rule, scene)
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
        share=share,
    )


_Found = tuple[list[JudgedPlace], Floats | None, float]


def _touch(rule: Rule, scene: Scene) -> _Found:
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
        most=_most_places,
    )
    share = yardstick.share(surface.touch[row], surface.places)
    share = np.where(yardstick.allows(surface.places), share, np.nan)
    return _judged(rule, worst), share, scene.touch_error


def _step(rule: Rule, scene: Scene) -> _Found:
    yardstick = rule.yardstick()
    pace = rule.limit_set.pace or scene.surface.pace
    surface = with_pace(scene.surface, field=scene.field, area=scene.area, pace=pace)
    worst = worst_step(
        surface, field=scene.field, area=scene.area, yardstick=yardstick, most=_most_places
    )
    heading = np.column_stack([np.cos(surface.step_direction), np.sin(surface.step_direction)])
    others = surface.places + surface.pace * heading
    share = yardstick.share(surface.step, surface.places, others)
    share = np.where(yardstick.allows(surface.places), share, np.nan)
    return _judged(rule, worst), share, scene.step_error


def _judged(rule: Rule, worst: Sequence[WorstVoltage]) -> list[JudgedPlace]:
    return [
        rule.judged(item.voltage, foot=item.foot, other_foot=item.other_foot) for item in worst
    ]


def _hands(rule: Rule, scene: Scene) -> _Found:
    one, other = (scene.field.voltage[group] for group in rule.exposure.groups)
    return [rule.judged(float(np.abs(one - other)))], None, scene.rise_error


def _transferred(rule: Rule, scene: Scene) -> _Found:
    carried = scene.field.voltage[rule.exposure.groups[0]]
    if rule.exposure.places is None:
        return [rule.judged(float(np.abs(carried)))], None, scene.rise_error
    places = rule.exposure.places
    voltages = np.abs(carried - scene.field.surface_potential(places))
    judged = [
        rule.judged(float(voltage), foot=(float(x), float(y)))
        for voltage, (x, y) in zip(voltages, places, strict=True)
    ]
    return judged, None, scene.touch_error


def _step_outline(voltage: float, *, scene: Scene) -> StepOutline:
    """Outline and radius of a step voltage, round the middle of the metal."""
    surface, conductors = scene.surface, scene.field.solution.conductors
    segments = level_segments(
        surface.places, triangles=surface.triangles, values=surface.step, level=voltage
    )
    ends = np.concatenate([conductors.start[:, :2], conductors.end[:, :2]])
    centre = (ends.min(axis=0) + ends.max(axis=0)) / 2
    above = surface.places[surface.step >= voltage]
    # Between the places of the map steps are a little larger than at any of them.
    worst = worst_step(surface, field=scene.field, area=scene.area, most=_most_places)
    feet = [(item.foot, item.other_foot) for item in worst if item.voltage >= voltage]
    far = np.concatenate(
        [above, segments.reshape(-1, 2), np.array(feet, dtype=float).reshape(-1, 2)]
    )
    low, high = np.array(scene.area.low), np.array(scene.area.high)
    return StepOutline(
        voltage=voltage,
        segments=segments,
        centre=(float(centre[0]), float(centre[1])),
        radius=float(np.linalg.norm(far - centre, axis=1).max(initial=0.0)),
        whole=not on_edge(above, low=low, high=high).any(),
    )
