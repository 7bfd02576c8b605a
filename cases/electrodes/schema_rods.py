"""Rods as the case file writes them: one, or several in a layout."""

import math
from typing import Annotated, Literal, Self

from pydantic import model_validator

from ...solver.errors import CaseError
from ..reading import fields as f
from ..reading.blocks import Block
from ..reading.naming import refers_to
from ..reading.size_limits import MOST_MESHES, MOST_PIECES
from .schema_metal import Metal

HostName = Annotated[f.Name, refers_to("host", what="part of this electrode to hang from")]


class Rod(Metal):
    """One straight rod, vertical or raked."""

    kind: Literal["rod"]
    at: f.Point
    """Place of its top, [x, y]."""
    top_depth: f.Depth
    """Depth of its top below the surface."""
    length: f.Length
    """Length along the rod."""
    tilt: f.Angle = 0.0
    """Angle from the vertical, below 90 deg."""
    azimuth: f.Angle | None = None
    """Direction in which a raked rod runs out, from the x axis towards the y axis."""

    @model_validator(mode="after")
    def _rake(self) -> Self:
        # A hair below 90 degrees, so that the rod has a lower end.
        if not 0 <= self.tilt < math.radians(89.9):
            msg = (
                f"tilt: {math.degrees(self.tilt):g} deg is not allowed: from 0 to below 90 deg"
            )
            raise CaseError(msg)
        if self.tilt and self.azimuth is None:
            msg = "a raked rod needs an azimuth: the direction in which it runs out"
            raise CaseError(msg)
        return self


class RodsOnLine(Block):
    """Equally spaced rods from one point to another, both included."""

    start: f.Point
    """First rod, [x, y]."""
    end: f.Point
    """Last rod, [x, y]."""
    count: Annotated[int, f.whole(least=2, most=MOST_PIECES)]
    """Number of rods."""


class RodsOnCircle(Block):
    """Equally spaced rods on a circle; three make an equilateral triangle."""

    centre: f.Point
    """Centre, [x, y]."""
    circle_radius: f.Length
    """Radius of the circle."""
    count: Annotated[int, f.whole(least=2, most=MOST_PIECES)]
    """Number of rods."""
    first_azimuth: f.Angle = 0.0
    """Direction of the first rod from the centre."""


class RodsOnRectangle(Block):
    """Rods round a rectangle, or filling it."""

    exactly_one = (("corner", "centre"),)

    corner: f.Point | None = None
    """Corner from which x and y run."""
    centre: f.Point | None = None
    """Centre, in place of the corner."""
    size: tuple[f.Length, f.Length]
    """Size along x and y."""
    per_side: tuple[
        Annotated[int, f.whole(least=2, most=MOST_PIECES)],
        Annotated[int, f.whole(least=2, most=MOST_PIECES)],
    ]
    """Rods along x and along y, corners included."""
    filled: bool = False
    """Whether rods stand inside as well as along the sides."""
    rotation: f.Angle = 0.0
    """Angle from the x axis to the x direction of the rectangle."""


class RodsAlong(Block):
    """Rods that hang from another part of the same electrode, along its outline or run."""

    exactly_one = (("count", "every"),)

    part: HostName
    """Name of the grid, ring, loop or conductor."""
    count: Annotated[int, f.whole(least=1, most=MOST_PIECES)] | None = None
    """Number of rods, equally spaced from the first corner."""
    every: Annotated[int, f.whole(least=1, most=MOST_PIECES)] | None = None
    """A rod at each n-th node: where conductors meet the outline, or corners of the run."""


class RodsAtNodes(Block):
    """Rods that hang from the nodes of a grid of the same electrode."""

    part: HostName
    """Name of the grid."""
    every: Annotated[int, f.whole(least=1, most=MOST_MESHES)] = 1
    """A rod at each n-th node in both directions, counted from the grid's corner."""


class Rods(Metal):
    """Several equal vertical rods."""

    exactly_one = (
        *Metal.exactly_one,
        ("points", "line", "circle", "rectangle", "along", "nodes"),
    )

    kind: Literal["rods"]
    length: f.Length
    """Length of each rod."""
    top_depth: f.Depth | None = None
    """Depth of the tops; rods that hang from a part take its depth."""
    points: f.Points | None = None
    """List of places, [x, y] each."""
    line: RodsOnLine | None = None
    """Rods along a line."""
    circle: RodsOnCircle | None = None
    """Rods on a circle."""
    rectangle: RodsOnRectangle | None = None
    """Rods round or over a rectangle."""
    along: RodsAlong | None = None
    """Rods hanging from the outline or run of another part."""
    nodes: RodsAtNodes | None = None
    """Rods hanging from the nodes of a grid."""

    @model_validator(mode="after")
    def _tops(self) -> Self:
        hanging = self.along is not None or self.nodes is not None
        if hanging and self.top_depth is not None:
            msg = "rods that hang from a part start at its depth: leave 'top_depth' out"
            raise CaseError(msg)
        if not hanging and self.top_depth is None:
            msg = "'top_depth' is missing: the depth of the tops of the rods"
            raise CaseError(msg)
        return self
