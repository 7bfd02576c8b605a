"""Fences on posts, and rails on ballast, as the case file writes them."""

import math
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from ...solver.errors import CaseError
from ..reading import fields as f
from ..reading.blocks import Block
from ..reading.size_limits import MOST_POINTS
from .schema_metal import MaterialName, Metal, Size

Run = Annotated[tuple[f.Point, ...], Field(min_length=2, max_length=MOST_POINTS)]


class Rail(Size):
    """What joins the posts of a fence above ground: rail, wire or fabric."""

    height: f.Length
    """How high it runs over the surface."""
    material: MaterialName | None = None
    """What it is made of; left out, that of the posts."""


class Gate(Block):
    """Opening of a fence, with a post on both sides and none between."""

    at: f.Depth
    """Where it begins, from the start of the fence along it."""
    width: f.Length
    """From post to post."""
    bonded: bool = True
    """Whether its posts are joined across it, as by a strap in the drive."""


class Fence(Metal):
    """Fence: posts in the soil along a line, joined above ground by its rail or fabric.

    A post stands at each corner and on both sides of each gate. Size, material and backfill are
    those of the posts. With `along_metal` the rail has its impedance, and what falls apart by
    breaks and gates has voltages of its own.
    """

    kind: Literal["fence"]
    points: Run
    """Its corners, [x, y] each, from its start."""
    closed: bool = False
    """Whether it goes on from the last corner to the first."""
    spacing: f.Length
    """Between posts, at most: stretches between corners and gates are divided evenly."""
    footing: f.Length
    """How deep the metal of the posts reaches."""
    rail: Rail
    """What joins the posts."""
    gates: Annotated[tuple[Gate, ...], Field(max_length=MOST_POINTS)] = ()
    """Openings."""
    breaks: Annotated[tuple[f.Length, ...], Field(max_length=MOST_POINTS)] = ()
    """Where it is insulated: distances from its start along it, each between two posts that are
    not joined."""


class Rails(Metal):
    """Pair of rails on ballast, which leak evenly along them, joined by cross bonds.

    Size and material are those of one rail; of 60 kg/m it has 77 cm² of steel and is 0.7 m
    round (from memory): `stranded: {cross_section: 77 cm^2, overall_diameter: 220 mm}`.
    """

    kind: Literal["rails"]
    points: Run
    """Corners of the line between the rails, [x, y] each."""
    gauge: f.Length = 1.5
    """Between the middles of the rails."""
    depth: f.Depth
    """Depth of their middles: metal is taken to lie in the soil, so half as deep as they are
    wide at least."""
    leakage: f.Resistivity
    """Resistance of both rails to the soil times their length, such as 10 ohm*km: some 2 to 20
    with ballast that drains, below 1 with wet and dirty ballast or in paving, 100 with dry and
    clean ballast (from memory). It varies with the weather: take both ends."""
    bonded_every: f.Length | None = None
    """Between cross bonds, at most; left out, the rails are joined at both ends alone."""

    @property
    def film(self) -> float:
        """Film on each rail by which both leak as they do. [Ω·m²]"""
        assert self.radius is not None  # it has a size
        return self.contact_resistivity + 2.0 * self.leakage * 2.0 * math.pi * self.radius

    @model_validator(mode="after")
    def _in_the_soil(self) -> Self:
        if self.radius is not None and self.depth < self.radius:
            msg = (
                f"depth: {self.depth:g} m is less than half the width of a rail, "
                f"{self.radius:g} m; metal is taken to lie in the soil: give that at least"
            )
            raise CaseError(msg)
        return self
