"""The drawing of a case, read where the case names one; without one nothing is loaded."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from pydantic import ValidationError

from ...solver.errors import CaseError
from ..drawn_plan import DrawnPlan
from ..electrodes.parts import Drawn
from ..electrodes.schema import DrawnConductors, DrawnRods
from ..reading.documents import Document
from . import schema
from .outlines import refuse_without_drawing, with_any_outline, with_outlines

if TYPE_CHECKING:  # the library for drawings takes a third of a second to load
    from .drawing import Drawing
    from .entities import Entity
    from .metal import DrawnPart


@dataclass(frozen=True)
class ReadDrawing:
    """A drawing that was read, with the outlines that the case took from it."""

    drawing: "Drawing"
    outlines: tuple[tuple[str, "Entity"], ...] = field(default=())

    def parts(
        self, parts: Sequence[tuple[int, DrawnConductors | DrawnRods]]
    ) -> "Sequence[DrawnPart | CaseError]":
        """Metal of drawn parts of electrodes, as `drawn_parts` gives it."""
        from .metal import drawn_parts

        return drawn_parts(self.drawing, parts=parts)

    def plan(self, metal: Sequence[tuple[str, Drawn]]) -> DrawnPlan:
        """What became of it, parts by their names."""
        from .entities import amounts
        from .metal import DrawnPart

        parts = [(name, part) for name, part in metal if isinstance(part, DrawnPart)]
        taken = [(name, part.taken) for name, part in parts]
        taken += [(name, (entity,)) for name, entity in self.outlines]
        every = [entity for _, entities in taken for entity in entities]
        contents = self.drawing.contents
        told = dict.fromkeys(
            [*(line for _, part in parts for line in part.told), *contents.oddities]
        )
        return DrawnPlan(
            file=self.drawing.file,
            sha256=self.drawing.sha256,
            unit=self.drawing.unit,
            placed=self.drawing.placed,
            size=self.drawing.size,
            taken=tuple(
                (name, "; ".join(f"{what} on {layer!r}" for layer, what in amounts(of)))
                for name, of in taken
            ),
            remarks=tuple(told),
            untaken=tuple(self.drawing.untaken(every)),
            hidden=contents.hidden,
        )


def with_drawing(
    document: Document, *, folder: Path | None
) -> tuple[Document, ReadDrawing | None]:
    """The document with the outlines of its drawing, and the drawing; None without one.

    Raises
    ------
    CaseError
        If its file cannot be read, or an outline is not there.
    BudgetError
        If the drawing is larger than is read.
    """
    content = document.content
    if not isinstance(content, dict) or "drawing" not in content:
        refuse_without_drawing(document)
        return document, None
    try:
        given = schema.Drawing.model_validate(content["drawing"])
    except ValidationError:  # the case as a whole is validated next, which says what is wrong
        return with_any_outline(document), None
    from .drawing import drawing_of

    drawing = drawing_of(given, folder=folder, document=document)
    filled, entities = with_outlines(document, given=given, drawing=drawing)
    names = [outline.name for outline in given.outlines]
    return filled, ReadDrawing(drawing, tuple(zip(names, entities, strict=True)))
