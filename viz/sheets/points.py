"""The sheet of touch and step readings: places, expected value per ampere, what agrees."""

from ...solver.earth_tests import METER, SHIFT, FieldSheets, TestPoint
from ...solver.wording import percent_text
from ..report.contents import Block, Bullets, Cell, Paragraph, Picture, Section
from ..wording import with_unit
from ..words.text import say
from .common import between, length, ohms, place, sheet, to_fill


def points_sheet(sheets: FieldSheets, plan: Picture) -> Section:
    """Where touch and step voltages are read, and which readings agree with the model."""
    how = Paragraph(
        say(
            "An earth tester, or another isolated, current-limited source, drives a current "
            "from '{}' to the current probe at {}; never the supply of the site. Read the "
            "voltage from the metal to a pin (or a wetted plate) where the foot would stand, "
            "or between two pins a stride apart, with a voltmeter of high resistance. Divide "
            "by the current: volts per ampere.",
            sheets.electrode,
            place(sheets.probe.place),
        )
    )
    bands = Paragraph(
        say(
            "A reading agrees with the model within the band: all soils held, feet {} off "
            "their place, and {} for the meter and the field. One below it often means metal "
            "that is not in the case, one above it a break or drier ground; either way the "
            "case is looked at again. No band says that a place is safe.",
            length(SHIFT),
            percent_text(METER + sheets.error),
        ),
        "note",
    )
    rows = [_row(one, sheets.error) for one in sheets.points]
    header = (
        "", "Between", "and", "Expected per A", "Agrees", "In the fault", "Current [A]",
        "Off / on [V]", "V per A [Ω]",
    )  # fmt: skip
    blocks: tuple[Block, ...] = (how, bands, plan, to_fill(header, rows), _minded)
    return sheet("touch-and-step", "Touch and step readings", *blocks)


_minded = Bullets(
    (
        "In the fault: prospective voltage of the case as it stands, to remote earth; a place "
        "without one was not among the worst.",
        "Read with the source off too, and with the current reversed: what stands there "
        "without it is taken off.",
        "Push pins in by a hand's breadth; on stone or asphalt use a wetted plate under load, "
        "and note it.",
    )
)


def _row(one: TestPoint, error: float) -> tuple[Cell, ...]:
    low, high = one.band(error)
    if one.other_foot is None:
        ends: tuple[Cell, Cell] = (
            one.metal,
            say("foot at {}, {}", place(one.foot), one.why),
        )
    else:
        ends = (
            say("foot at {}", place(one.foot)),
            say("foot at {}, {}", place(one.other_foot), one.why),
        )
    fault = "–" if one.prospective is None else with_unit(one.prospective, symbol="V")
    return (
        one.name, *ends, ohms(float(one.expected[0])), between(low, high, symbol="Ω"), fault,
        "", "", "",
    )  # fmt: skip
