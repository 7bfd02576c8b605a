"""Options side by side in a report: which is the cheapest that passes, and what each takes."""

from collections.abc import Sequence

from ....solver.results.options import Held, Options, options_of
from ....solver.results.result import Result
from ....solver.verdict import JudgedPlace
from ...options.picture import options_figure
from ...options.words import (
    ABOUT_OPTIONS,
    TITLE,
    amount_text,
    bill_kinds,
    condition_name,
    found_text,
    kind_name,
    option_name,
    standing_text,
    unpriced_text,
)
from ...wording import share_text
from ...words.amounts import ohms, place, volts
from ...words.text import Text, say
from ..contents import Block, Cell, Paragraph, Section, Table
from ..pictures import figure_picture
from .verdict import outcome_text


def options_section(results: Sequence[Result]) -> Section | None:
    """Options against conditions, with prices; None where there are none to compare.

    Parameters
    ----------
    results : sequence of Result
        Of the case and of its variants.
    """
    options = options_of(results)
    if options is None:
        return None
    tone = "fail" if options.cheapest is None else "pass"
    mark = "✕" if options.cheapest is None else "★"
    blocks: list[Block] = [
        Paragraph(say("{} {}.", mark, found_text(options)), tone),
        Paragraph(" ".join(filter(None, [ABOUT_OPTIONS, unpriced_text(options)])), "note"),
        figure_picture(
            lambda units: options_figure(options),
            "Price of each option, and the largest share of a limit that it takes in each "
            "condition; black does not pass. ★ the cheapest that passes in all conditions.",
        ),
        _reached(options),
        _bills(options),
    ]
    return Section("options", TITLE, tuple(blocks))


def _reached(options: Options) -> Table:
    """A row for each option in each condition."""
    rows: list[tuple[Cell, ...]] = []
    tones: list[str] = []
    for option in options.options:
        head = f"{option_name(option)}, {option.price:,.0f} {options.currency}"
        if option is options.cheapest:
            head += " ★"
        for condition, held in zip(options.conditions, option.held, strict=True):
            rows.append((head, condition_name(condition), *_cells(held)))
            tones.append("pass" if held is not None and held.passes else "fail")
    header = (
        "Option", "In", "Resistance", "Rise", "Share", "Of the limit",
        "Worst place", "Outcome",
    )  # fmt: skip
    caption = "Each option in each condition; ★ the cheapest that passes in all of them."
    return Table(header, tuple(rows), caption, tuple(tones))


def _cells(held: Held | None) -> tuple[Cell, ...]:
    if held is None:
        return ("–", "–", "–", "–", "–", "✕ not solved")
    found = (ohms(held.resistance), volts(held.rise))
    judged = held.worst
    worst = None if judged is None else judged.worst
    if judged is None or worst is None:
        return (*found, "–", "–", "–", outcome_text(held.verdict))
    share = share_text(worst.share)
    return (*found, share, judged.name, _where(worst), outcome_text(held.verdict))


def _where(worst: JudgedPlace) -> Text:
    """The places of the feet."""
    if worst.foot is None:
        return say("–")
    if worst.other_foot is None:
        return place(worst.foot)
    return say("{} to {}", place(worst.foot), place(worst.other_foot))


def _bills(options: Options) -> Table:
    """What each option takes and costs."""
    kinds = bill_kinds(options)
    first = options.options[0]
    rows: list[tuple[Cell, ...]] = []
    for option in options.options:
        amounts = (amount_text(option, kind) for kind in kinds)
        more = option.price - first.price
        rows.append(
            (
                option_name(option),
                *amounts,
                f"{option.price:,.0f}" + (f" ({_signed(more)})" if more else ""),
                standing_text(options, option),
            )
        )
    names: tuple[Text, ...] = tuple(map(kind_name, kinds))
    header: tuple[Cell, ...] = (
        "Option", *names, f"Price [{options.currency}]",
        "Standing",
    )  # fmt: skip
    caption = (
        f"Quantities and prices, in brackets what is more than '{option_name(first)}'; "
        "standing: what fails does not pass in so many of the conditions."
    )
    tones = tuple("pass" if option.passes else "fail" for option in options.options)
    return Table(header, tuple(rows), caption, tones)


def _signed(value: float) -> str:
    return f"{'+' if value > 0 else ''}{value:,.0f}".replace("-", "−")
