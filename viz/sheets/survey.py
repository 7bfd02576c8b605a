"""The sheet of a soil survey: spacings for the electrode at hand, and what to note."""

import math

from ...solver.earth_tests import FieldSheets
from ..report.contents import Bullets, Paragraph, Section
from ..wording import length_unit, significant
from ..words.text import in_units, say
from .common import length, sheet, to_fill

_deepest = 1 / 20  # of the spacing: pins no deeper than that are points


def survey_sheet(sheets: FieldSheets) -> Section:
    """Plan of a four-pin survey with room for two traverses."""
    longest = sheets.spacings[-1]
    plan = Paragraph(
        say(
            "Four pins in a line, evenly spaced (Wenner): current through the outer two, "
            "voltage between the inner two. The electrode is {} across its largest dimension; "
            "spacings go beyond it, to {}, since a survey sees about as deep as its longest "
            "spacing. All pins stay round the same middle; the longest line is {} long.",
            length(sheets.extent),
            length(longest),
            length(3 * longest),
        )
    )
    notes = Bullets(
        (
            "Two traverses at a right angle: one along the longest side of the electrode, one "
            "across. Note direction, middle (or a mark on the plan), slope, and what ground "
            "it is.",
            "Keep off buried metal: pipes, cable sheaths and fences within a spacing of the "
            "line make readings too low. Where that cannot be, cross it at a right angle and "
            "note it.",
            "Drive pins no deeper than a twentieth of the spacing. Water the ground round a "
            "pin where the tester complains, and note it; do not salt it.",
            "Read every spacing twice with the current reversed, or at two frequencies. "
            "Readings that fall off the curve are read again before the pins are moved.",
            "Note the depth to which the ground is dry or frozen, rain of the last week, and "
            "the season: layers are those of the day.",
        )
    )
    rows = []
    for number, spacing in enumerate(sheets.spacings, start=1):
        factor = significant(2 * math.pi * spacing)
        pins = say("{} and {}", length(0.5 * spacing), length(1.5 * spacing))
        deepest = in_units(
            lambda units, a=spacing: _depth(_deepest * a, units)  # type: ignore[misc]
        )
        rows.append((str(number), length(spacing), pins, deepest, factor, "", "", ""))
    header = (
        "No.", "Spacing a", "Pins from the middle, each side", "Depth at most", "2πa [m]",
        "Traverse 1, R [Ω]", "Traverse 2, R [Ω]", "Note",
    )  # fmt: skip
    return sheet("survey", "Soil survey", plan, to_fill(header, rows), notes, _after)


_after = Paragraph(
    "Apparent resistivity is 2πa times R, in Ω·m. Write R into survey.csv and fit layers with "
    "'ohmscape soil survey.csv'; the case takes the same table as soil.survey.",
    "note",
)


def _depth(depth: float, units: str) -> str:
    unit = length_unit(units)
    return f"{significant(depth * unit.factor, figures=2)} {unit.symbol}"
