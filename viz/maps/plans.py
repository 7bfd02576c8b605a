"""What the plan maps show: values on the surface and between which points they are."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

from ...solver.drives import in_phase
from ...solver.exposure.between_samples import StepSamples, step_samples
from ...solver.exposure.halving import halved, sides_of
from ...solver.exposure.places import TouchableMetal
from ...solver.exposure.raster import Area, Raster, joined
from ...solver.exposure.void_rims import with_rims
from ...solver.exposure.worst import WorstVoltage
from ...solver.model import Flags, Floats, Integers, Phasors
from ...solver.results.result import Result
from ..canvas.levels import contour_levels
from ..kept import kept
from ..wording import between_samples, length_unit, share_text, with_unit
from .contoured import MapContours, map_contours
from .level_lines import LevelLine, level_lines
from .signs import SoilAbove, soil_above
from .triangles import point_areas

_fewest = 60  # samples across a view; a coarser map is sampled anew


@dataclass(frozen=True)
class Mark:
    """Value marked on a map, and the foot or the two feet it belongs to. [m]"""

    value: float
    feet: tuple[tuple[float, float], ...]

    @classmethod
    def of(cls, worst: WorstVoltage) -> "Mark":
        """Mark of a worst voltage."""
        feet = (worst.foot, worst.other_foot)
        return cls(worst.voltage, tuple(foot for foot in feet if foot is not None))


@dataclass(frozen=True)
class PlanMap:
    """One quantity on the surface, and how to name it.

    Attributes
    ----------
    heading : tuple of str
        What it is, then between which points it is.
    legend : str
        Name in the legend.
    low, high : tuple of float, length 2
        Corners of the view. [m]
    places : ndarray of float, shape (n, 2)
        [m]
    triangles : ndarray of int, shape (m, 3)
    values : ndarray of float, shape (n,)
        In `symbol`.
    worst : Mark or None
        Marked with its value.
    metal : TouchableMetal or None
        Outlined; the map is blank out of its reach.
    symbol : str
        Unit of the values: V gets a prefix that suits, % stays.
    limit : float or None
        Value whose line is always drawn.
    doubt : ndarray of float, shape (n,), or None
        Numerical error of the values; what is above the limit with it is hatched.
    inner : ndarray of float or None
        Levels between the bands; None chooses them to suit.
    outlines : tuple of ndarray of float, shape (n, 2)
        Areas to outline: surface layers. [m]
    curve : ndarray of float, shape (n, 2, 2), or None
        Straight pieces of a line to draw. [m]
    curve_name : str
        What the line is.
    above : SoilAbove or None
        Where the soil is above the metal.
    levels : tuple of LevelLine
        Outlines of levels that the case asks for.
    """

    heading: tuple[str, ...]
    legend: str
    low: tuple[float, float]
    high: tuple[float, float]
    places: Floats
    triangles: Integers
    values: Floats
    worst: Mark | None = None
    metal: TouchableMetal | None = None
    symbol: str = "V"
    limit: float | None = None
    doubt: Floats | None = None
    inner: Floats | None = None
    outlines: tuple[Floats, ...] = ()
    curve: Floats | None = None
    curve_name: str = ""
    above: SoilAbove | None = None
    levels: tuple[LevelLine, ...] = ()

    @cached_property
    def contours(self) -> MapContours:
        """What the map shows, for all that draw it."""
        return map_contours(self)

    def value_text(self, value: float) -> str:
        """Value with its unit."""
        if self.symbol == "%":
            return share_text(value / 100)
        return with_unit(value, symbol=self.symbol)


def potential_map(result: Result) -> PlanMap:
    """Map of the surface potential."""
    surface, area = result.surface, result.area
    return PlanMap(
        heading=(
            "Surface potential",
            "Between each point of the soil surface and remote earth"
            + (
                "; the part in phase with the largest rise."
                if np.iscomplexobj(surface.potential)
                else "."
            ),
        ),
        legend="Surface potential",
        low=area.low,
        high=area.high,
        places=surface.places,
        triangles=surface.triangles,
        values=in_phase(surface.potential),
        levels=level_lines(result, "potential", low=area.low, high=area.high),
    )


def step_map(result: Result) -> PlanMap:
    """Map of the largest step voltage from each place."""
    surface = result.surface
    areas = point_areas(surface.places, triangles=surface.triangles)
    levels = contour_levels(surface.step, weights=areas)
    return step_plan(
        result, samples=step_samples(surface, field=result.field, levels=levels.inner)
    )


def step_plan(result: Result, *, samples: StepSamples) -> PlanMap:
    """Map of some samples of the largest step voltage."""
    pace = _length(result.surface.pace, result=result)
    worst = next((item for item in result.worst if item.kind == "step"), None)
    return replace(
        potential_map(result),
        heading=(
            "Step voltage",
            f"Between a foot at each point and a foot {pace} away, in the worst direction; "
            f"prospective. {between_samples}",
        ),
        legend="Step voltage",
        places=samples.places,
        triangles=samples.triangles,
        values=samples.step,
        worst=None if worst is None else Mark.of(worst),
        levels=level_lines(result, "step", low=result.area.low, high=result.area.high),
        **_step_outline(result),
    )


def _step_outline(result: Result) -> dict[str, Any]:
    """Outline that the verdict was asked for, as a line on a map."""
    verdict = result.verdict
    outline = None if verdict is None else verdict.step_outline
    if verdict is None or outline is None or not len(outline.segments):
        return {}
    volts = with_unit(outline.voltage, symbol="V")
    name = f"steps reach {volts} only within these lines"
    if verdict.growth_factor * verdict.decrement_factor != 1:
        name += ", growth and decrement included"
    return {"curve": outline.segments, "curve_name": name}


def touch_map(result: Result, *, metal: TouchableMetal) -> PlanMap | None:
    """Map of the touch voltage on one metal; None where nobody in the area can reach it."""
    low, high = _view(result, metal=metal)
    if not (np.array(high) > low).all():
        return None
    places, triangles, potential = _samples(result, low=low, high=high)

    def gap(where: Floats) -> Floats:
        return metal.distance(where) - metal.reach

    triangles = triangles[_near(places, triangles=triangles, away=gap(places))]
    row, triangles = np.unique(triangles, return_inverse=True)
    places, triangles, potential = finer(
        places[row], triangles=triangles.reshape(-1, 3), values=potential[row], gap=gap
    )
    if not metal.within_reach(places).any():
        return None
    above = soil_above(result, metal, places=places, triangles=triangles, potential=potential)
    owner = result.group_names[metal.group]
    reach = _length(metal.reach, result=result)
    worst = [w for w in result.worst if w.kind == "touch" and w.name == metal.name]
    return PlanMap(
        heading=(
            f"Touch voltage: {metal.name}",
            f"Between '{metal.name}', at the potential of electrode '{owner}', and a foot at "
            f"each point within {reach} of it; prospective. Blank: out of reach.",
        ),
        legend="Touch voltage",
        low=low,
        high=high,
        places=places,
        triangles=triangles,
        values=np.abs(result.field.metal_voltage(metal.group, places=places) - potential),
        worst=Mark.of(worst[0]) if worst else None,
        metal=metal,
        above=above,
        levels=level_lines(result, "touch", low=low, high=high, metal=metal.name),
    )


@kept
def touch_maps(result: Result) -> dict[int, PlanMap]:
    """The touch map of each metal that can be reached in the area, by its number."""
    plans = {k: touch_map(result, metal=metal) for k, metal in enumerate(result.metals)}
    return {number: plan for number, plan in plans.items() if plan is not None}


def _length(value: float, *, result: Result) -> str:
    unit = length_unit(result.units)
    return f"{value * unit.factor:.3g} {unit.symbol}"


def _view(
    result: Result, *, metal: TouchableMetal
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Corners of the mapped area round a metal and its reach."""
    low, high = metal.vertices.min(axis=0), metal.vertices.max(axis=0)
    margin = metal.reach + 0.15 * (float((high - low).max()) + 2 * metal.reach)
    first = np.maximum(low - margin, result.area.low)
    last = np.minimum(high + margin, result.area.high)
    return (float(first[0]), float(first[1])), (float(last[0]), float(last[1]))


def _samples(
    result: Result, *, low: tuple[float, float], high: tuple[float, float]
) -> tuple[Floats, Integers, Phasors]:
    """Samples of the surface potential in a view, taken anew if the map is coarse there."""
    surface = result.surface
    span = np.subtract(high, low)
    if span.max() / result.area.spacing >= _fewest:
        return surface.places, surface.triangles, surface.potential
    count = np.maximum(2, np.round(span / span.max() * 2 * _fewest)).astype(int)
    raster = Raster(np.array(low), span / count, (int(count[0]), int(count[1])))
    places = with_rims(
        raster.places(np.ones(raster.shape, dtype=bool)),
        area=Area(low, high, float(raster.step.max())),
        soil=result.solution.soil,
        apart=float(raster.step.max()),
    )
    places = places[result.field.on_ground(places)]
    triangles = joined(places, raster=raster, halved=0)
    triangles = triangles[result.field.on_ground(places[triangles].mean(axis=1))]
    return places, triangles, result.field.surface_potential(places)


def finer(
    places: Floats,
    *,
    triangles: Integers,
    values: Phasors,
    gap: Callable[[Floats], Floats],
    rounds: int = 2,
) -> tuple[Floats, Integers, Phasors]:
    """Triangles near an edge cut in four in each round, so that the edge is drawn smoothly.

    Those beside them are cut where they have a side in common.

    Parameters
    ----------
    places : ndarray of float, shape (n, 2)
        [m]
    triangles : ndarray of int, shape (m, 3)
    values : ndarray, shape (n,)
        At the places; between them they are linear.
    gap : callable
        Distance of places from the edge, of either sign. [m]
    """
    away = gap(places)
    for turn in range(rounds):
        edge = _near(places, triangles=triangles, away=away)
        edge &= _near(places, triangles=triangles, away=-away)
        if not edge.any():
            break
        sides = sides_of(triangles[edge], count=len(places))
        new = places[sides].mean(axis=1)
        places = np.concatenate([places, new])
        values = np.concatenate([values, values[sides].mean(axis=1)])
        triangles = halved(triangles, sides=sides, places=places)
        if turn < rounds - 1:
            away = np.concatenate([away, gap(new)])
    return places, triangles, values


def _near(places: Floats, *, triangles: Integers, away: Floats) -> Flags:
    """Triangles of which a corner is no farther from an edge than they are long, (m,)."""
    ends = [places[triangles[:, k]] for k in range(3)]
    longest = np.max([np.hypot(*(ends[k] - ends[k - 1]).T) for k in range(3)], axis=0)
    nearest = np.min([away[triangles[:, k]] for k in range(3)], axis=0)
    return np.asarray(nearest < longest)
