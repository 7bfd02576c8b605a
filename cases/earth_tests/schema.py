"""Tests with an earth tester, to be predicted: the earth_tests block of a case file."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from ...solver.errors import CaseError
from ..reading import fields as f
from ..reading.blocks import Block
from ..reading.naming import ElectrodeName, names_a, refers_to

MOST_TESTS = 20
_most_places, _most_distances = 200, 10
Distances = Annotated[tuple[f.Length, ...], Field(min_length=1, max_length=_most_places)]


TestName = Annotated[f.Name, names_a("earth test")]


class CurrentProbe(Block):
    """Rod through which the tester's current comes back."""

    exactly_one = (("distance", "at"),)

    distance: f.Length | None = None
    """Distance from where the leads start."""
    azimuth: f.Angle | None = None
    """Direction of its lead, from the x axis towards the y axis; 0 when left out."""
    at: f.Point | None = None
    """Its place, [x, y], in place of distance and azimuth."""
    depth: f.Length = 0.5
    """Length in the soil, 0.5 m when left out."""
    diameter: f.Diameter = 0.016
    """Its diameter, 16 mm when left out."""

    @model_validator(mode="after")
    def _one_place(self) -> Self:
        if self.at is not None and self.azimuth is not None:
            msg = "'azimuth' goes with 'distance'; 'at' says the direction too"
            raise CaseError(msg)
        return self


class PotentialProbe(Block):
    """Places at which the tester reads."""

    at_most_one = (("count", "distances"),)

    angle: f.Angle = 0.0
    """From the lead of the current probe to its own lead; 0 when left out: in line."""
    count: Annotated[int, f.whole(least=2, most=_most_places)] | None = None
    """Number of equal steps to the current probe; 20 when left out: one reading every 5 %."""
    distances: Distances | None = None
    """Distances from where the leads start, in place of a count."""


class FallOfPotential(Block):
    """Potential probe moved along its lead while current flows to the current probe."""

    method: Literal["fall of potential"]
    """How it is measured."""
    name: TestName
    """Your own name of the test."""
    electrode: ElectrodeName
    """Electrode that is tested, with what closed bonds join to it."""
    start: f.Point | None = None
    """Where distances are measured from; left out: the middle of the electrode in plan."""
    current_probe: CurrentProbe
    """Where the current comes back."""
    potential_probe: PotentialProbe = PotentialProbe()
    """Where the potential is read."""
    other_distances: Annotated[tuple[f.Length, ...], Field(max_length=_most_distances)] = ()
    """More distances of the current probe, in the same direction, to compare."""
    paths_connected: bool = False
    """Whether the paths of the circuit stay connected while the tester reads."""


class TwoClamps(Block):
    """Two clamps round one conductor of a loop, without probes."""

    method: Literal["two clamps"]
    """How it is measured."""
    name: TestName
    """Your own name of the test."""
    around: Annotated[f.Name, refers_to("electrode", "path")]
    """Electrode whose one lead, or path of the circuit that, the clamps are round."""


class DrivenRod(Block):
    """Rod of its own, driven deeper and deeper, away from other metal."""

    method: Literal["driven rod"]
    """How it is measured."""
    name: TestName
    """Your own name of the test."""
    diameter: f.Diameter
    """Diameter of the rod."""
    lengths: Distances
    """Driven lengths at which the tester reads."""
    current_probe: CurrentProbe
    """Where the current comes back; the rod stands at [0, 0]."""
    potential_distance: f.Length | None = None
    """Of the potential probe, in line; left out: 61.8 % of that of the current probe."""


EarthTest = Annotated[FallOfPotential | TwoClamps | DrivenRod, Field(discriminator="method")]
EarthTests = Annotated[tuple[EarthTest, ...], Field(max_length=MOST_TESTS)]
