"""The plan of a case: its drawing, its place on the earth, and outlines from both."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from pydantic import BaseModel, ValidationError

from ..solver.errors import CaseError
from ..solver.plan_place import PlanPlace, SitePlace
from .drawings.reading import ReadDrawing, read_drawing
from .drawings.schema import Drawing
from .outlines import NamedOutline, with_any_outline, with_outlines
from .reading.documents import Document
from .site.schema import GroundPicture, Site

if TYPE_CHECKING:  # these take time to load
    from .site.picture import PlacedPicture

_Kind = TypeVar("_Kind", bound=BaseModel)


@dataclass(frozen=True)
class Plan:
    """What a case takes from other plans.

    Attributes
    ----------
    document : Document
        The case, outlines that it names put in.
    drawing : ReadDrawing or None
    site : SitePlace or None
    picture : PlacedPicture or None
        Of the ground.
    tables : tuple of (str, str)
        Name and hash of each file that was read.
    """

    document: Document
    drawing: ReadDrawing | None = None
    site: SitePlace | None = None
    picture: "PlacedPicture | None" = None
    tables: tuple[tuple[str, str], ...] = ()


def plan_of(document: Document, *, folder: Path | None) -> Plan:
    """Plan of a case, which may name neither drawing nor site.

    Raises
    ------
    CaseError
        If a file cannot be read, a place cannot be, or an outline is not there.
    BudgetError
        If a file is larger than is read.
    """
    content = document.content if isinstance(document.content, dict) else {}
    try:
        given_drawing = _block(content.get("drawing"), Drawing)
        given_site = _block(content.get("site"), Site)
        given_picture = _block(content.get("ground_picture"), GroundPicture)
    except ValidationError:  # the case as a whole is validated next, which says what is wrong
        return Plan(with_any_outline(document))
    outlines: dict[str, NamedOutline] = {}
    tables: list[tuple[str, str]] = []
    drawing, site = None, None
    if given_drawing is not None:
        drawing, outlines = read_drawing(given_drawing, folder=folder, document=document)
        tables.append((drawing.drawing.file, drawing.drawing.sha256))
    if given_site is not None:
        from .site.features import map_outlines
        from .site.placing import site_place

        try:
            site = site_place(given_site)
        except CaseError as error:
            problem = document.problem(str(error), path=("site", "origin"))
            raise CaseError([problem]) from error
        if given_site.map is not None:
            more, files = map_outlines(
                given_site.map, site=site, folder=folder, document=document
            )
            outlines = outlines | more
            tables += files
    picture = None
    if given_picture is not None:
        from .site.picture import placed_picture

        known = {
            "case": PlanPlace((0.0, 0.0)),
            "site": None if site is None else site.place,
            "drawing": None if drawing is None else drawing.drawing.placed,
        }
        picture = placed_picture(
            given_picture,
            plan=known[given_picture.coordinates],
            folder=folder,
            document=document,
        )
        tables.append((picture.file, picture.sha256))
    filled = with_outlines(document, outlines=outlines)
    return Plan(filled, drawing, site, picture, tuple(tables))


def _block(content: object, kind: type[_Kind]) -> _Kind | None:
    return None if content is None else kind.model_validate(content)
