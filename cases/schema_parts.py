"""Parts of an electrode as the case file writes them: rods, conductors, rings, grids …"""

import math
from typing import Annotated, ClassVar, Literal, Self

from pydantic import Field, model_validator

from ..errors import CaseError
from . import fields as f
from .limits import MOST_MESHES, MOST_OUTLINE_POINTS, MOST_PIECES, MOST_POINTS
from .schema_base import Block

Outline = Annotated[tuple[f.Point, ...], Field(min_length=3, max_length=MOST_OUTLINE_POINTS)]
Points = Annotated[tuple[f.Point, ...], Field(min_length=1, max_length=MOST_POINTS)]
Vertices = Annotated[tuple[f.Vertex, ...], Field(max_length=MOST_POINTS)]


class Stranded(Block):
    """Stranded conductor: taken as a round one of the same metal area, or as wide as it is."""

    cross_section: f.Area
    """Area of the metal."""
    overall_diameter: f.Diameter | None = None
    """Diameter over the strands, if known; it replaces the diameter of equal area."""

    @model_validator(mode="after")
    def _fits(self) -> Self:
        solid = 2 * math.sqrt(self.cross_section / math.pi)
        if self.overall_diameter is not None and self.overall_diameter < solid:
            msg = (
                f"overall_diameter {self.overall_diameter:.4g} m is below the {solid:.4g} m of "
                "a solid wire of the same cross_section; check both"
            )
            raise CaseError(msg)
        return self


class Backfill(Block):
    """Soil, concrete or enhancing material filled in around the metal."""

    diameter: f.Diameter
    """Outer diameter of the fill."""
    resistivity: f.Resistivity
    """Resistivity of the fill."""


class Coating(Block):
    """Layer on the metal: paint, corrosion product, plastic."""

    thickness: f.Length
    """Thickness of the layer."""
    resistivity: f.Resistivity
    """Resistivity of the layer."""


class Metal(Block):
    """Size of the metal and what covers it; the same for the whole part."""

    exactly_one: ClassVar[tuple[tuple[str, ...], ...]] = (("diameter", "strip", "stranded"),)
    at_most_one: ClassVar[tuple[tuple[str, ...], ...]] = (("backfill", "coating"),)

    name: f.Name | None = None
    """Your own name of the part; without it, its kind and a number."""
    diameter: f.Diameter | None = None
    """Diameter of round metal; a wire gauge is accepted."""
    strip: tuple[f.Diameter, f.Diameter] | None = None
    """Width and thickness of a strip; it acts as round metal as wide as their mean."""
    stranded: Stranded | None = None
    """Stranded conductor."""
    contact_resistivity: f.FilmResistivity = 0.0
    """Resistance of the film between metal and soil, times its area; 0 without it."""
    backfill: Backfill | None = None
    """Fill around the metal."""
    coating: Coating | None = None
    """Coating on the metal."""

    @property
    def radius(self) -> float | None:
        """Equivalent radius of the metal; None where a table gives it. [m]

        A strip acts as round metal of radius (w + t)/4, a conformal map (from memory).
        """
        if self.stranded is not None:
            wide = self.stranded.overall_diameter
            area = self.stranded.cross_section
            return math.sqrt(area / math.pi) if wide is None else wide / 2
        if self.strip is not None:
            return sum(self.strip) / 4
        return None if self.diameter is None else self.diameter / 2

    @property
    def sheath(self) -> tuple[str, float, float] | None:
        """What covers the metal: its key, outer diameter or thickness, resistivity. [m, Ω·m]"""
        if self.backfill is not None:
            return "backfill", self.backfill.diameter, self.backfill.resistivity
        if self.coating is not None:
            return "coating", self.coating.thickness, self.coating.resistivity
        return None

    @model_validator(mode="after")
    def _fill_holds_the_metal(self) -> Self:
        widest = max(self.strip or (0.0,), default=0.0)
        if self.radius is not None:
            widest = max(widest, 2 * self.radius)
        if self.backfill is not None and self.backfill.diameter <= widest:
            msg = (
                f"backfill: diameter {self.backfill.diameter:g} m does not hold the metal, "
                f"{widest:g} m wide; it must be wider"
            )
            raise CaseError(msg)
        return self


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


class _Run(Metal):
    points: Annotated[Vertices, Field(min_length=2)]
    """Its corners: [x, y, depth] each, or [x, y] each and one depth for all."""
    depth: f.Depth | None = None
    """Depth of all corners."""

    @model_validator(mode="after")
    def _one_depth_each(self) -> Self:
        sizes = {len(point) for point in self.points}
        if sizes != {2 if self.depth is not None else 3}:
            msg = "give each point as [x, y, depth], or all as [x, y] with one 'depth' beside"
            raise CaseError(msg)
        return self


class Conductor(_Run):
    """Straight or bent horizontal or sloping conductor."""

    kind: Literal["conductor"]


class Loop(_Run):
    """Closed polygon of conductor; the last corner joins the first."""

    kind: Literal["loop"]
    points: Annotated[Vertices, Field(min_length=3)]
    """Its corners: [x, y, depth] each, or [x, y] each and one depth for all."""


class Ring(Metal):
    """Circular conductor, built as a regular polygon of the same perimeter."""

    exactly_one: ClassVar[tuple[tuple[str, ...], ...]] = (
        *Metal.exactly_one,
        ("ring_radius", "ring_diameter"),
    )

    kind: Literal["ring"]
    centre: f.Point
    """Centre, [x, y]."""
    ring_radius: f.Length | None = None
    """Radius of the ring itself."""
    ring_diameter: f.Length | None = None
    """Diameter of the ring itself."""
    depth: f.Depth
    """Depth of the ring."""
    pieces: Annotated[int, f.whole(least=36, most=720)] = 48
    """Sides of the polygon; with 48 its area is 0.14 % below the circle's."""


class Spacings(Block):
    """Listed spacings of the conductors of a grid."""

    x: Annotated[tuple[f.Length, ...], Field(min_length=1, max_length=MOST_MESHES)]
    """Widths of the meshes along x; together the size of the grid along x."""
    y: Annotated[tuple[f.Length, ...], Field(min_length=1, max_length=MOST_MESHES)]
    """Widths of the meshes along y; together the size of the grid along y."""


class Grid(Metal):
    """Conductors in two directions inside an outline, and along the outline itself."""

    exactly_one: ClassVar[tuple[tuple[str, ...], ...]] = (
        *Metal.exactly_one,
        ("corner", "centre", "outline"),
        ("meshes", "spacings"),
    )

    kind: Literal["grid"]
    corner: f.Point | None = None
    """Corner of the rectangle from which x and y of the grid run."""
    centre: f.Point | None = None
    """Centre of the rectangle, in place of its corner."""
    size: tuple[f.Length, f.Length] | None = None
    """Size of the rectangle along its x and y."""
    outline: Outline | None = None
    """Corners of any simple polygon in order, in place of a rectangle."""
    rotation: f.Angle = 0.0
    """Angle from the x axis to the x direction of the grid, about its corner or centre."""
    depth: f.Depth
    """Depth of the grid."""
    meshes: (
        tuple[
            Annotated[int, f.whole(least=1, most=MOST_MESHES)],
            Annotated[int, f.whole(least=1, most=MOST_MESHES)],
        ]
        | None
    ) = None
    """Number of meshes along x and y."""
    compression: Annotated[float, f.ratio(least=0.2, most=1.0)] = 1.0
    """Each mesh over its inner neighbour in width, from the middle outwards; 1: all equal."""
    spacings: Spacings | None = None
    """Listed widths of the meshes, in place of their number."""

    @model_validator(mode="after")
    def _shape(self) -> Self:
        if (self.size is None) != (self.outline is not None):
            msg = "a rectangle needs 'size' beside its corner or centre; an outline has none"
            raise CaseError(msg)
        if self.spacings is not None and self.compression != 1.0:
            msg = "compression goes with 'meshes', not with listed spacings"
            raise CaseError(msg)
        return self


class Star(Metal):
    """Straight arms from one centre at equal angles."""

    kind: Literal["star"]
    centre: f.Point
    """Centre, [x, y]."""
    arms: Annotated[int, f.whole(least=2, most=72)]
    """Number of arms."""
    arm_length: f.Length
    """Length of each arm."""
    depth: f.Depth
    """Depth of the arms."""
    first_azimuth: f.Angle = 0.0
    """Direction of the first arm, from the x axis towards the y axis."""


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

    exactly_one: ClassVar[tuple[tuple[str, ...], ...]] = (("corner", "centre"),)

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

    exactly_one: ClassVar[tuple[tuple[str, ...], ...]] = (("count", "every"),)

    part: f.Name
    """Name of the grid, ring, loop or conductor."""
    count: Annotated[int, f.whole(least=1, most=MOST_PIECES)] | None = None
    """Number of rods, equally spaced from the first corner."""
    every: Annotated[int, f.whole(least=1, most=MOST_PIECES)] | None = None
    """A rod at each n-th node: where conductors meet the outline, or corners of the run."""


class RodsAtNodes(Block):
    """Rods that hang from the nodes of a grid of the same electrode."""

    part: f.Name
    """Name of the grid."""
    every: Annotated[int, f.whole(least=1, most=MOST_MESHES)] = 1
    """A rod at each n-th node in both directions, counted from the grid's corner."""


class Rods(Metal):
    """Several equal vertical rods."""

    exactly_one: ClassVar[tuple[tuple[str, ...], ...]] = (
        *Metal.exactly_one,
        ("points", "line", "circle", "rectangle", "along", "nodes"),
    )

    kind: Literal["rods"]
    length: f.Length
    """Length of each rod."""
    top_depth: f.Depth | None = None
    """Depth of the tops; rods that hang from a part take its depth."""
    points: Points | None = None
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


class _Table(Metal):
    # Without a size here, the table has a column for it.
    exactly_one: ClassVar[tuple[tuple[str, ...], ...]] = ()
    at_most_one: ClassVar[tuple[tuple[str, ...], ...]] = (
        *Metal.exactly_one,
        *Metal.at_most_one,
    )

    file: Annotated[str, Field(min_length=1, max_length=200)]
    """Comma-separated table beside the case file or in a folder below it."""


class RodTable(_Table):
    """Rods from a table with columns x, y, top_depth, length, diameter, [tilt, azimuth].

    Each heading names its unit, as in ``top_depth [ft]``.
    """

    kind: Literal["rod table"]


class ConductorTable(_Table):
    """Conductors from a table with columns x1, y1, depth1, x2, y2, depth2, diameter.

    Each heading names its unit, as in ``depth1 [m]``.
    """

    kind: Literal["conductor table"]


Part = Annotated[
    Rod | Conductor | Ring | Loop | Grid | Star | Rods | RodTable | ConductorTable,
    Field(discriminator="kind"),
]
