"""The case file as a whole, and its JSON Schema for editors."""

from typing import Annotated, Any, ClassVar, Literal

from pydantic import Field

from . import fields as f
from .limits import MOST_ELECTRODES, MOST_PARTS
from .schema_base import Block
from .schema_parts import Part
from .schema_soil import Soil
from .schema_study import Numerics, Study

VERSION = 1


class Drive(Block):
    """What drives an electrode: a voltage, a current, or nothing."""

    exactly_one: ClassVar[tuple[tuple[str, ...], ...]] = (("voltage", "current", "floating"),)

    voltage: f.Voltage | None = None
    """Voltage to remote earth."""
    current: f.Current | None = None
    """Current into the soil; negative where it returns."""
    floating: Literal[True] | None = None
    """Not driven: its currents in and out of the soil cancel."""


class Electrode(Block):
    """Metal bonded to one potential."""

    name: f.Name
    """Your own name."""
    drive: Drive
    """What drives it."""
    parts: Annotated[tuple[Part, ...], Field(min_length=1, max_length=MOST_PARTS)]
    """The metal it is made of."""


class Bond(Block):
    """Connection between two electrodes that can be opened and closed."""

    name: f.Name
    """Your own name."""
    between: tuple[f.Name, f.Name]
    """Names of the two electrodes."""
    closed: bool
    """Whether the bond is made."""


class CaseFile(Block):
    """Case of ohmscape: current entering layered soil from buried metal."""

    ohmscape: Literal[1]
    """Version of this layout of the file: 1."""
    title: Annotated[str, Field(min_length=1, max_length=200), f.one_line]
    """What the case is, in one line."""
    note: Annotated[str, Field(max_length=10_000)] = ""
    """Anything else worth keeping with the case."""
    units: Literal["SI", "US"] = "SI"
    """Units of printed output; input always carries its own."""
    soil: Soil
    """The soil."""
    electrodes: Annotated[
        tuple[Electrode, ...], Field(min_length=1, max_length=MOST_ELECTRODES)
    ]
    """Buried metal, one entry for each potential."""
    bonds: Annotated[tuple[Bond, ...], Field(max_length=MOST_ELECTRODES**2)] = ()
    """Connections between electrodes."""
    study: Study = Study()
    """Where to look."""
    numerics: Numerics = Numerics()
    """How finely to compute."""


def case_file_schema() -> dict[str, Any]:
    """JSON Schema of a case file, for editors that complete and check while typing."""
    schema = CaseFile.model_json_schema(mode="validation")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}
