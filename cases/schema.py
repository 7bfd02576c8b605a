"""The case file as a whole, and its JSON Schema for editors."""

from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, Field, model_validator

from ..solver.errors import CaseError
from .along_metal.schema import AlongMetal
from .changes import CHANGEABLE, GIVEN_WHOLE, Variant
from .circuit.schema import Circuit, System
from .design.schema import Design, Prices
from .distances.schema import Distances
from .drawings.schema import Drawing
from .earth_tests.schema import EarthTests
from .electrodes.schema import Part
from .field_readings.schema import Measured
from .heating.schema import Heating
from .protection.schema import Devices
from .reading import fields as f
from .reading.blocks import Block
from .reading.messages import shown
from .reading.naming import ElectrodeName, names_a, refers_to
from .reading.size_limits import MOST_ELECTRODES, MOST_PARTS, MOST_VARIANTS
from .safety.schema import Safety
from .site.schema import GroundPicture, Site
from .soil_survey.schema_plan import SurveyPlan
from .soil_survey.schema_soil import Soil
from .study.schema import Numerics, Study
from .uncertainty.schema import Uncertainty


class Job(Block):
    """What the work is filed under; stands in front of reports."""

    number: Annotated[str, f.words(most=40)] | None = None
    """Number of the job, as text: '2207-14'."""
    client: Annotated[str, f.words(most=100)] | None = None
    """For whom the work is done."""
    site: Annotated[str, f.words(most=160)] | None = None
    """Where it is."""
    revision: Annotated[str, f.words(most=60)] | None = None
    """State of the work, as text: 'B', 'for approval'."""
    prepared_by: Annotated[str, f.words(most=100)] | None = None
    """Who made the case."""

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        if not self.lines:
            msg = f"says nothing; give one of {', '.join(self._keys())}, or leave it out"
            raise CaseError(msg)
        return self

    @property
    def lines(self) -> tuple[tuple[str, str], ...]:
        """Key and text of all that is given, in order."""
        return tuple((key, text) for key, text in self if text is not None)


class Drive(Block):
    """What drives an electrode: a voltage, a current, the fault circuit, or nothing."""

    exactly_one = (("voltage", "current", "circuit", "floating"),)

    voltage: f.Voltage | None = None
    """Voltage to remote earth."""
    current: f.Current | None = None
    """Current into the soil; negative where it returns."""
    circuit: Literal[True] | None = None
    """Attached to the circuit of the case."""
    floating: Literal[True] | None = None
    """Not driven: its currents in and out of the soil cancel."""


def _fed_at(value: object) -> str | tuple[float, ...]:
    return f.name(value) if isinstance(value, str) else f.vertex(value)


_fed_at_schema = {
    "anyOf": [
        {"type": "string", "maxLength": 80},
        {"type": "array", "minItems": 2, "maxItems": 3},
    ],
    "examples": ["ring", ["0 m", "3 m"], ["0 m", "3 m", "0.6 m"]],
}
FedAt = Annotated[str | tuple[float, ...], f.Reader(_fed_at, _fed_at_schema), refers_to("part")]


class Electrode(Block):
    """Metal bonded to one potential."""

    name: Annotated[f.Name, names_a("electrode")]
    """Your own name."""
    drive: Drive
    """What drives it."""
    contact_resistance: f.Resistance = 0.0
    """Contact between its metal and the soil as one resistance in series, as `compare` finds
    it; in place of a film (`contact_resistivity`) on its parts."""
    fed_at: FedAt | None = None
    """Where current enters its metal, for the voltage along it: the name of a part, or
    [x, y] or [x, y, depth] on it; left out, the worst and the best place are told."""
    parts: Annotated[tuple[Part, ...], Field(min_length=1, max_length=MOST_PARTS)]
    """The metal it is made of."""


class Bond(Block):
    """Connection between two electrodes that can be opened and closed."""

    name: Annotated[f.Name, names_a("bond", once_among="bond or path")]
    """Your own name."""
    between: tuple[ElectrodeName, ElectrodeName]
    """Names of the two electrodes."""
    closed: bool
    """Whether the bond is made."""


VERSION = 1
"""Version of the layout of case files."""


def _version(value: object) -> object:
    if type(value) is not int or value != VERSION:  # nor true or 1.0, which equal 1 in Python
        msg = f"version {shown(value)} is not known; this program reads version {VERSION}"
        raise CaseError(msg)
    return value


class CaseFile(Block):
    """Case of ohmscape: current entering layered soil from buried metal."""

    ohmscape: Annotated[Literal[1], BeforeValidator(_version)]
    """Version of this layout of the file: 1."""
    title: Annotated[str, Field(min_length=1, max_length=200), f.one_line]
    """What the case is, in one line."""
    note: Annotated[str, Field(max_length=10_000)] = ""
    """Anything else worth keeping with the case."""
    job: Job | None = None
    """What the work is filed under; stands in front of reports."""
    units: Literal["SI", "US"] = "SI"
    """Units of printed output; input always carries its own."""
    north: f.Angle | None = None
    """True north, clockwise from the +y axis of the plan; left out, no picture shows it, unless
    a `site` tells it."""
    site: Site | None = None
    """Where on the earth the plan lies; true north follows from it."""
    drawing: Drawing | None = None
    """Plan that metal and outlines are taken from, see the command `plan`."""
    ground_picture: GroundPicture | None = None
    """Picture of the ground that lies in grey under the maps."""
    soil: Soil
    """The soil."""
    electrodes: Annotated[
        tuple[Electrode, ...], Field(min_length=1, max_length=MOST_ELECTRODES)
    ]
    """Buried metal, one entry for each potential."""
    bonds: Annotated[tuple[Bond, ...], Field(max_length=MOST_ELECTRODES**2)] = ()
    """Connections between electrodes."""
    system: System | None = None
    """System whose fault drives the case: what it cannot do is told."""
    circuit: Circuit | None = None
    """Fault circuit that drives the electrodes which say so."""
    along_metal: AlongMetal | None = None
    """Voltage along the metal, leads between places of it, joints and breaks; left out, the
    metal of each electrode is taken at one potential."""
    protection: Devices | None = None
    """Protective devices; they say how long the fault lasts."""
    variants: Annotated[tuple[Variant, ...], Field(max_length=MOST_VARIANTS)] = ()
    """Other conditions, solved in the same run and set side by side."""
    prices: Prices | None = None
    """What metal, joints and surface layers cost: variants that change them are then options,
    whose bills and prices stand side by side; `size` takes them too."""
    design: Design | None = None
    """What may be chosen, what has to be reached and what it costs, see the command `size`."""
    uncertainty: Uncertainty | None = None
    """What is not known, see the command `uncertainty`."""
    study: Study = Study()
    """Where to look."""
    safety: Safety | None = None
    """What people and animals can bear, and what is held against it."""
    heating: Heating | None = None
    """How hot leads, metal and joints may get in a fault."""
    distances: Distances | None = None
    """How far voltages reach, and how far apart electrodes must stand."""
    earth_tests: EarthTests = ()
    """Tests with an earth tester to be predicted, see the command `earth-test`."""
    survey_plan: SurveyPlan = ()
    """Soil survey to be simulated over the soil as it is, see the command `survey`."""
    measured: Measured | None = None
    """What was measured on site, see the command `compare`."""
    numerics: Numerics = Numerics()
    """How finely to compute."""

    @model_validator(mode="after")
    def _one_north(self) -> Self:
        if self.north is not None and self.site is not None:
            msg = "north follows from 'site'; leave one of the two out"
            raise CaseError(msg)
        return self

    @model_validator(mode="after")
    def _one_frequency(self) -> Self:
        if self.circuit is None or self.system is None or self.system.frequency is None:
            return self
        if self.system.frequency != self.circuit.frequency:
            msg = (
                f"system: frequency {self.system.frequency:g} Hz is not that of the circuit, "
                f"{self.circuit.frequency:g} Hz; leave it out of the system"
            )
            raise CaseError(msg)
        return self


def case_file_schema() -> dict[str, Any]:
    """JSON Schema of a case file, for editors that complete and check while typing."""
    schema = CaseFile.model_json_schema(mode="validation")
    own = schema["properties"]
    changes: dict[str, Any] = {}
    for name in ("Variant", "Option"):
        change = schema["$defs"][name]["properties"]
        for key in CHANGEABLE:
            description = change[key]["description"]
            change[key] = _as_change(own[key], schema["$defs"], changes)
            change[key]["description"] = description
    schema["$defs"] |= changes
    head = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:ohmscape:case:{VERSION}",
    }
    return head | schema


def _as_change(part: Any, defs: dict[str, Any], changes: dict[str, Any]) -> Any:
    """The schema of a block as that of what differs in it: nothing must be there."""
    if isinstance(part, list):
        return [_as_change(item, defs, changes) for item in part]
    if not isinstance(part, dict):
        return part
    if "$ref" in part:
        name = part["$ref"].rsplit("/", 1)[1]
        if name in {block.__name__ for block in GIVEN_WHOLE}:
            return part
        changed = f"{name}Change"
        if changed not in changes:
            changes[changed] = {}  # it may refer to itself
            changes[changed] = _as_change(defs[name], defs, changes)
            if "name" in defs[name].get("properties", {}):
                absent = {"const": True, "description": "Take this away."}
                changes[changed]["properties"]["absent"] = absent
        return part | {"$ref": f"#/$defs/{changed}"}
    # Without its kind an entry may be of several; keys of a block may have names of keywords.
    dropped = {"required", "minItems", "default", "allOf", "discriminator"}
    return {
        "anyOf" if key == "oneOf" else key: {
            name: _as_change(item, defs, changes) for name, item in value.items()
        }
        if key == "properties"
        else _as_change(value, defs, changes)
        for key, value in part.items()
        if key not in dropped
    }
