"""From the blocks of bodies to bodies in SI units, or all that is wrong with them."""

import math
from collections.abc import Sequence

import numpy as np

from ...solver import bodies as solid
from ...solver.errors import CaseError, Problem
from ...solver.polygons import signed_area
from ..reading.documents import Document
from ..reading.problems import in_order
from ..reading.size_limits import THICKEST_FILM
from . import schema
from .nesting import problems_of_nesting

_Points = Sequence[tuple[float, float]]


def bodies_of(given: Sequence[schema.AnyBody], *, document: Document) -> tuple[solid.Body, ...]:
    """Bodies of a soil block, in its order; names in them have been checked.

    `CaseError` with all that are thinner than can be meant, not in the soil, or share a part
    of it with another in which they do not lie.
    """
    bodies: list[solid.Body] = []
    problems: list[Problem] = []
    for number, item in enumerate(given):
        path = ("soil", "bodies", number)
        try:
            shape = _shape(item)
        except CaseError as error:
            problems.append(document.problem(str(error), path=path))
            continue
        if shape.smallest_side < THICKEST_FILM:
            msg = (
                f"is {shape.smallest_side:.3g} m at its narrowest; bodies are "
                f"{THICKEST_FILM:g} m thick or more: look at the unit, or make it a film of "
                "the body it is on"
            )
            problems.append(document.problem(msg, path=path))
        resistivity = math.inf if item.resistivity is None else item.resistivity
        try:
            film = _film(item.film, shape=shape)
        except CaseError as error:
            problems.append(document.problem(str(error), path=(*path, "film")))
            continue
        bodies.append(solid.Body(item.name, shape, resistivity, item.within, film))
    if not problems:
        problems += problems_of_nesting(bodies, document=document)
    if problems:
        raise CaseError(in_order(problems))
    return tuple(bodies)


def _film(given: schema.Film | None, *, shape: solid.Shape) -> solid.Film | None:
    """Film on faces that a shape has; `CaseError` where it has not those that are named."""
    if given is None:
        return None
    has = {"top": shape.top > 0, "walls": True, "bottom": math.isfinite(shape.bottom)}
    if isinstance(shape, solid.Ball):
        if given.faces is not None:
            msg = "names faces, of which a ball has one; leave 'faces' out: it goes all round"
            raise CaseError(msg)
        faces: tuple[str, ...] = solid.every_face
    else:
        faces = tuple(name for name in given.faces or solid.every_face if has[name])
        if missing := [name for name in given.faces or () if not has[name]]:
            why = "at the surface, which insulates" if missing[0] == "top" else "without end"
            msg = f"is on its {missing[0]}, which is {why}; leave that face out"
            raise CaseError(msg)
    if given.resistance is not None:
        return solid.Film(given.resistance, faces)
    assert given.resistivity is not None  # the schema asks for one of the two
    assert given.thickness is not None
    return solid.Film(given.resistivity * given.thickness, faces)


def _shape(given: schema.AnyBody) -> solid.Shape:
    """Shape of one body; `CaseError` if none of it lies in the soil."""
    if isinstance(given, schema.Ball):
        return solid.Ball((*given.centre, given.depth), given.radius)
    if isinstance(given, schema.Slab):
        return _prism(given.outline, top=given.top, bottom=given.top + given.thickness)
    bottom = math.inf if given.bottom is None else given.bottom
    if isinstance(given, schema.Cylinder):
        return solid.Cylinder(given.centre, given.radius, given.top, bottom)
    if isinstance(given, schema.Beyond):
        along = np.subtract(given.line[1], given.line[0])
        x, y = along / np.hypot(*along)
        normal = (-y, x) if given.side == "left" else (y, -x)
        return solid.HalfSpace(given.line[0], _clean(normal), given.top, bottom)
    outline = given.outline if isinstance(given, schema.Prism) else _rectangle(given)
    return _prism(outline, top=given.top, bottom=bottom)


def _prism(outline: _Points, *, top: float, bottom: float) -> solid.Prism:
    """Prism of corners in either order."""
    turned = outline[::-1] if signed_area(np.array(outline)) < 0 else outline
    return solid.Prism(tuple(turned), top=top, bottom=bottom)


def _rectangle(given: schema.Box) -> _Points:
    """Corners of a box in plan."""
    (a, b), turn = given.size, given.rotation
    anchor = given.corner or given.centre
    assert anchor is not None  # the schema asks for one of the two
    low = (0.0, 0.0) if given.corner is not None else (-a / 2, -b / 2)
    cos, sin = _clean((math.cos(turn), math.sin(turn)))
    return [
        (anchor[0] + x * cos - y * sin, anchor[1] + x * sin + y * cos)
        for x, y in (
            low,
            (low[0] + a, low[1]),
            (low[0] + a, low[1] + b),
            (low[0], low[1] + b),
        )
    ]


def _clean(direction: tuple[float, float]) -> tuple[float, float]:
    """A direction without the round-off that would turn it off an axis."""
    x, y = (0.0 if abs(value) < 1e-12 else float(value) for value in direction)
    return x, y
