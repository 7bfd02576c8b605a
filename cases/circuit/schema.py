"""How much of the fault current enters the soil: the circuit block."""

import math
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from ...solver import circuit as solver
from ...solver import drives
from ...solver.errors import CaseError
from ..reading import fields as f
from ..reading.blocks import Block
from ..reading.messages import shown
from ..reading.naming import names_a, refers_to
from ..reading.size_limits import MOST_PATHS, MOST_SPANS


def _spans(value: object) -> object:
    if value == "endless" or (isinstance(value, int) and not isinstance(value, bool)):
        if isinstance(value, int) and not 1 <= value <= MOST_SPANS:
            msg = f"{value} is not allowed: from 1 to {MOST_SPANS}, or endless"
            raise CaseError(msg)
        return value
    msg = f"{shown(value)} is no number of spans: write a whole number, or endless"
    raise CaseError(msg)


Spans = Annotated[
    int | Literal["endless"],
    f.Reader(
        _spans,
        {"anyOf": [{"type": "integer", "minimum": 1, "maximum": MOST_SPANS},
                   {"const": "endless"}]},
    ),
]  # fmt: skip


Node = Annotated[f.Name, refers_to("node")]


class Impedance(Block):
    """Resistance and reactance in series, at the frequency of the circuit."""

    resistance: f.Resistance = 0.0
    """Resistance; none when left out."""
    reactance: f.Reactance = 0.0
    """Reactance, negative where capacitive; none when left out."""

    @property
    def phasor(self) -> complex:
        """Both as one number. [Ω]"""
        return complex(self.resistance, self.reactance)


class Ladder(Block):
    """Line of equal spans with a ground to remote earth at each pole."""

    span: Impedance
    """Impedance of one span of the line."""
    footing: f.Resistance
    """Resistance of the ground at each pole: tower footing, pole ground."""
    spans: Spans
    """Number of spans, or endless."""
    end: Literal["open", "closed"] | None = None
    """Far end: open behind the last pole's ground, or closed onto the second node."""
    broken_after: Annotated[int, f.whole(least=0, most=MOST_SPANS)] | None = None
    """Whole spans before a break in the line; left out, it is unbroken."""

    @property
    def ladder(self) -> solver.Ladder:
        """Ladder as the solver takes it."""
        if (self.spans == "endless") != (self.end is None):
            msg = "'end' goes with a number of spans: say open or closed; endless has none"
            raise CaseError(msg)
        return solver.Ladder(
            span=self.span.phasor,
            footing=self.footing,
            spans=None if self.spans == "endless" else self.spans,
            end=self.end or "open",
            broken_after=self.broken_after,
        )

    @model_validator(mode="after")
    def _exists(self) -> Self:
        _ = self.ladder  # raises what is wrong with it
        return self


class Path(Block):
    """Way for current beside the soil: neutral, cable sheath, shield wire, bonding lead."""

    exactly_one = (("impedance", "ladder"),)

    name: Annotated[f.Name, names_a("path", once_among="bond or path")]
    """Your own name."""
    between: tuple[Node, Node]
    """Two nodes: electrodes, nodes of your own, or remote earth."""
    impedance: Impedance | None = None
    """Impedance of the whole path."""
    ladder: Ladder | None = None
    """Line with grounds along it; its near end is the first node."""
    connected: bool = True
    """Whether it is connected; variants open and close it by its name."""

    @property
    def path(self) -> solver.Path:
        """Path as the solver takes it."""
        return solver.Path(
            name=self.name,
            between=self.between,
            impedance=None if self.impedance is None else self.impedance.phasor,
            ladder=None if self.ladder is None else self.ladder.ladder,
            connected=self.connected,
        )

    @model_validator(mode="after")
    def _exists(self) -> Self:
        _ = self.path  # raises what is wrong with it
        return self


class System(Block):
    """What the system whose fault drives the case can do, to tell what cannot be."""

    at_most_one = (("voltage_between_phases", "voltage_to_earth"),)

    voltage_between_phases: f.Voltage | None = None
    """Nominal voltage between its phases."""
    voltage_to_earth: f.Voltage | None = None
    """Nominal voltage of a phase to earth, in place of that between phases."""
    largest_fault_current: f.Current | None = None
    """Largest current to earth at this place, symmetrical: its fault level."""
    frequency: f.FrequencyOrNone | None = None
    """Of its current, where no circuit says it; 0 Hz for direct current."""

    @property
    def system(self) -> drives.System:
        """System as the solver takes it."""
        voltage = self.voltage_to_earth
        if self.voltage_between_phases is not None:
            voltage = self.voltage_between_phases / math.sqrt(3)
        return drives.System(voltage, self.largest_fault_current, self.frequency)

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        given = [value for _, value in self if value is not None]
        if not given:
            msg = f"says nothing; give one of {', '.join(self._keys())}, or leave it out"
            raise CaseError(msg)
        sizes = [value for key, value in self if value is not None and key != "frequency"]
        if min(sizes, default=1.0) <= 0:
            msg = "voltages and currents of a system are effective values above 0"
            raise CaseError(msg)
        return self


class Supply(Block):
    """What drives the circuit: a voltage behind an impedance, or a current."""

    exactly_one = (("voltage", "current"),)

    voltage: f.Voltage | None = None
    """Open-circuit voltage of the source."""
    current: f.Current | None = None
    """Fault current, which divides between soil and metal."""
    impedance: Impedance = Impedance()
    """With a voltage: of source and conductors, there and back; none when left out."""
    to: Node
    """Electrode, or node of your own, that the fault puts the supply on."""
    returns_at: Node = Field(solver.REMOTE_EARTH, alias="return")
    """Electrode, or node of your own, where the current comes back; else remote earth."""

    @property
    def supply(self) -> solver.Supply:
        """Supply as the solver takes it."""
        return solver.Supply(
            to=self.to,
            voltage=self.voltage,
            current=self.current,
            impedance=self.impedance.phasor,
            returns_at=self.returns_at,
        )

    @model_validator(mode="after")
    def _exists(self) -> Self:
        if "impedance" in self.model_fields_set and not self.impedance.model_fields_set:
            msg = "impedance says nothing; give resistance, reactance or both, or leave it out"
            raise CaseError(msg)
        _ = self.supply  # raises what is wrong with it
        return self


class Circuit(Block):
    """Fault circuit: the supply, and the metal that carries current beside the soil."""

    at_most_one = (
        ("paths", "split_factor", "all_current_in_soil"),
        ("leads_divide", "split_factor", "all_current_in_soil"),
    )

    frequency: f.Frequency
    """Frequency of the supply."""
    supply: Supply
    """What drives the circuit."""
    paths: Annotated[tuple[Path, ...], Field(max_length=MOST_PATHS)] = ()
    """Metal that carries current beside the soil."""
    split_factor: Annotated[float, f.ratio(least=1e-6, most=1.0)] | None = None
    """Share of the fault current that enters the soil, in place of paths."""
    all_current_in_soil: Literal[True] | None = None
    """Must be said where a fault current has neither paths nor a split factor."""
    leads_divide: Literal[True] | None = None
    """Must be said where leads of along_metal, and no paths, are the metal beside the soil."""
    x_over_r: Annotated[float, f.ratio(least=0.01, most=1000.0)] | None = None
    """Reactance over resistance of the faulted network, for the decrement factor."""
    growth_factor: Annotated[float, f.ratio(least=1.0, most=10.0)] = 1.0
    """Growth of the fault current over the life of the installation; 1 when left out."""

    @property
    def circuit(self) -> solver.Circuit:
        """Circuit as the solver takes it."""
        return solver.Circuit(
            frequency=self.frequency,
            supply=self.supply.supply,
            paths=tuple(path.path for path in self.paths),
            split_factor=self.split_factor,
            all_current_in_soil=self.all_current_in_soil is True,
            x_over_r=self.x_over_r,
            growth_factor=self.growth_factor,
            leads_divide=self.leads_divide is True,
        )

    @model_validator(mode="after")
    def _exists(self) -> Self:
        if len({path.name for path in self.paths}) == len(self.paths):  # else told already
            _ = self.circuit  # raises what is wrong with it
        return self
