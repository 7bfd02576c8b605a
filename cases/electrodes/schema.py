"""Parts of an electrode as the case file writes them: conductors, grids … and tables"""

from typing import Annotated, ClassVar, Literal, Self

from pydantic import Field, model_validator

from ...solver.errors import CaseError
from ..reading import fields as f
from ..reading.blocks import Block
from ..reading.selecting import Selection
from ..reading.size_limits import MOST_MESHES, MOST_OUTLINE_POINTS, MOST_POINTS
from .schema_fences import Fence, Rails
from .schema_metal import Metal
from .schema_plates import BoxPile, Plate, SheetPile, TankBottom
from .schema_rods import Rod, Rods

Outline = Annotated[
    tuple[f.Point, ...], Field(min_length=3, max_length=MOST_OUTLINE_POINTS), f.or_drawn
]
Vertices = Annotated[tuple[f.Vertex, ...], Field(max_length=MOST_POINTS)]


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

    exactly_one = (
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


class Area(Metal):
    """Part that fills a rectangle, or any outline, with metal in two directions."""

    exactly_one: ClassVar[tuple[tuple[str, ...], ...]] = (
        *Metal.exactly_one,
        ("corner", "centre", "outline"),
    )

    corner: f.Point | None = None
    """Corner of the rectangle from which its x and y run."""
    centre: f.Point | None = None
    """Centre of the rectangle, in place of its corner."""
    size: tuple[f.Length, f.Length] | None = None
    """Size of the rectangle along its x and y."""
    outline: Outline | None = None
    """Corners of any simple polygon in order, in place of a rectangle."""
    rotation: f.Angle = 0.0
    """Angle from the x axis to the x direction of the part, about its corner or centre."""

    @model_validator(mode="after")
    def _rectangle(self) -> Self:
        if (self.size is None) != (self.outline is not None):
            msg = "a rectangle needs 'size' beside its corner or centre; an outline has none"
            raise CaseError(msg)
        return self


class Grid(Area):
    """Conductors in two directions inside an outline, and along the outline itself."""

    exactly_one = (*Area.exactly_one, ("meshes", "spacings"))

    kind: Literal["grid"]
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
        if self.spacings is not None and self.compression != 1.0:
            msg = "compression goes with 'meshes', not with listed spacings"
            raise CaseError(msg)
        return self


class Mat(Area):
    """Reinforcement: bars at even spacing both ways, in one level or two.

    Bars stand about the middle of the area, as many as find room; where they go beyond an
    outline they are cut, and ends below half a spacing are left out.
    """

    kind: Literal["mat"]
    spacing: f.Length
    """Distance between bars, both ways."""
    depths: Annotated[tuple[f.Depth, ...], Field(min_length=1, max_length=2)]
    """Depth of its level, or of its two."""
    tie_every: Annotated[int, f.whole(least=1, most=MOST_MESHES)] | None = None
    """Upright bars join the two levels at every so many-th crossing, both ways."""

    @model_validator(mode="after")
    def _levels(self) -> Self:
        if len(set(self.depths)) < len(self.depths):
            msg = f"both levels are {self.depths[0]:g} m deep; give two depths, or one level"
            raise CaseError(msg)
        if self.tie_every is not None and len(self.depths) < 2:
            msg = "'tie_every' joins two levels; give two depths, or leave it out"
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


class _Table(Metal):
    # Without a size here, the table has a column for it.
    exactly_one = ()
    at_most_one = (
        *Metal.exactly_one,
        *Metal.at_most_one,
    )

    file: f.FileName
    """Table (CSV or workbook) beside the case file or in a folder below."""
    sheet: f.Name | None = None
    """Sheet of a workbook; left out, the only one that holds something."""


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


class DrawnConductors(Metal, Selection):
    """Conductors that are lines of the drawing of the case (`drawing`)."""

    kind: Literal["drawn conductors"]
    depth: f.Depth | None = None
    """Depth of all of them; left out, the heights of the drawing are taken, 0 the surface."""


class DrawnRods(Metal, Selection):
    """Vertical rods where the drawing of the case has blocks, points or circles."""

    kind: Literal["drawn rods"]
    length: f.Length
    """Length of each rod."""
    top_depth: f.Depth | None = None
    """Depth of their tops; left out, the heights of the drawing are taken, 0 the surface."""


Part = Annotated[
    Rod
    | Conductor
    | Ring
    | Loop
    | Grid
    | Mat
    | Star
    | Rods
    | Fence
    | Rails
    | Plate
    | TankBottom
    | SheetPile
    | BoxPile
    | RodTable
    | ConductorTable
    | DrawnConductors
    | DrawnRods,
    Field(discriminator="kind"),
]
