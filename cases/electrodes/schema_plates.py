"""Metal that is a surface, as the case file writes it: plates, tank bottoms, piles."""

import math
from typing import Annotated, ClassVar, Literal, Self

import numpy as np
from pydantic import Field, model_validator

from ...solver.errors import CaseError
from ...solver.polygons import fault_of_outline
from ..reading import fields as f
from ..reading.blocks import Block

_most_corners, _most_walls = 24, 20
Corners = Annotated[tuple[f.Point, ...], Field(min_length=3, max_length=_most_corners)]


class Flat(Block):
    """What all metal has that is a surface; its thickness does not count."""

    name: f.Name | None = None
    """Your own name of the part; without it, its kind and a number."""
    contact_resistivity: f.FilmResistivity = 0.0
    """Resistance of the film between metal and soil, times its area; 0 without it."""

    # What round metal has beside it.
    sheath: ClassVar[None] = None
    radius: ClassVar[None] = None
    strip: ClassVar[None] = None
    stranded: ClassVar[None] = None
    temperature: ClassVar[None] = None
    material: ClassVar[str] = ""
    section: ClassVar[float] = 0.0


class Plate(Flat):
    """Plate electrode (earth plate): rectangle, disc or polygon, bare on both sides.

    Level unless it has a tilt; in the surface, at depth 0, it leaks from its lower side alone.
    """

    exactly_one = (
        ("centre", "outline"),
        ("size", "plate_diameter", "outline"),
    )

    kind: Literal["plate"]
    centre: f.Point | None = None
    """Centre, [x, y]."""
    size: tuple[f.Length, f.Length] | None = None
    """Sides of a rectangle: along its azimuth, which is level, and square to that."""
    plate_diameter: f.Length | None = None
    """Diameter of a disc."""
    outline: Corners | None = None
    """Corners in order of a level polygon whose sides do not cross, [x, y] each."""
    depth: f.Depth
    """Depth of its centre."""
    tilt: f.Angle = 0.0
    """Angle from level, up to 90 deg: upright. It slopes down to the left of its azimuth."""
    azimuth: f.Angle = 0.0
    """Direction of its level side, from the x axis towards the y axis."""

    @model_validator(mode="after")
    def _shape(self) -> Self:
        if not 0 <= self.tilt <= math.radians(90.0) + 1e-9:
            msg = f"tilt: {math.degrees(self.tilt):g} deg is not allowed: from 0 to 90 deg"
            raise CaseError(msg)
        if self.outline is not None:
            if self.tilt or self.azimuth:
                msg = "a polygon is level and lies as its corners say: leave out its angles"
                raise CaseError(msg)
            if fault := fault_of_outline(np.array(self.outline)):
                msg = f"outline: {fault}"
                raise CaseError(msg)
        return self


class TankBottom(Flat):
    """Round steel bottom of a tank that stands on the ground and leaks from below."""

    kind: Literal["tank bottom"]
    centre: f.Point
    """Centre, [x, y]."""
    tank_diameter: f.Length
    """Diameter of the bottom."""
    depth: f.Depth = 0.0
    """Depth of the bottom; below 0 it leaks from both sides."""


class SheetPile(Flat):
    """Upright sheet piling along a line, straight or bent."""

    kind: Literal["sheet pile"]
    points: Annotated[tuple[f.Point, ...], Field(min_length=2, max_length=_most_walls + 1)]
    """Places along the line that it stands on, [x, y] each."""
    top_depth: f.Depth
    """Depth of its upper edge."""
    length: f.Length
    """Height of the metal, from its upper edge down."""


class BoxPile(Flat):
    """Upright pile with a rectangular face on each side, closed at its tip."""

    kind: Literal["box pile"]
    at: f.Point
    """Place of its axis, [x, y]."""
    size: tuple[f.Length, f.Length]
    """Widths of its faces, the first along its azimuth."""
    top_depth: f.Depth
    """Depth of its head."""
    length: f.Length
    """Length from its head to its tip."""
    azimuth: f.Angle = 0.0
    """Direction of its first face, from the x axis towards the y axis."""
