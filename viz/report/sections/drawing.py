"""The drawing of a report: what of it became metal or outline, and what did not."""

from collections.abc import Sequence

from ....solver.results.result import Result
from ...drawn_words import PICTURE, drawn_title, first_of_each
from ..contents import Paragraph, Section, Table

_most = 60  # rows of one kind: some pages of paper


def drawing_section(results: Sequence[Result]) -> Section | None:
    """What was taken from drawing and picture of the ground; None where there are none."""
    if not results[0].drawn:
        return None
    rows = tuple(first_of_each(results[0].drawn, most=_most))
    said = (
        "What is joined here is taken as joined metal: see on site that it is. What is not "
        "drawn, or not taken, is not in the model."
    )
    if {kind for kind, _ in rows} == {PICTURE}:
        said = "It lies under the maps, and nothing in the model is taken from it."
    note = Paragraph(said, "note")
    return Section("drawing", drawn_title(rows), (note, Table(("What", "Of it"), rows)))
