"""A person at the worst places of a report: solved feet beside the formula, and the current."""

from collections.abc import Sequence

from ....solver.limits import FOOT_RADIUS
from ....solver.results.result import Result
from ....solver.verdict import PersonThere
from ....solver.wording import percent_text
from ...feet_words import GOES_BY
from ...wording import share_text
from ...words.amounts import amperes, ohms, place, thin, volts
from ...words.text import Text, say
from ..contents import Block, Cell, Paragraph, Section, Table
from ..feet_picture import feet_picture


def feet_section(results: Sequence[Result]) -> Section | None:
    """What somebody gets there with the ground as it is; None where no case asks."""
    people = [
        (result, person)
        for result in results
        for person in (() if result.verdict is None else result.verdict.people)
    ]
    if not people:
        return None
    what = say(
        "A foot is a disc of {} radius at one potential on the solved ground with its metal, "
        "both feet act on each other, and the metal keeps its voltage. {}: these say how far "
        "those are off here.",
        thin(FOOT_RADIUS),
        GOES_BY,
    )
    blocks: list[Block] = [Paragraph(what), _resistances(people, several=len(results) > 1)]
    solved = [(result, person) for result, person in people if person.effect is not None]
    if solved:
        blocks += [_currents(solved, several=len(results) > 1), feet_picture(solved)]
    return Section("solved-feet", "A person there, on solved feet", tuple(blocks))


def _resistances(people: Sequence[tuple[Result, PersonThere]], *, several: bool) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for result, person in people:
        off = "–" if person.off is None else percent_text(person.off, signed=True)
        feet = "not solved" if person.solved is None else ohms(person.solved)
        on = person.stands_on or person.unsolved
        cells: tuple[Cell, ...] = (feet, ohms(person.by_formula), off, on)
        rows.append((*_whose(result, person, several=several), where_text(person), *cells))
    caption = (
        "Resistance of both feet in series with the body; the formula is 1.5 ρ for touch and "
        "6 ρ for a step, with Cs of IEEE 80 equation 27 where it holds. Where the formula is "
        "above, it is on the unsafe side."
    )
    header = ("Feet solved", "By the formula", "Formula off by", "Solved on")
    return Table((*_head(several=several), "Place", *header), tuple(rows), caption)


def _currents(people: Sequence[tuple[Result, PersonThere]], *, several: bool) -> Table:
    rows: list[tuple[Cell, ...]] = []
    tones: list[str] = []
    for result, person in people:
        assert person.effect is not None
        share = person.share
        tones.append("" if share is None else "pass" if share <= 1 else "fail")
        rows.append(
            (
                *_whose(result, person, several=several),
                volts(person.voltage),
                volts(person.effect.loaded_voltage),
                amperes(person.effect.body_current),
                "–" if person.most_current is None else amperes(person.most_current),
                "–" if person.limit is None else volts(person.limit.voltage),
                "–" if share is None else share_text(share),
            )
        )
    header = (
        "Prospective",
        "Loaded",
        "Through the body",
        "Permitted",
        say("{Permissible}"),
        "Share",
    )
    caption = (
        "Prospective voltage of the verdict; what of it is left across the body, and the "
        "current through it; the current permitted, and the prospective voltage that drives it "
        "through these feet."
    )
    return Table((*_head(several=several), *header), tuple(rows), caption, tuple(tones))


def _head(*, several: bool) -> tuple[str, ...]:
    return ("Exposure", "Condition") if several else ("Exposure",)


def _whose(result: Result, person: PersonThere, *, several: bool) -> tuple[str, ...]:
    name = (person.exposure,)
    return (*name, result.variant or "as it stands") if several else name


def where_text(person: PersonThere) -> Text:
    """Where the feet are."""
    if person.kind == "step":
        return say("{} to {}", *(place(foot) for foot in person.feet))
    return say("{}", place(person.place))
