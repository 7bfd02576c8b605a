"""The survey_plan block in SI units: where the pins of a survey to be simulated stand."""

from collections.abc import Iterator, Sequence

import numpy as np

from ...solver.bodies import touching
from ...solver.errors import BudgetError, Problem
from ...solver.model import Soil
from ...solver.soil_survey.planned import PlannedTraverse
from ..reading.documents import Document
from . import schema_plan as schema
from .rows import schlumberger_pins, wenner_pins


def survey_plan_of(
    given: Sequence[schema.WennerPlan | schema.SchlumbergerPlan], *, document: Document
) -> tuple[PlannedTraverse, ...]:
    """Traverses of the survey_plan block; `BudgetError` with too many readings."""
    found = tuple(_traverse(each) for each in given)
    count = sum(len(each.midpoints) * len(each.pins) for each in found)
    if count > schema.MOST_PLANNED_READINGS:
        msg = (
            f"{count} readings are planned; at most {schema.MOST_PLANNED_READINGS} can be "
            "simulated at once: leave out middles or spacings"
        )
        raise BudgetError([document.problem(msg, path=("survey_plan",))])
    return found


def problems_of_pins(
    plan: Sequence[PlannedTraverse], *, soil: Soil, document: Document
) -> Iterator[Problem]:
    """Pins that stand in a void, or on a wall of a body, where they are in two grounds."""
    for number, traverse in enumerate(plan):
        tops = traverse.places.reshape(-1, 2)
        points = np.column_stack([tops, np.zeros(len(tops))])
        for body in soil.bodies:
            if body.shape.top > 0:
                continue
            on_wall = np.abs(body.shape.distance(points)) <= 2 * touching
            in_void = body.void & body.shape.holds(points) & ~on_wall
            for bad, where in ((in_void, "in"), (on_wall, "on a wall of")):
                if bad.any():
                    x, y = tops[bad][0] + 0.0
                    msg = (
                        f"a pin stands at ({x:.4g}, {y:.4g}) m, {where} {body.name!r}"
                        f"{', a void' if body.void else ''}; move the middle along the line "
                        "or change that spacing"
                    )
                    yield document.problem(msg, path=("survey_plan", number))


def _traverse(given: schema.WennerPlan | schema.SchlumbergerPlan) -> PlannedTraverse:
    if isinstance(given, schema.WennerPlan):
        pins = [wenner_pins(a) for a in given.spacings]
    else:
        inner = given.half_potential_spacing
        pins = [schlumberger_pins(outer, inner) for outer in given.half_current_spacings]
    return PlannedTraverse(
        given.name, given.middles, given.azimuth, np.array(pins), given.deviation
    )
