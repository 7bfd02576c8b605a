"""Soil surveys in a case file: traverses and readings, or the table that holds them."""

import math
from collections.abc import Mapping
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from ...solver.errors import CaseError
from ..reading import fields as f
from ..reading import quantities as q
from ..reading.blocks import Block
from ..reading.messages import shown
from ..reading.naming import names_a
from ..reading.size_limits import MOST_FITTED_LAYERS, MOST_READINGS, MOST_TRAVERSES

MOST_EQUIVALENTS = 20


def _percentage(value: object) -> float:
    """Share written in per cent."""
    words = value.replace(" ", "") if isinstance(value, str) else ""
    if not words.endswith("%"):
        msg = f"{shown(value)} is no percentage: write for example '5 %'"
        raise CaseError(msg)
    try:
        share = float(words[:-1]) / 100
    except ValueError as error:
        msg = f"{shown(value)} is no percentage: write for example '5 %'"
        raise CaseError(msg) from error
    if not 0 < share < 1:
        msg = f"{value} must lie between 0 % and 100 %"
        raise CaseError(msg)
    return share


def _layers(value: object) -> int | str:
    """Number of layers, or the word that leaves it to the readings."""
    if value == "supported":
        return "supported"
    try:
        return _layer_count.parse(value)
    except CaseError as error:
        msg = f"{error}; write a number of layers, or 'supported'"
        raise CaseError(msg) from error


_layer_count = f.whole(least=1, most=MOST_FITTED_LAYERS)
Layers = Annotated[
    int | str,
    f.Reader(_layers, {"anyOf": [{"const": "supported"}, _layer_count.schema]}),
]
Deviation = Annotated[
    float, f.Reader(_percentage, {"type": "string", "pattern": r"%\s*$", "examples": ["5 %"]})
]
# Negative for pins in an order that turns the sign round.
Resistance = Annotated[float, f.quantity(q.RESISTANCE, least=-1e9, most=1e9)]
PinDepth = Annotated[float, f.quantity(q.LENGTH, least=0.0, most=10.0)]
Words = Annotated[str, Field(max_length=200), f.one_line]


def fault_of_values(values: Mapping[str, object], *, rod: bool = False) -> str:
    """What is wrong with the choice of the values given for a reading; empty when nothing is.

    Of a driven rod (`rod`) only the resistance tells.
    """
    pair = ("voltage" in values) + ("current" in values)
    if pair and "resistance" in values:
        return "give resistance, or voltage and current, not both"
    if pair == 1:
        return "voltage and current go together; give both, or the resistance"
    if values.get("current") == 0:
        return "current: 0 A; a reading needs a current"
    if pair or "resistance" in values:
        return ""
    if rod:
        return "driven rod: give its resistance, or voltage and current"
    if "apparent_resistivity" not in values:
        return "no reading; give resistance, voltage and current, or apparent_resistivity"
    return ""


class Reading(Block):
    """What an instrument showed, in one of three forms."""

    resistance: Resistance | None = None
    """Voltage between the potential pins over the current."""
    apparent_resistivity: f.Resistivity | None = None
    """As somebody has worked it out; beside a resistance it is only held against it."""
    voltage: f.Voltage | None = None
    """Voltage between the potential pins, together with the current."""
    current: f.Current | None = None
    """Current between the current pins."""
    deviation: Deviation | None = None
    """Standard deviation of the reading, in % of it."""

    @model_validator(mode="after")
    def _one_value(self) -> Self:
        if fault := fault_of_values(self.model_dump(exclude_none=True)):
            raise CaseError(fault)
        return self

    @property
    def ohms(self) -> float:
        """Resistance given, or voltage over current; nan without. [Ω]"""
        if self.voltage is not None and self.current is not None:
            return self.voltage / self.current
        return math.nan if self.resistance is None else self.resistance


class FourPinReading(Reading):
    """Reading with four pins."""

    pin_depth: PinDepth | None = None
    """Depth of the pins, in place of the traverse's."""


class WennerReading(FourPinReading):
    """Reading with four pins at equal distances."""

    spacing: f.Length
    """Distance a between neighbouring pins."""


class SchlumbergerReading(FourPinReading):
    """Reading with the potential pins about the middle of the current pins."""

    half_current_spacing: f.Length
    """Half the distance between the current pins."""
    half_potential_spacing: f.Length
    """Half the distance between the potential pins."""


class PlacedReading(FourPinReading):
    """Reading with four pins anywhere in a line."""

    pins: tuple[f.Coordinate, f.Coordinate, f.Coordinate, f.Coordinate]
    """Places of current pin, potential pin, potential pin, current pin along the line."""


class DrivenRodReading(Reading):
    """Resistance to remote earth of a rod driven so far."""

    driven_length: f.Length
    """Length of rod in the soil."""

    @model_validator(mode="after")
    def _resistance(self) -> Self:
        if fault := fault_of_values(self.model_dump(exclude_none=True), rod=True):
            raise CaseError(fault)
        return self


class _Traverse(Block):
    """Line of pins on the ground, or place of a driven rod."""

    name: Annotated[f.Name, names_a("traverse", in_its_list=True)]
    """Your own name."""
    direction: Words = ""
    """Which way it runs, in your own words."""
    date: Words = ""
    """When it was measured."""
    note: Words = ""
    """Weather, instrument, buried metal nearby."""
    deviation: Deviation | None = None
    """Standard deviation of readings that do not give their own, in % of them."""


class FourPinTraverse(_Traverse):
    """Line of four pins moved apart."""

    pin_depth: PinDepth = 0.0
    """Depth of the pins."""
    depth_corrected: bool | None = None
    """Whether apparent resistivities were worked out with the depth of the pins."""


class WennerTraverse(FourPinTraverse):
    """Pins at equal distances."""

    array: Literal["wenner"]
    """Pins at equal distances."""
    readings: Annotated[
        tuple[WennerReading, ...], Field(min_length=1, max_length=MOST_READINGS)
    ]
    """The readings."""


class SchlumbergerTraverse(FourPinTraverse):
    """Potential pins about the middle of the current pins."""

    array: Literal["schlumberger"]
    """Potential pins about the middle of the current pins."""
    readings: Annotated[
        tuple[SchlumbergerReading, ...], Field(min_length=1, max_length=MOST_READINGS)
    ]
    """The readings."""


class PlacedTraverse(FourPinTraverse):
    """Pins anywhere in a line."""

    array: Literal["four positions"]
    """Pins anywhere in a line, by their four positions."""
    readings: Annotated[
        tuple[PlacedReading, ...], Field(min_length=1, max_length=MOST_READINGS)
    ]
    """The readings."""


class DrivenRodTraverse(_Traverse):
    """One rod driven deeper and deeper."""

    array: Literal["driven rod"]
    """Resistance of one rod against its driven length."""
    diameter: f.Diameter
    """Diameter of the rod."""
    readings: Annotated[
        tuple[DrivenRodReading, ...], Field(min_length=1, max_length=MOST_READINGS)
    ]
    """The readings."""


Traverse = Annotated[
    WennerTraverse | SchlumbergerTraverse | PlacedTraverse | DrivenRodTraverse,
    Field(discriminator="array"),
]


class Survey(Block):
    """Soil survey, from which the layers are fitted when the case is read."""

    exactly_one = (("file", "traverses"),)

    file: f.FileName | None = None
    """Table (CSV or workbook) of the readings, beside the case file or in a folder below."""
    sheet: f.Name | None = None
    """Sheet of a workbook; left out, the only one that holds something."""
    traverses: (
        Annotated[tuple[Traverse, ...], Field(min_length=1, max_length=MOST_TRAVERSES)] | None
    ) = None
    """The readings themselves."""
    layers: Layers = "supported"
    """Number of layers, or `supported`: as many as the readings support."""
    equivalents: Annotated[int, f.whole(least=1, most=MOST_EQUIVALENTS)] | None = None
    """How many equivalent models to keep for a band on every result."""
    robust: bool = False
    """Whether readings off the curve count less."""
