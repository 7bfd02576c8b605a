"""Maps of the margin: voltage over what is permissible, with the limit and what passes it."""

from dataclasses import replace

import numpy as np

from ...solver.exposure.between_samples import step_samples
from ...solver.exposure.shares import steps_by_share
from ...solver.exposure.surface import SurfaceMap, steepest_steps, with_pace
from ...solver.model import Flags, Floats, Phasors
from ...solver.polygons import nearest_on_segments
from ...solver.results.result import Result
from ...solver.verdict import Judgement
from ..canvas.levels import share_levels
from ..wording import between_samples
from .plans import Mark, PlanMap, finer, step_plan, touch_maps


def margin_map(result: Result, *, judgement: Judgement) -> PlanMap | None:
    """Map of the share of the limit that one exposure uses; None where it has no map."""
    verdict, worst = result.verdict, judgement.worst
    if verdict is None or worst is None or judgement.share is None:
        return None
    factor = verdict.growth_factor * verdict.decrement_factor
    if judgement.kind == "touch":
        names = [metal.name for metal in result.metals]
        plan = touch_maps(result).get(names.index(judgement.metals[0]))
        if plan is None:
            return None
        plan = _with_edges(plan, judgement)
        limit = judgement.permissible(plan.places)
        what = f"touch of '{judgement.metals[0]}'"
    else:
        plan, limit = _steps(result, judgement, factor=factor)
        what = "step, in the worst direction"
    percent = 100 / limit
    feet = (worst.foot, worst.other_foot)
    marked = Mark(100 * worst.share, tuple(foot for foot in feet if foot is not None))
    plan = replace(
        plan,
        heading=(
            f"Share of the limit: {judgement.name} ({judgement.outcome})",
            f"Prospective voltage ({what}) over what '{judgement.limit_name}' permits on the "
            f"ground at each point; above 100 % is unsafe. {between_samples}",
        ),
        legend="Share of the limit",
        values=factor * plan.values * percent,
        doubt=judgement.doubt * percent,
        worst=marked,
        symbol="%",
        limit=100.0,
        inner=share_levels,
        outlines=tuple(item.outline for item in judgement.grounds if item.outline is not None),
        levels=(),  # they are of volts
    )
    return _where_people_stand(plan, judgement)


def judged_steps(result: Result, judgement: Judgement) -> SurfaceMap:
    """The surface with the steps that were judged, without growth and decrement."""
    verdict = result.verdict
    assert verdict is not None
    surface = with_pace(
        result.surface, field=result.field, area=result.area, pace=judgement.pace
    )
    if judgement.step is None or judgement.step_direction is None:
        return surface
    factor = verdict.growth_factor * verdict.decrement_factor
    return replace(
        surface, step=judgement.step / factor, step_direction=judgement.step_direction
    )


def _steps(result: Result, judgement: Judgement, *, factor: float) -> tuple[PlanMap, Floats]:
    """Map of steps, and the limit of each: the lower one of both feet, as it is judged.

    Within a pace of an edge of a ground the limit may change from one place to the next: it is
    not joined between samples, steps are sought there anew.
    """
    area, field, pace = result.area, result.field, judgement.pace
    surface = judged_steps(result, judgement)
    limits = np.array([item.limit.voltage for item in judgement.grounds])
    levels = np.outer(limits, share_levels / 100 / factor).ravel()
    edges = [item.outline for item in judgement.grounds if item.outline is not None]

    def one_ground(places: Floats) -> Flags:
        """Where one limit holds for both feet: beside its edge a line is no line of steps."""
        found = np.ones(len(places), dtype=bool)
        for outline in edges:
            end = np.roll(outline, -1, axis=0)
            nearest = nearest_on_segments(places, start=outline, end=end)
            found &= np.linalg.norm(places - nearest, axis=1) > pace
        return found

    samples = step_samples(surface, field=field, levels=levels, within=one_ground)
    plan = _with_edges(step_plan(result, samples=samples), judgement, beside=pace)
    step, direction = samples.step, samples.direction
    if len(new := plan.places[len(samples.places) :]):
        potential = field.surface_potential(new)
        steepest = steepest_steps(new, potential=potential, field=field, area=area, pace=pace)
        more = steps_by_share(
            new,
            potential=potential,
            step=steepest[0],
            direction=steepest[1],
            field=field,
            pace=pace,
            permissible=judgement.permissible,
            edges=edges,
        )
        step, direction = np.append(step, more[0]), np.append(direction, more[1])
    others = plan.places + pace * np.column_stack([np.cos(direction), np.sin(direction)])
    limit = np.minimum(*(judgement.permissible(feet) for feet in (plan.places, others)))
    return replace(plan, values=step), limit


def _with_edges(plan: PlanMap, judgement: Judgement, *, beside: float = 0.0) -> PlanMap:
    """The map with small triangles where the ground changes or nobody stands any more.

    Parameters
    ----------
    beside : float
        How far beside an edge of a ground it changes the limit. [m]
    """
    places, triangles = plan.places, plan.triangles
    values: Phasors = plan.values
    outlines = [item.outline for item in judgement.grounds]
    for outline in (*outlines, judgement.outline):
        if outline is None:
            continue
        ends = np.roll(outline, -1, axis=0)

        def gap(where: Floats, start: Floats = outline, end: Floats = ends) -> Floats:
            nearest = nearest_on_segments(where, start=start, end=end)
            apart = np.linalg.norm(where - nearest, axis=1)
            return np.asarray(np.maximum(apart - beside, 0.0))

        # A band a pace wide has many triangles, each with a step to be sought.
        rounds = 1 if beside else 2
        places, triangles, values = finer(
            places, triangles=triangles, values=values, gap=gap, rounds=rounds
        )
    return replace(plan, places=places, triangles=triangles, values=np.real(values))


def _where_people_stand(plan: PlanMap, judgement: Judgement) -> PlanMap:
    """The map without triangles that reach out of the outline."""
    if judgement.outline is None:
        return plan
    stands = judgement.stands(plan.places) & np.isfinite(plan.values)
    whole = stands[plan.triangles].all(axis=1)
    return replace(
        plan,
        triangles=plan.triangles[whole],
        values=np.nan_to_num(plan.values),
    )
