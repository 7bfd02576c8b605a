"""Maps of the margin: voltage over what is permissible, with the limit and what passes it."""

from dataclasses import replace

import numpy as np

from ...solver.exposure.places import nearest_on_segments
from ...solver.exposure.surface import with_pace
from ...solver.model import Floats, Phasors
from ...solver.results.result import Result
from ...solver.verdict import Judgement
from ..canvas.levels import share_levels
from ..wording import between_samples
from .plans import Mark, PlanMap, finer, step_map, touch_map


def margin_map(result: Result, *, judgement: Judgement) -> PlanMap | None:
    """Map of the share of the limit that one exposure uses; None where it has no map."""
    verdict, worst = result.verdict, judgement.worst
    if verdict is None or worst is None or judgement.share is None:
        return None
    factor = verdict.growth_factor * verdict.decrement_factor
    if judgement.kind == "touch":
        metal = next(item for item in result.metals if item.name == judgement.metals[0])
        plan = touch_map(result, metal=metal)
        if plan is None:
            return None
        plan = _with_edges(plan, judgement)
        percent = 100 / judgement.permissible(plan.places)
        values = factor * plan.values * percent
        what = f"touch of '{metal.name}'"
    else:
        plan = step_map(result)
        values = 100 * judgement.share
        # The limit of a step is the lower one of both feet.
        surface = with_pace(
            result.surface, field=result.field, area=result.area, pace=judgement.pace
        )
        with np.errstate(divide="ignore", invalid="ignore"):
            percent = values / (factor * surface.step)
        what = "step, in the worst direction"
    feet = (worst.foot, worst.other_foot)
    marked = Mark(100 * worst.share, tuple(foot for foot in feet if foot is not None))
    plan = replace(
        plan,
        heading=(
            f"Share of the limit: {judgement.name} ({judgement.outcome})",
            f"Prospective voltage ({what}) over what '{judgement.limit_name}' permits on the "
            f"ground at each point; above 100 % is unsafe. {between_samples}",
        ),
        legend="Voltage over limit",
        values=values,
        doubt=np.nan_to_num(judgement.error * percent, posinf=0.0),
        worst=marked,
        symbol="%",
        limit=100.0,
        inner=share_levels,
        outlines=tuple(item.outline for item in judgement.grounds if item.outline is not None),
    )
    return _where_people_stand(plan, judgement)


def _with_edges(plan: PlanMap, judgement: Judgement) -> PlanMap:
    """The map with small triangles where the ground changes or nobody stands any more."""
    places, triangles = plan.places, plan.triangles
    values: Phasors = plan.values
    outlines = [item.outline for item in judgement.grounds]
    for outline in (*outlines, judgement.outline):
        if outline is None:
            continue
        ends = np.roll(outline, -1, axis=0)

        def gap(where: Floats, start: Floats = outline, end: Floats = ends) -> Floats:
            nearest = nearest_on_segments(where, start=start, end=end)
            return np.asarray(np.linalg.norm(where - nearest, axis=1))

        places, triangles, values = finer(places, triangles=triangles, values=values, gap=gap)
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
