"""Marks on fields that hold names, and where the document of a case holds such fields.

A field of a block that declares a name is marked with `names_a`, one that speaks of something
by its name with `refers_to`. `marked` finds what stands in those fields of a document, valid
or not, so that names are checked beside values and not one run later.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Annotated, Any, Generic, TypeVar, get_args, get_origin

from pydantic import BaseModel

from .documents import Step
from .fields import Name

Place = tuple[Step, ...]
_each = ...  # in a pattern: every entry of a list


@dataclass(frozen=True)
class Declares:
    """Mark of a field that gives something its name."""

    kind: str  # what it is the name of, for messages and for those who refer to it
    # What else must not have the same name, for messages; its own kind as a rule.
    once_among: str
    in_its_list: bool  # whether only names in the same list must differ


@dataclass(frozen=True)
class Refers:
    """Mark of a field that names something else in the case."""

    kinds: tuple[str, ...]  # kinds of thing whose names it may be
    also: tuple[str, ...]  # words it may be beside them
    what: str  # what it should be the name of, for messages


def names_a(kind: str, *, once_among: str = "", in_its_list: bool = False) -> Declares:
    """Mark of a field that gives something of this kind its name, see `Declares`."""
    return Declares(kind, once_among or kind, in_its_list)


def refers_to(*kinds: str, also: tuple[str, ...] = (), what: str = "") -> Refers:
    """Mark of a field that names something of these kinds, see `Refers`."""
    return Refers(kinds, also, what or " or ".join(kinds))


ElectrodeName = Annotated[Name, refers_to("electrode")]


Mark = Declares | Refers
_Mark = TypeVar("_Mark", Declares, Refers)
_Pattern = tuple[Any, ...]


@dataclass(frozen=True)
class Found(Generic[_Mark]):
    """What stands in a marked field."""

    mark: _Mark
    place: Place  # where, from the top of the document
    name: str  # the name without blanks round it


def marked(
    content: object, schema: type[BaseModel]
) -> tuple[list[Found[Declares]], list[Found[Refers]]]:
    """Names that a document declares, and names by which it refers, in the schema's order.

    The content need not be valid; what has another form is passed over.
    """
    declared: list[Found[Declares]] = []
    referring: list[Found[Refers]] = []
    for pattern, mark in _patterns(schema):
        for place, value in _fitting(content, pattern):
            if not (isinstance(value, str) and value.strip()):
                continue
            if isinstance(mark, Declares):
                declared.append(Found(mark, place, value.strip()))
            else:
                referring.append(Found(mark, place, value.strip()))
    return declared, referring


@cache
def _patterns(schema: type[BaseModel]) -> tuple[tuple[_Pattern, Mark], ...]:
    """Paths at which a schema has marks, each once though kinds of a block share it."""
    return tuple(dict.fromkeys(_marks(schema, ())))


def _marks(annotation: Any, path: _Pattern) -> Iterator[tuple[_Pattern, Mark]]:
    """Marks of an annotation and of all inside it."""
    if isinstance(annotation, Declares | Refers):
        yield path, annotation
    elif isinstance(annotation, type) and issubclass(annotation, BaseModel):
        for name, field in annotation.model_fields.items():
            for inner in (field.annotation, *field.metadata):
                yield from _marks(inner, (*path, field.alias or name))
    elif get_origin(annotation) is not None:
        below = (*path, _each) if get_origin(annotation) in (tuple, list) else path
        for inner in get_args(annotation):
            yield from _marks(inner, below)


def _fitting(
    content: object, pattern: _Pattern, place: Place = ()
) -> Iterator[tuple[Place, object]]:
    """Values at the places that fit a pattern, in the order of the document."""
    if not pattern:
        yield place, content
    elif pattern[0] is _each:
        for number, item in enumerate(content if isinstance(content, list) else []):
            yield from _fitting(item, pattern[1:], (*place, number))
    elif isinstance(content, dict) and pattern[0] in content:
        yield from _fitting(content[pattern[0]], pattern[1:], (*place, pattern[0]))
