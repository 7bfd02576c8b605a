"""What to look at and how finely to compute: study and numerics of a case file."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from ...solver.errors import CaseError
from ..reading import fields as f
from ..reading.blocks import Block
from ..reading.naming import ElectrodeName, names_a
from ..reading.size_limits import MOST_ELEMENTS, MOST_POINTS


class Area(Block):
    """Rectangle that is mapped: given by corner and size, or round the electrodes."""

    exactly_one = (("corner", "margin"),)

    corner: f.Point | None = None
    """Corner with the smallest x and y."""
    size: tuple[f.Length, f.Length] | None = None
    """Size along x and y."""
    margin: f.Length | None = None
    """Width of the strip of soil round the electrodes, in place of corner and size."""
    spacing: f.Length | None = None
    """Distance between the points of the map; chosen to suit when left out."""

    @model_validator(mode="after")
    def _whole(self) -> Self:
        if (self.corner is None) != (self.size is None):
            msg = "'corner' and 'size' go together; with 'margin' leave both out"
            raise CaseError(msg)
        return self


class Profile(Block):
    """Straight line along which the potential is drawn."""

    name: Annotated[f.Name, names_a("profile")]
    """Your own name of the line."""
    start: f.Point
    """Where it starts, [x, y]."""
    end: f.Point
    """Where it ends, [x, y]."""
    depth: f.Depth = 0.0
    """Depth of the line; 0 is the surface."""
    spacing: f.Length | None = None
    """Distance between its points; chosen to suit when left out."""

    @model_validator(mode="after")
    def _has_length(self) -> Self:
        if self.start == self.end:
            msg = "start and end are the same point; a line needs two"
            raise CaseError(msg)
        return self


_Outline = Annotated[
    tuple[f.Point, ...],
    Field(min_length=3, max_length=MOST_POINTS),
    f.simple_outline,
    f.or_drawn,
]
_Run = Annotated[tuple[f.Point, ...], Field(min_length=2, max_length=MOST_POINTS), f.or_drawn]


class Touch(Block):
    """Metal a person can touch, and where it stands."""

    exactly_one = (("polygon", "body", "line", "points", "footprint"),)

    name: Annotated[f.Name, names_a("touchable metal")]
    """Your own name of the metal: a cabinet, a fence, a tap."""
    electrode: ElectrodeName
    """Electrode whose potential the metal has."""
    polygon: _Outline | None = None
    """Outline of an area in which metal can be touched anywhere."""
    body: _Outline | None = None
    """Outline of a solid thing such as a cabinet: people stand outside and touch its sides."""
    line: _Run | None = None
    """Corners of a run of metal such as a fence."""
    points: f.Points | None = None
    """Single places such as posts."""
    footprint: Literal[True] | None = None
    """The area covered by the electrode itself, seen from above; of a fence alone its line."""


class Study(Block):
    """Where to look for danger."""

    area: Area | None = None
    """Rectangle that is mapped; left out: the electrodes and a strip round them."""
    profiles: Annotated[tuple[Profile, ...], Field(max_length=100)] = ()
    """Lines along which the potential is drawn."""
    pace: f.Length = 1.0
    """Distance between the feet for step voltage, 1 m when left out."""
    reach: f.Length = 1.0
    """Distance over which a person reaches metal, 1 m when left out."""
    touch: Annotated[tuple[Touch, ...], Field(min_length=1, max_length=200)] | None = None
    """Metal that can be touched; left out: the footprint of each driven electrode."""
    soil_shares: bool = False
    """Whether to work out which layers and bodies the resistance comes from, and draw where."""


class Numerics(Block):
    """How finely to compute; leave it out unless you have a reason."""

    at_most_one = (("fineness", "element_size"),)

    accuracy: Literal["coarse", "normal", "fine"] = "normal"
    """Preset of the mesh and its checks."""
    tolerance: Annotated[float, f.ratio(least=1e-3, most=0.1)] | None = None
    """Largest estimated error of the worst touch and step voltages, as a share of the rise;
    resistances are held to half of it. The mesh is refined until it is met. Left out, it is
    0.03, 0.01 or 0.005 for coarse, normal or fine. Below 0.001 taking metal as thin wires is
    not good enough."""
    order: Annotated[int, f.whole(least=1, most=2)] = 2
    """Polynomial order of the elements."""
    fineness: Annotated[float, f.ratio(least=0.2, most=5.0)] | None = None
    """Divides the element sizes of the preset: 2 halves them."""
    element_size: f.Length | None = None
    """Element size at the metal, in place of the preset's."""
    element_limit: Annotated[int, f.whole(least=1_000, most=MOST_ELEMENTS)] | None = None
    """Largest number of elements; refused before meshing when the case needs more."""
    second_opinion: Literal["auto", "always", "never"] = "auto"
    """Thin conductors without a mesh beside the result; auto makes one where it is quick."""
