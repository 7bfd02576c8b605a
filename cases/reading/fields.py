"""The kinds of value a case file holds, as pydantic types that end in SI floats."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any

import numpy as np
from pydantic import (
    AfterValidator,
    BeforeValidator,
    Field,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
)
from pydantic_core import core_schema

from ...solver.errors import CaseError
from ...solver.polygons import fault_of_outline
from . import quantities as q
from .messages import shown
from .size_limits import (
    LARGEST_CURRENT,
    LARGEST_LENGTH,
    LARGEST_VOLTAGE,
    MOST_POINTS,
    SHORTEST_LENGTH,
    THICKEST,
    THINNEST,
)
from .unit_patterns import pattern_of

_any = float("inf")


def read(
    kind: q.Kind, *, least: float = -_any, above: float = -_any, most: float = _any
) -> Callable[[object], float]:
    """Reader of one kind of quantity that also checks its range, in the SI unit of `kind`.

    It takes what stands in the file; raises `CaseError` if that is no such quantity or beyond
    the range. `above` must be exceeded.
    """

    def parse(text: object) -> float:
        value = q.quantity(text, kind=kind)
        if value <= above:
            msg = f"{text!r} must be above {above:g} {kind.unit}"
            raise CaseError(msg)
        if value < least:
            msg = f"{text!r} is below the {least:g} {kind.unit} allowed"
            raise CaseError(msg)
        if value > most:
            msg = f"{text!r} is above the {most:g} {kind.unit} allowed"
            raise CaseError(msg)
        return value

    return parse


@dataclass(frozen=True, eq=False)  # types are hashed, the schema cannot be
class Reader:
    """Marks a pydantic type whose value is read from the file by a function of ours."""

    # Takes what stands in the file; returns the value or raises `CaseError`.
    parse: Callable[[object], Any]
    schema: dict[str, Any]  # JSON Schema of what may stand in the file

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        """Read first, then check the type."""
        return core_schema.no_info_before_validator_function(self.parse, handler(source))

    def __get_pydantic_json_schema__(
        self, core: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """What editors are told, in place of the type that comes out."""
        return dict(self.schema)


def quantity(kind: q.Kind, **bounds: float) -> Reader:
    """Reader of a quantity with a unit, within the bounds that `read` takes."""
    schema = {
        "type": "string",
        "description": f"{kind.name} with a unit",
        "pattern": pattern_of(kind),
        "examples": list(kind.examples),
    }
    return Reader(read(kind, **bounds), schema)


coordinate = quantity(q.LENGTH, least=-LARGEST_LENGTH, most=LARGEST_LENGTH)
# Of a drawing: national grids count from far away.
PlaneCoordinate = Annotated[float, quantity(q.LENGTH, least=-1e8, most=1e8)]
_depth = quantity(q.LENGTH, least=0.0, most=LARGEST_LENGTH)

_length = quantity(q.LENGTH, above=0.0, least=SHORTEST_LENGTH, most=LARGEST_LENGTH)
Length = Annotated[float, _length]
Coordinate = Annotated[float, coordinate]
Depth = Annotated[float, _depth]
Diameter = Annotated[float, quantity(q.DIAMETER, least=THINNEST, most=THICKEST)]
Area = Annotated[float, quantity(q.AREA, above=0.0, most=1.0)]
Resistivity = Annotated[float, quantity(q.RESISTIVITY, above=0.0, most=1e15)]
FilmResistivity = Annotated[float, quantity(q.FILM_RESISTIVITY, least=0.0, most=1e9)]
Voltage = Annotated[float, quantity(q.VOLTAGE, least=-LARGEST_VOLTAGE, most=LARGEST_VOLTAGE)]
Current = Annotated[float, quantity(q.CURRENT, least=-LARGEST_CURRENT, most=LARGEST_CURRENT)]
# A day: whatever lasts longer is continuous.
Duration = Annotated[float, quantity(q.DURATION, above=0.0, most=86_400.0)]
Resistance = Annotated[float, quantity(q.RESISTANCE, least=0.0, most=1e9)]
Reactance = Annotated[float, quantity(q.REACTANCE, least=-1e9, most=1e9)]
Frequency = Annotated[float, quantity(q.FREQUENCY, above=0.0, most=1000.0)]
FrequencyOrNone = Annotated[float, quantity(q.FREQUENCY, least=0.0, most=1000.0)]
Mass = Annotated[float, quantity(q.MASS, above=0.0, most=2_000.0)]
# Neither below what is ever met nor beyond the fusing of every metal.
Temperature = Annotated[float, quantity(q.TEMPERATURE, least=-60.0, most=2000.0)]
HeatConductivity = Annotated[float, quantity(q.HEAT_CONDUCTIVITY, least=0.01, most=100.0)]
HeatCapacity = Annotated[float, quantity(q.HEAT_CAPACITY, least=1e5, most=1e7)]
TemperatureCoefficient = Annotated[
    float, quantity(q.TEMPERATURE_COEFFICIENT, least=1e-4, most=0.02)
]
# Of metals: from what no metal reaches to what nobody would call one.
MetalResistivity = Annotated[float, quantity(q.RESISTIVITY, least=1e-8, most=1e-5)]
MetalConductivity = Annotated[float, quantity(q.CONDUCTIVITY, least=1e5, most=1e8)]
# A full turn either way; 6.2832 rad leaves room for 360 deg after round-off.
Angle = Annotated[float, quantity(q.ANGLE, least=-6.2832, most=6.2832)]

Point = tuple[Coordinate, Coordinate]
Points = Annotated[tuple[Point, ...], Field(min_length=1, max_length=MOST_POINTS)]
FileName = Annotated[str, Field(min_length=1, max_length=200)]


def _simple(points: tuple[Point, ...]) -> tuple[Point, ...]:
    if fault := fault_of_outline(np.array(points)):
        msg = f"{fault}; an outline goes round once: give each corner once, in order"
        raise CaseError(msg)
    return points


# Marks a list of points as the corners of a simple polygon: what is inside must be plain.
simple_outline = AfterValidator(_simple)


class _OrDrawn:
    """Marks corners in plan that may be those of an outline of the drawing, by its name.

    They stand in its place before the case is validated: only editors have to know.
    """

    def __get_pydantic_json_schema__(
        self, core: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        drawn = {
            "type": "object",
            "properties": {"drawn": {"type": "string", "maxLength": 80}},
            "required": ["drawn"],
            "additionalProperties": False,
        }
        return {"anyOf": [handler(core), drawn]}


or_drawn = _OrDrawn()


def vertex(value: object) -> tuple[float, ...]:
    """Place in the soil, (x, y) or (x, y, depth), from a list of lengths. [m]"""
    if not isinstance(value, list | tuple) or len(value) not in (2, 3):
        msg = "write a point as [x, y], or [x, y, depth], each with its unit"
        raise CaseError(msg)
    return (*map(coordinate.parse, value[:2]), *map(_depth.parse, value[2:]))


Vertex = Annotated[
    tuple[float, ...],
    Reader(
        vertex,
        {
            "type": "array",
            "items": coordinate.schema,
            "minItems": 2,
            "maxItems": 3,
            "description": "[x, y] or [x, y, depth], each with a unit",
            "examples": [["0 m", "12 ft"], ["0 m", "3 m", "0.6 m"]],
        },
    ),
]


def name(value: object) -> str:
    """Name without blanks round it, all printable and not too long."""
    return _line(value, what="a name", most=80)


Name = Annotated[str, Reader(name, {"type": "string", "maxLength": 80})]


def words(*, most: int) -> Reader:
    """Reader of words on one line, `most` characters, without blanks round them."""
    schema = {"type": "string", "pattern": r"\S", "maxLength": most}
    return Reader(lambda value: _line(value, what="a line of words", most=most), schema)


def _line(value: object, *, what: str, most: int) -> str:
    if not isinstance(value, str) or not value.strip():
        msg = f"{shown(value)} is not {what}: write text, in quotes if it is a number"
        raise CaseError(msg)
    if len(value) > most or not value.isprintable():
        msg = f"{what} has at most {most} printable characters on one line"
        raise CaseError(msg)
    return value.strip()


def whole(*, least: int, most: int) -> Reader:
    """Reader of a whole number from `least` to `most`."""

    def parse(value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int):
            msg = f"{shown(value)} is not a whole number"
            raise CaseError(msg)
        if not least <= value <= most:
            msg = f"{value} is not allowed: from {least} to {most}"
            raise CaseError(msg)
        return value

    schema = {"type": "integer", "minimum": least, "maximum": most}
    return Reader(parse, schema)


def ratio(*, least: float, most: float) -> Reader:
    """Reader of a plain number without a unit from `least` to `most`."""

    def parse(value: object) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            msg = f"{shown(value)} is not a plain number"
            raise CaseError(msg)
        if not least <= value <= most:
            msg = f"{value:g} is not allowed: from {least:g} to {most:g}"
            raise CaseError(msg)
        return float(value)

    schema = {"type": "number", "minimum": least, "maximum": most}
    return Reader(parse, schema)


Money = Annotated[float, ratio(least=0.0, most=1e12)]


def _one_line(value: object) -> object:
    if isinstance(value, str) and not value.isprintable():
        msg = "must be printable characters on one line"
        raise CaseError(msg)
    return value


one_line = BeforeValidator(_one_line)
"""Mark of text that is printed as it stands."""
