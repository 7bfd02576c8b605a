"""The kinds of value a case file holds, as pydantic types that end in SI floats."""

from collections.abc import Callable
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, WithJsonSchema

from ..errors import CaseError
from . import quantities as q
from .limits import LARGEST_CURRENT, LARGEST_LENGTH, LARGEST_VOLTAGE, THICKEST, THINNEST

_any = float("inf")


def read(
    kind: q.Kind, *, least: float = -_any, above: float = -_any, most: float = _any
) -> Callable[[object], float]:
    """Reader of one kind of quantity that also checks its range.

    Parameters
    ----------
    kind : Kind
        Kind of quantity.
    least, above, most : float
        Smallest value allowed, value that must be exceeded, largest value allowed, in
        the SI unit of `kind`.
    """

    def parse(text: object) -> float:
        value = q.quantity(text, kind=kind)
        if value < least:
            msg = f"{text!r} is below the {least:g} {kind.unit} allowed"
            raise CaseError(msg)
        if value <= above:
            msg = f"{text!r} must be above {above:g} {kind.unit}"
            raise CaseError(msg)
        if value > most:
            msg = f"{text!r} is above the {most:g} {kind.unit} allowed"
            raise CaseError(msg)
        return value

    return parse


def _type(parse: Callable[[object], Any], *, kind: q.Kind) -> tuple[Any, Any]:
    schema = {
        "type": "string",
        "description": f"{kind.name} with a unit",
        "examples": list(kind.examples),
    }
    return BeforeValidator(parse), WithJsonSchema(schema)


_length = read(q.LENGTH, above=0.0, most=LARGEST_LENGTH)
_coordinate = read(q.LENGTH, least=-LARGEST_LENGTH, most=LARGEST_LENGTH)
_depth = read(q.LENGTH, least=0.0, most=LARGEST_LENGTH)
_diameter = read(q.DIAMETER, least=THINNEST, most=THICKEST)
_film = read(q.FILM_RESISTIVITY, least=0.0, most=1e9)
_resistivity = read(q.RESISTIVITY, above=0.0, most=1e15)
_area = read(q.AREA, above=0.0, most=1.0)

Length = Annotated[float, *_type(_length, kind=q.LENGTH)]
Coordinate = Annotated[float, *_type(_coordinate, kind=q.LENGTH)]
Depth = Annotated[float, *_type(_depth, kind=q.LENGTH)]
Diameter = Annotated[float, *_type(_diameter, kind=q.DIAMETER)]
Area = Annotated[float, *_type(_area, kind=q.AREA)]
Resistivity = Annotated[float, *_type(_resistivity, kind=q.RESISTIVITY)]
FilmResistivity = Annotated[float, *_type(_film, kind=q.FILM_RESISTIVITY)]
Voltage = Annotated[
    float,
    *_type(read(q.VOLTAGE, least=-LARGEST_VOLTAGE, most=LARGEST_VOLTAGE), kind=q.VOLTAGE),
]
Current = Annotated[
    float,
    *_type(read(q.CURRENT, least=-LARGEST_CURRENT, most=LARGEST_CURRENT), kind=q.CURRENT),
]
Angle = Annotated[float, *_type(read(q.ANGLE, least=-6.2832, most=6.2832), kind=q.ANGLE)]

Point = tuple[Coordinate, Coordinate]


def _vertex(value: object) -> tuple[float, ...]:
    if not isinstance(value, list | tuple) or len(value) not in (2, 3):
        msg = "write a point as [x, y], or [x, y, depth], each with its unit"
        raise CaseError(msg)
    return (*map(_coordinate, value[:2]), *map(_depth, value[2:]))


Vertex = Annotated[
    tuple[float, ...],
    BeforeValidator(_vertex),
    WithJsonSchema(
        {
            "type": "array",
            "items": {"type": "string"},
            "minItems": 2,
            "maxItems": 3,
            "description": "[x, y] or [x, y, depth], each with a unit",
            "examples": [["0 m", "12 ft"], ["0 m", "3 m", "0.6 m"]],
        }
    ),
]


def _name(value: object) -> str:
    if not isinstance(value, str) or not value.strip():
        msg = f"{value!r} is not a name: write text"
        raise CaseError(msg)
    if len(value) > 80 or not value.isprintable():
        msg = "a name has at most 80 printable characters on one line"
        raise CaseError(msg)
    return value.strip()


Name = Annotated[
    str, BeforeValidator(_name), WithJsonSchema({"type": "string", "maxLength": 80})
]


def count(*, least: int, most: int) -> Any:
    """Type of a whole number from `least` to `most`."""

    def parse(value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int):
            msg = f"{value!r} is not a whole number"
            raise CaseError(msg)
        if not least <= value <= most:
            msg = f"{value} is not allowed: from {least} to {most}"
            raise CaseError(msg)
        return value

    schema = {"type": "integer", "minimum": least, "maximum": most}
    return Annotated[int, BeforeValidator(parse), WithJsonSchema(schema)]


def ratio(*, least: float, most: float) -> Any:
    """Type of a plain number without a unit from `least` to `most`."""

    def parse(value: object) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            msg = f"{value!r} is not a plain number"
            raise CaseError(msg)
        if not least <= value <= most:
            msg = f"{value:g} is not allowed: from {least:g} to {most:g}"
            raise CaseError(msg)
        return float(value)

    schema = {"type": "number", "minimum": least, "maximum": most}
    return Annotated[float, BeforeValidator(parse), WithJsonSchema(schema)]


def text(*, longest: int) -> Any:
    """Type of free text of at most `longest` characters."""
    return Annotated[str, Field(max_length=longest)]
