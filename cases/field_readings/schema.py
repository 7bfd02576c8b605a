"""Field measurements in a case file: what a meter was across, and what it showed."""

from typing import Annotated, Self

from pydantic import Field, model_validator

from ...solver.errors import CaseError
from ...solver.field_readings.state import names_to_choose
from ..reading import fields as f
from ..reading import quantities as q
from ..reading.blocks import Block
from ..reading.messages import shown
from ..reading.naming import ElectrodeName, names_a, refers_to
from ..reading.size_limits import MOST_READINGS, MOST_SERIES
from ..soil_survey.schema import Deviation, Words

PROBE, SECOND_PROBE = "probe", "second probe"
REFERENCE, REMOTE_EARTH = "reference", "remote earth"
# What a meter or a current can end on beside the electrodes of the case.
OWN_ENDS = (PROBE, SECOND_PROBE, REFERENCE, REMOTE_EARTH)


def _returns(value: object) -> str | tuple[float, ...]:
    """Name of an electrode, remote earth, or the place of a pin."""
    if isinstance(value, str):
        return f.name(value)
    try:
        return f.vertex(value)
    except CaseError as error:
        msg = f"{error}; or the name of an electrode, or '{REMOTE_EARTH}'"
        raise CaseError(msg) from error


def _unknown(value: object) -> str:
    if not isinstance(value, str) or not names_to_choose(value.strip()):
        msg = (
            f"{shown(value)} is nothing that can be fitted: write 'soil scale', "
            "'resistivities', 'thicknesses', 'resistivity of layer 1', 'thickness of layer 1', "
            "'contact', 'contact of ELECTRODE', 'reference', 'divider' or 'current'"
        )
        raise CaseError(msg)
    return value.strip()


Returns = Annotated[
    str | tuple[float, ...],
    f.Reader(
        _returns,
        {
            "anyOf": [
                {"type": "string"},
                {"type": "array", "items": f.coordinate.schema, "minItems": 2, "maxItems": 2},
            ]
        },
    ),
    refers_to("electrode", also=(REMOTE_EARTH,), what="electrode to return to"),
]
End = Annotated[f.Name, refers_to("electrode", also=OWN_ENDS, what="end of a meter")]
Unknown = Annotated[
    str, f.Reader(_unknown, {"type": "string", "examples": ["soil scale", "contact"]})
]
# A share of the source voltage; beyond 1 where more than the source is in play.
Fraction = Annotated[float, f.ratio(least=-2.0, most=2.0)]
Ohms = Annotated[float, f.quantity(q.RESISTANCE, least=-1e6, most=1e6)]


class MeterReading(Block):
    """What the meter showed with the probe in one place."""

    exactly_one = (("voltage", "resistance", "fraction"),)
    at_most_one = (("at", "distance"),)

    at: f.Vertex | None = None
    """Place of the probe, [x, y] or [x, y, depth]."""
    distance: f.Depth | None = None
    """Distance of the probe along the line of the series, in place of `at`."""
    second_at: f.Vertex | None = None
    """Place of the second probe, for a voltage between two places."""
    voltage: f.Voltage | None = None
    """Voltage shown, of the first end over the second."""
    resistance: Ohms | None = None
    """Voltage over current, as an earth tester shows it."""
    fraction: Fraction | None = None
    """Voltage as a share of the source voltage."""
    current: f.Current | None = None
    """Current at that moment, in place of the series'."""
    background_voltage: f.Voltage | None = None
    """Voltage shown with the source off, in place of the series'."""
    deviation: Deviation | None = None
    """Standard deviation of the reading, in % of it."""
    note: Words = ""
    """Anything about this reading."""


class Line(Block):
    """Line along which the probe was moved."""

    start: f.Point
    """Where distances are counted from, [x, y]."""
    azimuth: f.Angle
    """Direction, from the x axis towards the y axis."""


class Series(Block):
    """Readings of one day with one set-up: one current path, one pair of ends."""

    exactly_one = (("readings", "file"),)

    name: Annotated[f.Name, names_a("series of readings")]
    """Your own name."""
    date: Words = ""
    """When it was measured."""
    note: Words = ""
    """Weather, instrument, what else was connected."""
    electrode: ElectrodeName
    """Electrode from which the current enters the soil."""
    current_returns: Returns = REMOTE_EARTH
    """Where it leaves the soil: another electrode, `remote earth`, or the place of a pin."""
    across: tuple[End, End]
    """What the meter was across: two of electrodes, `probe`, `second probe`, `reference`,
    `remote earth`. The reading is the voltage of the first over the second."""
    reference: f.Vertex | None = None
    """Place of the reference pin, [x, y]; it is not taken to be remote."""
    line: Line | None = None
    """Line along which distances of the probe are counted."""
    current: f.Current | None = None
    """Current through the electrode, where readings do not give their own."""
    source_voltage: f.Voltage | None = None
    """Voltage of the source between the electrode and where the current returns to."""
    return_resistance: f.Resistance = 0.0
    """Resistance of leads and return in series with the electrode, for `source_voltage`."""
    meter_resistance: f.Resistance | None = None
    """Input resistance of the meter; left out, it draws nothing."""
    probe_resistance: f.Resistance = 0.0
    """Contact resistance of each probe or pin that the meter is on."""
    background_voltage: f.Voltage = 0.0
    """Voltage that the meter showed with the source off."""
    deviation: Deviation | None = None
    """Standard deviation of readings that do not give their own, in % of them."""
    readings: (
        Annotated[tuple[MeterReading, ...], Field(min_length=1, max_length=MOST_READINGS)]
        | None
    ) = None
    """The readings themselves."""
    file: f.FileName | None = None
    """Table (CSV or workbook) of the readings, beside the case file or in a folder below."""
    sheet: f.Name | None = None
    """Sheet of a workbook; left out, the only one that holds something."""

    @model_validator(mode="after")
    def _ends(self) -> Self:
        if self.across[0] == self.across[1]:
            msg = f"across: {self.across[0]!r} twice; a meter is across two things"
            raise CaseError(msg)
        if SECOND_PROBE in self.across and PROBE not in self.across:
            msg = f"across: '{SECOND_PROBE}' goes with '{PROBE}'; name both, or only '{PROBE}'"
            raise CaseError(msg)
        if REFERENCE in self.across and self.reference is None:
            msg = (
                f"across: '{REFERENCE}' needs its place: reference: [x, y]; a pin that is far "
                f"enough to be 0 V is '{REMOTE_EARTH}'"
            )
            raise CaseError(msg)
        if self.reference is not None and REFERENCE not in self.across:
            msg = f"reference: the meter is not on it; name '{REFERENCE}' in 'across'"
            raise CaseError(msg)
        if self.current == 0 or self.source_voltage == 0:
            msg = "a current or source voltage of 0 drives nothing; leave it out"
            raise CaseError(msg)
        if self.meter_resistance == 0:
            msg = "meter_resistance: 0 ohm; a voltmeter has an input resistance above 0"
            raise CaseError(msg)
        return self


class Measured(Block):
    """Field measurements that the model is held against by `ohmscape compare`."""

    series: Annotated[tuple[Series, ...], Field(min_length=1, max_length=MOST_SERIES)]
    """The readings, one entry for each set-up."""
    fit: Annotated[tuple[Unknown, ...], Field(max_length=20)] = ()
    """What to fit to them; left out: the soil scale, and the contact where it shows."""
    deviation: Deviation = 0.05
    """Standard deviation of readings that give none, 5 % when left out."""
