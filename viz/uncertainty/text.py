"""Uncertainty as lines of text for the terminal."""

from collections.abc import Sequence

from ...solver.uncertainty.found import Answer, NextReading, Uncertainty
from ...solver.uncertainty.narrowing import Narrowing
from ...solver.wording import percent_text
from ..wording import share_text
from ..words.lines import aligned, hanging, page
from .words import ABOUT_UNCERTAINTY, answer_name, chance_text, main_answers, notes, value_text


def uncertainty_text(found: Uncertainty) -> str:
    """Answers, which input matters, what to read next, how far to trust it."""
    blocks = [
        _answers(found),
        _inputs(found),
        *(_importance(found, answer) for answer in main_answers(found)),
        _next(found.next_readings),
        [line for text in notes(found) for line in hanging(text)],
        [line for text in ABOUT_UNCERTAINTY for line in hanging(text)],
    ]
    return page(f"{found.title}: what is not known", blocks)


def _answers(found: Uncertainty) -> list[str]:
    rows: list[tuple[str, ...]] = [("", "5 %", "50 %", "95 %", "Within the limit")]
    rows += [
        (
            answer_name(item),
            *(
                value_text(item, value)
                for value in (item.spread.low, item.spread.median, item.spread.high)
            ),
            "" if item.passes is None else chance_text(item.passes),
        )
        for item in found.answers
    ]
    head = "Not exceeded with a probability of"
    return [head, *("  " + line for line in aligned(rows, right=3))]


def _inputs(found: Uncertainty) -> list[str]:
    rows = [("", "5 %", "50 %", "95 %")]
    rows += [(name, *row) for name, row in zip(found.inputs, found.drawn, strict=True)]
    return ["Inputs", *("  " + line for line in aligned(rows, right=3))]


def _importance(found: Uncertainty, answer: Answer) -> list[str]:
    """Inputs by what they have in the spread of an answer, most first."""
    told = answer.importance
    order = sorted(range(len(found.inputs)), key=lambda k: -told.total[k])
    rows = [("", "Alone", "With others", f"{answer_name(answer)} at its 5 and 95 %")]
    rows += [
        (
            found.inputs[k],
            _index(told.first[k], told.first_error[k]),
            _index(told.total[k], told.total_error[k]),
            " to ".join(value_text(answer, value) for value in answer.swings[k]),
        )
        for k in order
    ]
    head = f"Which input matters for the {answer_name(answer)}: share of the spread of its ln"
    return [*hanging(head), *("  " + line for line in aligned(rows, right=2))]


def _index(value: float, error: float) -> str:
    return f"{percent_text(value)} ± {percent_text(error)}"


def _next(readings: Sequence[NextReading]) -> list[str]:
    if not readings:
        return []
    rows = [("", "Resistance", "Largest share of a limit")]
    rows += [
        (
            item.name,
            _narrower(item.resistance),
            "–" if item.worst is None else _narrower(item.worst),
        )
        for item in readings
    ]
    scarce = any(item.resistance.scarce > 0.05 for item in readings)
    head = "Which reading would narrow it most: spread that is expected to go"
    lines = [*hanging(head), *("  " + line for line in aligned(rows, right=2))]
    if scarce:
        lines += hanging("! Too few draws are like some of these readings: ask for more draws.")
    return lines


def _narrower(told: Narrowing) -> str:
    """What goes of the spread; that within its sampling error is none."""
    error = told.error / told.before if told.before > 0 else 0.0
    if told.share <= max(2 * error, 0.005):
        return "hardly any"
    return f"{share_text(told.share)} of ± {percent_text(told.before, decimals=1)}"
