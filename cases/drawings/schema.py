"""Which drawing a case takes metal and outlines from, and how it lies on the plan."""

from typing import Annotated

from pydantic import Field

from ...solver.plan_place import UNITS
from ..reading import fields as f
from ..reading.blocks import Block
from ..reading.naming import names_a
from ..reading.selecting import Selection
from ..reading.size_limits import MOST_DRAWN_OUTLINES
from .units import unit_name

_unit = Annotated[
    str, f.Reader(unit_name, {"type": "string", "enum": [unit.name for unit in UNITS]})
]


class DrawnOutline(Selection):
    """Closed line of the drawing: a fence, a building, a road, an edge of the site."""

    name: Annotated[f.Name, names_a("drawn outline")]
    """Your own name; wherever an outline is taken, `{drawn: name}` stands for it."""


class Drawing(Block):
    """Plan from a drawing program, beside the case file or in a folder below."""

    file: f.FileName
    """The drawing (DXF in text form, release 12 or later)."""
    unit: _unit
    """What one unit of the drawing is; has to be what the drawing itself says."""
    drawing_says: _unit | None = None
    """Unit that the drawing says, where it is wrong and `unit` is right."""
    origin: tuple[f.PlaneCoordinate, f.PlaneCoordinate] = (0.0, 0.0)
    """Place in the drawing that is [0, 0] of the case; the drawing's own when left out."""
    rotation: f.Angle = 0.0
    """Angle by which the drawing is turned about it, from x towards y."""
    join_within: f.Length = 1e-3
    """Ends of metal as near as this to other metal are joined with it, and each such join is
    listed; 1 mm when left out."""
    chord_error: f.Length = 1e-3
    """Most that a straight piece may be away from the arc it stands for; 1 mm when left out."""
    under_maps: bool = True
    """Whether lines of the drawing that are no metal are drawn in grey under the maps."""
    outlines: Annotated[tuple[DrawnOutline, ...], Field(max_length=MOST_DRAWN_OUTLINES)] = ()
    """Closed lines that the case may take by name."""
