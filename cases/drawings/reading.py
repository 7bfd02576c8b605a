"""The drawing of a case, read where the case names one; till then its library is not loaded."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from ...solver.errors import CaseError
from ...solver.model import Floats
from ..drawn_plan import DrawnPlan, Remark
from ..electrodes.parts import Drawn
from ..electrodes.schema import DrawnConductors, DrawnRods
from ..outlines import NamedOutline
from ..reading.documents import Document
from ..reading.size_limits import MOST_UNDERLAID
from . import schema

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
        under = self._under_maps([one for _, part in parts for one in part.taken])
        if len(under) > MOST_UNDERLAID:
            words = f"{len(under):,} pieces of other lines are too many to lie under the maps"
            told[Remark("left out", words)] = None
            under = under[:0]
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
            untaken=tuple(amounts(self.drawing.rest(every))),
            hidden=contents.hidden,
            under_maps=under,
        )

    def _under_maps(self, metal: Sequence["Entity"]) -> Floats:
        """Straight pieces of lines that are seen and are no metal, shape (n, 2, 2). [m]"""
        found = [np.zeros((0, 2, 2))]
        if self.drawing.under_maps:
            hidden = set(self.drawing.contents.hidden)
            for one in self.drawing.rest(metal):
                if one.is_line and one.layer not in hidden:
                    corners = one.run[:, :2]
                    found.append(np.stack([corners[:-1], corners[1:]], axis=1))
        return np.concatenate(found)


def read_drawing(
    given: schema.Drawing, *, folder: Path | None, document: Document
) -> tuple[ReadDrawing, dict[str, NamedOutline]]:
    """The drawing of a case, and the outlines that the case names in it.

    Raises
    ------
    CaseError
        If its file cannot be read, or an outline is not there.
    BudgetError
        If the drawing is larger than is read.
    """
    from .drawing import drawing_of
    from .outlines import drawn_outlines

    drawing = drawing_of(given, folder=folder, document=document)
    found = drawn_outlines(given, drawing=drawing, document=document)
    read = ReadDrawing(drawing, tuple((name, entity) for name, (_, entity) in found.items()))
    return read, {name: outline for name, (outline, _) in found.items()}
