"""Closed lines of a drawing by name, wherever a case takes an outline."""

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from ...solver.errors import CaseError, Problem
from ...solver.model import Floats
from ..reading.documents import Document, Step
from ..reading.messages import not_among
from ..reading.raw_content import put
from . import schema

if TYPE_CHECKING:  # the library for drawings takes a third of a second to load
    from .drawing import Drawing
    from .entities import Entity

DRAWN = "drawn"
"""Key of the mapping that stands for an outline."""

_Path = tuple[Step, ...]
_line_key = "line"  # of a run of metal, which need not go round
_same = 1e-7  # m, of corners


def places_of_drawn(content: Any, path: _Path = ()) -> Iterator[tuple[_Path, object]]:
    """Where a document has ``{drawn: name}``, and what stands there as the name."""
    if isinstance(content, dict):
        if set(content) == {DRAWN}:
            yield path, content[DRAWN]
            return
        for key, value in content.items():
            yield from places_of_drawn(value, (*path, key))
    elif isinstance(content, list):
        for number, value in enumerate(content):
            yield from places_of_drawn(value, (*path, number))


def with_outlines(
    document: Document, *, given: schema.Drawing, drawing: "Drawing"
) -> tuple[Document, "list[Entity]"]:
    """The document with the corners of each outline it names, and what was taken for them.

    Raises
    ------
    CaseError
        If an outline is not in the drawing, not closed where it has to be, or a name is not
        given; all at once.
    """
    problems: list[Problem] = []
    found: dict[str, Entity] = {}
    for number, outline in enumerate(given.outlines):
        try:
            found[outline.name] = _line(drawing, outline)
        except CaseError as error:
            where = ("drawing", "outlines", number)
            problems += [document.problem(one.message, path=where) for one in error.problems]
    names = [outline.name for outline in given.outlines]
    content = document.content
    for path, given_name in places_of_drawn(content):
        name = given_name.strip() if isinstance(given_name, str) else str(given_name)
        if name not in names:
            message = not_among(name, names, what="outline of 'drawing'")
            problems.append(document.problem(message, path=path))
        elif name in found:
            try:
                corners = _corners(found[name], drawing.join_within, line=path[-1] == _line_key)
                content = put(content, path, _as_written(corners))
            except CaseError as error:
                problems.append(document.problem(str(error), path=path))
    if problems:
        raise CaseError(problems)
    return replace(document, content=content), list(found.values())


def _line(drawing: "Drawing", outline: schema.DrawnOutline) -> "Entity":
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


def _gap(one: "Entity") -> float:
    """Distance between the ends of a line; none where it is closed. [drawing units or m]"""
    return 0.0 if one.closed else float(np.linalg.norm(one.points[0] - one.points[-1]))


def _corners(one: "Entity", within: float, *, line: bool) -> Floats:
    """Corners of an outline, shape (n, 2); of a run of metal both ends, which may be one. [m]

    `CaseError` if it does not go round where it has to.
    """
    corners = one.points[:, :2]
    goes_round = _gap(one) <= within and len(corners) > 2
    if not goes_round and not line:
        msg = (
            f"{one.named} does not go round: its ends are {_gap(one):.3f} m apart; close it in "
            "the drawing"
        )
        raise CaseError(msg)
    if goes_round and not one.closed:
        corners = corners[:-1]
    if goes_round:
        apart = np.linalg.norm(corners - np.roll(corners, 1, axis=0), axis=1)
        corners = corners[apart > _same]
    return np.vstack([corners, corners[:1]]) if line and goes_round else corners


def _as_written(corners: Floats) -> list[list[str]]:
    """Corners as a case file has them; digits enough to be the same again."""
    return [[f"{x!r} m", f"{y!r} m"] for x, y in corners.tolist()]


def with_any_outline(document: Document) -> Document:
    """The document with some outline for each it names, where the drawing is not known."""
    content = document.content
    for path, _ in places_of_drawn(content):
        content = put(content, path, _as_written(np.array([[0.0, 0], [1, 0], [0, 1]])))
    return replace(document, content=content)


def refuse_without_drawing(document: Document) -> None:
    """Raise `CaseError` where a case takes an outline by name and has no drawing."""
    msg = "is an outline of a drawing, and the case names none; give it a 'drawing'"
    if problems := [
        document.problem(msg, path=path) for path, _ in places_of_drawn(document.content)
    ]:
        raise CaseError(problems)
