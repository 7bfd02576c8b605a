"""What a plan for other programs holds: lines, outlines and places with their values."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from ...solver.exposure.places import TouchableMetal
from ...solver.model import Floats, some_of
from ...solver.results.result import Result
from ..canvas.bodies import plan_outline
from ..maps.plans import PlanMap
from ..maps.surface_maps import surface_maps
from ..plates import outline_of
from ..wording import with_unit

FeatureKind = Literal["line", "outline", "place"]

METAL, RODS = "metal", "rods"
POTENTIAL, TOUCH, STEP, SHARE = "potential", "touch", "step", "share of limit"
LIMIT, UNSAFE, WORST = "limit", "unsafe", "worst places"
LEVELS, REACHED, BODIES, GROUND = "levels", "touchable metal", "bodies", "surface layers"


@dataclass(frozen=True)
class Feature:
    """One line, outline or place.

    Attributes
    ----------
    theme : str
        What it is one of: metal, contours of a voltage, unsafe areas …
    name : str
        Of what: the electrode, the metal touched, the exposure; empty where there is one only.
    kind : {"line", "outline", "place"}
    points : ndarray of float, shape (n, 2) or (n, 3)
        z up. The last corner of an outline is joined to the first. [m]
    value : float or None
        Of a contour or a worst place, in `unit`.
    unit : str
    words : str
        What it is, for whoever meets it alone.
    """

    theme: str
    name: str
    kind: FeatureKind
    points: Floats
    value: float | None = None
    unit: str = ""
    words: str = ""

    @property
    def text(self) -> str:
        """Value with its unit, short; empty without one."""
        if self.value is None:
            return ""
        if self.unit == "%":
            return f"{self.value:.0f} %"
        return with_unit(self.value, symbol=self.unit)


def plan_features(result: Result) -> Iterator[Feature]:
    """All that the plan of a result shows, from the metal up."""
    yield from _metal(result)
    yield from _site(result)
    for key, plan in surface_maps(result).items():
        yield from _contours(result, key, plan)
    yield from _worst(result)


def _metal(result: Result) -> Iterator[Feature]:
    metal = result.solution.conductors
    yield from _plates(result)
    metal = some_of(metal, piece=~metal.flat)
    upright = np.hypot(*(metal.end - metal.start)[:, :2].T) < 1e-6 * metal.length
    for k in range(len(metal.radius)):
        electrode = result.group_names[int(metal.group[k])]
        part = metal.part_names[int(metal.part[k])]
        words = f"{part} of {electrode}, {2e3 * metal.radius[k]:.3g} mm across"
        points = np.stack([metal.start[k], metal.end[k]])
        theme = RODS if upright[k] else METAL
        yield Feature(theme, electrode, "line", points, words=words)


def _plates(result: Result) -> Iterator[Feature]:
    """Outlines of plates; of upright ones what is seen from above."""
    metal = result.solution.conductors
    if metal.plate is None or metal.corners is None:
        return
    for plate in np.unique(metal.plate[metal.flat]).tolist():
        own = np.flatnonzero(metal.plate == plate)
        outline = outline_of(metal.corners[own])
        electrode = result.group_names[int(metal.group[own[0]])]
        words = f"{metal.part_names[int(metal.part[own[0]])]} of {electrode}, plate"
        points = np.concatenate([outline, outline[:1]])
        yield Feature(METAL, electrode, "line", points, words=words)


def _site(result: Result) -> Iterator[Feature]:
    for item in result.metals:
        yield from _touchable(item, result.group_names[item.group])
    area = result.area
    for body in result.solution.soil.bodies:
        outline = plan_outline(body.shape, low=area.low, high=area.high)
        if len(outline):
            words = f"{body.name}, {with_unit(body.resistivity, symbol='Ω·m')}"
            words = f"{body.name}, void" if body.void else words
            yield Feature(BODIES, body.name, "outline", outline, words=words)
    if result.verdict is not None:
        seen = set()
        for judgement in result.verdict.judgements:
            for ground in judgement.grounds:
                if ground.outline is not None and ground.name not in seen:
                    seen.add(ground.name)
                    yield Feature(GROUND, ground.name, "outline", ground.outline)


def _touchable(item: TouchableMetal, electrode: str) -> Iterator[Feature]:
    words = f"{item.name}, at the potential of {electrode}"
    if item.kind == "points":
        for place in item.vertices:
            yield Feature(REACHED, item.name, "place", place[None], words=words)
        return
    kind: FeatureKind = "outline" if item.closed else "line"
    yield Feature(REACHED, item.name, kind, item.vertices, words=words)


def _contours(result: Result, key: str, plan: PlanMap) -> Iterator[Feature]:
    """Contours of one map, its limit and what does not keep it, and levels asked for."""
    theme = key.rstrip("0123456789")
    number = int(key[len(theme) :] or 0)
    name = ""
    if theme == TOUCH:
        name = result.metals[number].name
    elif theme == "share":
        assert result.verdict is not None
        theme, name = SHARE, result.verdict.judgements[number].name
    drawn = plan.contours
    for value, line in drawn.lines():
        whole = LIMIT if plan.limit is not None and value == plan.limit else theme
        words = f"{plan.heading[0]}, {plan.value_text(value)}"
        yield Feature(whole, name, "line", line, value, plan.symbol, words)
    for ring in drawn.unsafe:
        words = f"not within the limit, error included: {name}"
        yield Feature(UNSAFE, name, "outline", ring.points, words=words)
    for level in plan.levels:
        for polygon in level.polygons:
            yield Feature(LEVELS, level.name, "outline", polygon, words=level.words)


def _worst(result: Result) -> Iterator[Feature]:
    """Worst places, of judged exposures with their share of the limit."""
    for item in result.worst:
        name = item.name or "step"
        for foot in (item.foot, item.other_foot):
            if foot is not None:
                words = f"worst {item.kind}{f' of {item.name}' if item.name else ''}"
                points = np.array([foot])
                yield Feature(WORST, name, "place", points, item.voltage, "V", words)
    for judgement in result.verdict.judgements if result.verdict else ():
        worst = judgement.worst
        if worst is None or worst.foot is None:
            continue
        for foot in (worst.foot, worst.other_foot):
            if foot is not None:
                words = f"worst place of {judgement.name}: {judgement.outcome}"
                value = 100 * worst.share
                yield Feature(
                    WORST, judgement.name, "place", np.array([foot]), value, "%", words
                )
