"""Outlines by name, from a drawing or a map, wherever a case takes an outline."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from ..solver.errors import CaseError, Problem
from ..solver.model import Floats
from .reading.documents import Document, Step
from .reading.messages import not_among
from .reading.raw_content import put

_drawn = "drawn"  # key of the mapping that stands for an outline
_Path = tuple[Step, ...]
_line_key = "line"  # of a run of metal, which need not go round
_same = 1e-7  # m, of corners


@dataclass(frozen=True)
class NamedOutline:
    """A line that a case may take by name.

    Attributes
    ----------
    corners : ndarray of float, shape (n, 2)
        The last one is joined to the first of one that is closed. [m]
    closed : bool
    words : str
        What it is and where it stands, for messages.
    """

    corners: Floats
    closed: bool
    words: str

    def given_to(self, key: Step) -> Floats:
        """Corners as a key takes them; `CaseError` if it has to go round and does not."""
        if not self.closed:
            if key == _line_key:
                return self.corners
            gap = np.linalg.norm(self.corners[0] - self.corners[-1])
            msg = (
                f"{self.words} does not go round: its ends are {gap:.3f} m apart; close it "
                "where it was drawn"
            )
            raise CaseError(msg)
        apart = np.linalg.norm(self.corners - np.roll(self.corners, 1, axis=0), axis=1)
        corners = self.corners[apart > _same]
        return np.vstack([corners, corners[:1]]) if key == _line_key else corners


def places_of_drawn(content: Any, path: _Path = ()) -> Iterator[tuple[_Path, object]]:
    """Where a document has ``{drawn: name}``, and what stands there as the name."""
    if isinstance(content, dict):
        if set(content) == {_drawn}:
            yield path, content[_drawn]
            return
        for key, value in content.items():
            yield from places_of_drawn(value, (*path, key))
    elif isinstance(content, list):
        for number, value in enumerate(content):
            yield from places_of_drawn(value, (*path, number))


def with_outlines(document: Document, *, outlines: Mapping[str, NamedOutline]) -> Document:
    """The document with the corners of each outline that it names.

    Raises
    ------
    CaseError
        If a name is not there, or an outline does not go round where it has to; all at once.
    """
    problems: list[Problem] = []
    content = document.content
    for path, given in places_of_drawn(content):
        name = given.strip() if isinstance(given, str) else str(given)
        try:
            if name not in outlines:
                raise CaseError(_unknown(name, list(outlines)))
            content = put(content, path, _as_written(outlines[name].given_to(path[-1])))
        except CaseError as error:
            problems.append(document.problem(str(error), path=path))
    if problems:
        raise CaseError(problems)
    return replace(document, content=content)


def _unknown(name: str, names: Sequence[str]) -> str:
    if names:
        return not_among(name, names, what="outline of 'drawing' or of the map of 'site'")
    return (
        "is the name of an outline, and the case has none; give it a 'drawing' or a 'site' "
        "with a map, with 'outlines'"
    )


def with_any_outline(document: Document) -> Document:
    """The document with some outline for each it names, where those are not known."""
    content = document.content
    for path, _ in places_of_drawn(content):
        content = put(content, path, _as_written(np.array([[0.0, 0], [1, 0], [0, 1]])))
    return replace(document, content=content)


def _as_written(corners: Floats) -> list[list[str]]:
    """Corners as a case file has them; digits enough to be the same again."""
    return [[f"{x!r} m", f"{y!r} m"] for x, y in corners.tolist()]
