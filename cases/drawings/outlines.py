"""Lines of a drawing that a case takes by name."""

import numpy as np

from ...solver.errors import CaseError, Problem
from ..outlines import NamedOutline
from ..reading.documents import Document
from . import schema
from .drawing import Drawing
from .entities import Entity


def drawn_outlines(
    given: schema.Drawing, *, drawing: Drawing, document: Document
) -> dict[str, tuple[NamedOutline, Entity]]:
    """Each outline of a drawing by its name, with what of the drawing it is.

    Raises
    ------
    CaseError
        If the drawing does not have it, or several; all at once.
    """
    problems: list[Problem] = []
    found: dict[str, tuple[NamedOutline, Entity]] = {}
    for number, outline in enumerate(given.outlines):
        try:
            one = _line(drawing, outline)
            found[outline.name] = (_named(one, drawing.join_within), one)
        except CaseError as error:
            where = ("drawing", "outlines", number)
            problems += [document.problem(one.message, path=where) for one in error.problems]
    if problems:
        raise CaseError(problems)
    return found


def _line(drawing: Drawing, outline: schema.DrawnOutline) -> Entity:
    """The one line that an outline selects, a closed one where there are others."""
    drawing.require(outline)
    lines = [one for one in drawing.selected(outline) if one.is_line]
    closed = [one for one in lines if _gap(one) <= drawing.join_within]
    chosen = closed or lines
    if len(chosen) != 1:
        names = ", ".join(one.named for one in chosen[:5]) or "none"
        what = f"{len(chosen)} {'closed ' * bool(closed)}lines"
        msg = (
            f"selects {what} of {drawing.file} ({names}); an outline is one line, drawn as one "
            "polyline on a layer of its own"
        )
        raise CaseError(msg)
    return chosen[0]


def _gap(one: Entity) -> float:
    """Distance between the ends of a line; none where it is closed. [m]"""
    return 0.0 if one.closed else float(np.linalg.norm(one.points[0] - one.points[-1]))


def _named(one: Entity, within: float) -> NamedOutline:
    """A line as an outline; ends that nearly meet are one corner."""
    corners = one.points[:, :2]
    closed = _gap(one) <= within and len(corners) > 2
    if closed and not one.closed:
        corners = corners[:-1]
    return NamedOutline(corners, closed, one.named)
