"""Bodies in the soil in words: what they are made of, where they lie, how deep."""

from math import atan2, degrees, isinf

from ...solver.bodies import Ball, Body, Cylinder, HalfSpace, Prism
from ...solver.model import Soil
from ..wording import about
from .amounts import length, place, resistivity
from .text import Text, say


def made_of(body: Body) -> str:
    """Its resistivity and what film is on it, or that it is a void."""
    if body.void:
        return "void"
    return resistivity(body.resistivity) + ("" if body.film is None else f", {_film(body)}")


def _film(body: Body) -> str:
    """The film on a body and the faces that it is on, in few words."""
    assert body.film is not None
    where = "" if isinstance(body.shape, Ball) else f" on {' and '.join(body.film.faces)}"
    return f"film of {about(body.film.resistance)} Ω·m²{where}"


def depths(body: Body) -> Text:
    """From where to where it reaches down."""
    top, bottom = body.shape.top, body.shape.bottom
    if isinf(bottom):
        return say("from the surface down") if top == 0 else say("below {}", length(top))
    if top == 0:
        return say("from the surface to {}", length(bottom))
    return say("from {} to {}", length(top), length(bottom))


def plan_of(body: Body) -> Text:
    """Where it lies, seen from above."""
    shape = body.shape
    if isinstance(shape, Cylinder):
        return say("circle of {} about {}", length(shape.radius), place(shape.centre))
    if isinstance(shape, Ball):
        what = "half ball" if shape.centre[2] == 0 else "ball"
        cut = "" if shape.centre[2] == 0 or not shape.rim else " cut by the surface"
        size, where = length(shape.radius), place(shape.centre[:2])
        return say("{} of {} about {}{}", what, size, where, cut)
    if isinstance(shape, HalfSpace):
        angle = round(degrees(atan2(*shape.direction[::-1]))) % 360
        where = place(shape.point)
        return say("all beyond a line through {}, towards {}° from +x", where, angle)
    assert isinstance(shape, Prism)
    low, high = (place(corner[:2].tolist()) for corner in shape.bounds())
    return say("{} corners between {} and {}", len(shape.outline), low, high)


def body_text(body: Body) -> Text:
    """One body in one line."""
    found = say("{}: {}, {}; {}", body.name, made_of(body), depths(body), plan_of(body))
    return found if body.within is None else found + f"; within {body.within}"


def bodies_in_short(soil: Soil) -> str:
    """What stands after layers in one line: with pool (20.0 Ω·m), cellar (void)."""
    if not soil.bodies:
        return ""
    return " with " + ", ".join(f"{body.name} ({made_of(body)})" for body in soil.bodies)
