"""Where on the earth the plan of a case lies, and which map outlines are taken from."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from ...solver.errors import CaseError
from ..reading import fields as f
from ..reading.blocks import Block
from ..reading.naming import names_a
from ..reading.size_limits import MOST_DRAWN_OUTLINES

Word = Annotated[str, f.words(most=100)]


class MapOutline(Block):
    """Closed line of a map: a fence, a building, a pad, an edge of the site."""

    name: Annotated[f.Name, names_a("drawn outline")]
    """Your own name; wherever an outline is taken, `{drawn: name}` stands for it."""
    key: Word
    """Property by which it is found in the map."""
    value: Word
    """Value of that property; one feature has to have it."""


class Map(Block):
    """Map beside the case file or in a folder below."""

    file: f.FileName
    """The map: GeoJSON in longitude and latitude, or a GeoPackage (.gpkg) or shapefile (.shp,
    with .dbf and .prj beside it) in the coordinate system that it says."""
    layer: Word | None = None
    """Layer of a GeoPackage; left out, the only one."""
    outlines: Annotated[
        tuple[MapOutline, ...], Field(min_length=1, max_length=MOST_DRAWN_OUTLINES)
    ]
    """Lines and areas that the case may take by name."""


class Site(Block):
    """Where on the earth the plan of the case lies; true north follows from it."""

    epsg: Annotated[int, f.whole(least=1024, most=32_767_999)]
    """Code of the projected coordinate system, as 25832 (ETRS89 / UTM zone 32N)."""
    origin: tuple[f.PlaneCoordinate, f.PlaneCoordinate]
    """Easting and northing of [0, 0] of the case."""
    rotation: f.Angle = 0.0
    """Angle from grid east to the x axis of the case, towards its y axis; none when left out.
    Lengths of the case are taken as those of the grid."""
    map: Map | None = None
    """Map that outlines are taken from."""

    @model_validator(mode="after")
    def _exists(self) -> Self:
        from .placing import require_projected  # takes time to load

        if message := require_projected(self.epsg):
            raise CaseError(message)
        return self


class GroundPicture(Block):
    """Aerial picture or scanned plan with a world file, in grey under the maps."""

    file: f.FileName
    """The picture (PNG, JPEG or TIFF; of several in a file the first), at most 60 million
    pixels."""
    world_file: f.FileName | None = None
    """Six numbers that place it (.pgw, .jgw, .tfw, .wld); left out, the file beside it that is
    called like it."""
    coordinates: Literal["site", "drawing", "case"]
    """Which coordinates the world file is in: those of the `site` in the unit of its system,
    those of the `drawing` in its unit, or those of the case in metres."""
