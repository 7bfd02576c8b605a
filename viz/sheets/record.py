"""The sheet of the years: the same readings in every year, each beside what was expected."""

from ...solver.earth_tests import FieldSheets
from ..report.contents import Bullets, Cell, Paragraph, Section
from ..words.text import say
from .common import between, length, ohms, place, sheet, to_fill

_years = 10
_most_points = 4


def record_sheet(sheets: FieldSheets) -> Section:
    """Record over the years of one place of the probe and some test points."""
    name, chosen = next((key, one) for key, one in sheets.named_places if one is sheets.chosen)
    same = Paragraph(
        say(
            "Every year the same: current probe at {}, potential probe at {} ({}, {} from {}), "
            "the same paths lifted, in the same season if that can be, and once in the worst "
            "one.",
            place(sheets.probe.place),
            name,
            "in line" if chosen.leads.in_line else "across",
            length(chosen.distance),
            place(chosen.leads.start),
        )
    )
    points = sheets.points[:_most_points]
    header: tuple[Cell, ...] = (
        "Date", "Ground", f"{name} read [Ω]", "corrected [Ω]",
        *(f"{one.name} [Ω]" for one in points), "Joints and leads seen", "By",
    )  # fmt: skip
    bands = (between(*one.band(sheets.error)) for one in points)
    factors = between(float(chosen.factor.min()), float(chosen.factor.max()))
    expected = (
        "expected", "as in the case", ohms(float(chosen.reading[0])),
        f"× {factors}: {between(float(chosen.true.min()), float(chosen.true.max()))}",
        *bands, "", "",
    )  # fmt: skip
    blank = [("",) * len(header)] * _years
    return sheet(
        "record", "Record of the years", same, to_fill(header, [expected, *blank]), _why
    )


_why = Bullets(
    (
        "A resistance that rises from year to year in the same season often means metal that "
        "corrodes or a joint that opens, one that jumps a break; drier ground does it too. "
        "Look at the joints, with the supply switched off, before the soil is blamed.",
        "A resistance that stays says little about touch voltages: read the test points too.",
        "Each year's readings go into the tables beside this sheet under their own date, and "
        "'ohmscape compare' sets them beside the model.",
    )
)
