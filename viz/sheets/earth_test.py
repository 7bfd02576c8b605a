"""The sheet of a fall-of-potential test under the cable at hand: places, errors, factors."""

from ...solver.earth_tests import FieldSheets, ProbePlace, slack
from ...solver.results.result import Result
from ...solver.wording import percent_text
from ..report.contents import Block, Bullets, Cell, Paragraph, Picture, Section, Table
from ..words.text import say
from .common import between, direction, length, ohms, place, sheet, to_fill


def earth_test_sheet(sheets: FieldSheets, result: Result, plan: Picture) -> Section:
    """Where probes go under the cable at hand, what is read there, and what makes it true."""
    leads = sheets.leads
    setup = Paragraph(
        say(
            "'{}' with what stays bonded to it. Paths to other earths are lifted only by those "
            "licensed to, with the supply off and locked; else they stay and are noted. "
            "Leads begin at {}. Current probe {} away ({}), {} deep, at {}; "
            "potential lead in line with it or at a right angle, to the left.",
            sheets.electrode,
            place(leads.start),
            length(leads.distance),
            direction(leads.azimuth, result.north),
            length(sheets.probe.depth),
            place(sheets.probe.place),
        )
    )
    name = next(key for key, one in sheets.named_places if one is sheets.chosen)
    factor = between(sheets.chosen.factor.min(), sheets.chosen.factor.max())
    advice = say(
        "Least in doubt: {}, its reading times {} (within {}: {}, and a probe {} off its "
        "place). The place depends on the model of the soil: read all places, and "
        "trust none if they disagree with what is expected by more than their ranges.",
        name,
        factor,
        percent_text(sheets.chosen.doubt, decimals=1),
        "the soils held, a tenth of the correction"
        if len(sheets.conditions) > 1
        else "all that it corrects",
        length(slack),
    )
    blocks: list[Block] = [setup, Paragraph(advice, "note"), plan, _readings(sheets)]
    if len(sheets.conditions) == 1:
        blocks.append(Paragraph(_one_soil, "warning"))
    else:
        blocks.append(_true(sheets))
    minded = (*sheets.findings, *_minded)
    return sheet("fall-of-potential", "Fall-of-potential test", *blocks, Bullets(minded))


_one_soil = (
    "The case has one soil only, so factors have no range here: they are right only if it is. "
    "Give the case a survey with equivalents, or variants of the soil, and make this sheet "
    "again."
)
_minded = (
    "Keep the two leads apart by a stride or more where they run side by side. Read with the "
    "potential probe a step nearer in and farther out as well: an unsteady reading is noted.",
    "Read the current too. A reading below the least current of the tester says nothing.",
)


def _readings(sheets: FieldSheets) -> Table:
    rows = [_row(name, one) for name, one in sheets.named_places]
    header = (
        "", "Potential lead", "At", "What it is", "Expected", "Off by", "× to be true",
        "Read [Ω]", "Current [mA]", "Corrected [Ω]",
    )  # fmt: skip
    return to_fill(header, rows)


def _row(name: str, one: ProbePlace) -> tuple[Cell, ...]:
    return (
        name,
        "in line" if one.leads.in_line else "across",
        length(one.distance),
        one.why,
        ohms(float(one.reading[0])),
        percent_text(float(one.error[0]), decimals=1, signed=True).replace(" ", "\u00a0"),
        between(float(one.factor.min()), float(one.factor.max())),
        "",
        "",
        "",
    )


def _true(sheets: FieldSheets) -> Paragraph:
    """What the electrode has in each soil held: the ranges above are between them."""
    true = zip(sheets.conditions, sheets.chosen.true.tolist(), strict=True)
    held = "; ".join(f"{name} {ohms(value)}" for name, value in true)
    return Paragraph(
        f"True resistance in the soils held: {held}. Field by {sheets.method}, estimated error "
        f"{percent_text(sheets.error)}."
    )
