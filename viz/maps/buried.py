"""Bodies in the soil on a plan map: which are in view, their names."""

from typing import Any

from ...solver.bodies import Body
from ...solver.model import Floats
from ...solver.results.result import Result
from ..canvas.bodies import body_colour, inner_place, plan_outline
from ..canvas.frame import Frame
from ..canvas.sheet import Sheet, small_type
from .plans import PlanMap


def bodies_in_view(result: Result, *, plan: PlanMap) -> list[tuple[int, Body, Floats]]:
    """Number, body and outline of the bodies in the soil of a view. [m]"""
    found = (
        (number, body, plan_outline(body.shape, low=plan.low, high=plan.high))
        for number, body in enumerate(result.solution.soil.bodies)
    )
    return [item for item in found if len(item[2])]


def name_body(sheet: Sheet, *, body: Body, outline: Floats, frame: Frame) -> None:
    """Write the name of a body into its outline, or at the nearest free place in the map."""
    name = sheet.fit(body.name, size=small_type, width=400)
    x, y = inner_place(outline)
    style: dict[str, Any] = {"size": small_type, "anchor": (0.5, 0.5)}
    for up in (0, 40, -40, 80, -80, 120, -120):
        box = sheet.text_box((x, y + up), name, **style)
        if frame.box.holds(box.grown(4)) and sheet.is_free(box, margin=2):
            sheet.text((x, y + up), name, colour=body_colour, backed=True, **style)
            return
