"""The words of a verdict: one line for each exposure first, then how each came about."""

from collections.abc import Sequence

from ...solver.results.result import Result
from ...solver.verdict import Judgement, Verdict
from ...solver.verdict import headline as headline_found
from ..doubts import doubt_texts
from ..feet_words import feet_texts
from ..heating_words import HEAT_WORDS, conductor_text
from ..verdict_words import (
    OUTCOME_WORDS,
    between,
    carried_split_texts,
    for_whom,
    headline_of,
    headline_text,
    unjudged_text,
    variants_text,
)
from ..wording import share_text, with_unit
from ..words.lines import hanging, terminal_text


def headline(verdict: Verdict) -> str:
    """Verdict in one line."""
    return f"Verdict: {headline_text(headline_found(verdict), joined=', ')}"


def variant_verdicts(results: Sequence[Result]) -> list[str]:
    """Verdict of each variant in one line.

    Parameters
    ----------
    results : sequence of Result
        Of the case and of its variants.
    """
    return [
        f"  {result.variant}: {headline(result.verdict)}"
        for result in results
        if result.variant and result.verdict is not None
    ]


def verdict_lines(results: Sequence[Result]) -> list[str]:
    """Headline, a line for each exposure and conductor, rules not kept, variants that fail.

    Parameters
    ----------
    results : sequence of Result, at least one
        Of the case and of its variants.
    """
    found, base = headline_of(results), results[0]
    lines = [f"Verdict: {headline_text(found, joined=', ', named=False)}"]
    if base.verdict is not None:
        lines += [f"  {_line(item, base.units)}" for item in base.verdict.judgements]
        if base.verdict.heating is not None:
            lines += [
                f"  {HEAT_WORDS[item.outcome]:<10}  "
                + terminal_text(conductor_text(item), units=base.units)
                for item in base.verdict.heating.conductors
            ]
        for rule in base.verdict.broken_rules:
            lines += hanging(f"RULE        {rule}", indent="  ")
    lines += hanging(variants_text(found))
    units = base.units
    for told in feet_texts(results):
        lines += hanging(f"{terminal_text(told, units=units)}.")
    return lines + [
        line
        for text in (*doubt_texts(results), *carried_split_texts(results))
        for line in hanging(f"{text}.")
    ]


def _line(judgement: Judgement, units: str) -> str:
    """One exposure: outcome, voltage, limit, between which points."""
    outcome = OUTCOME_WORDS[judgement.outcome]
    worst = judgement.worst
    if worst is None:
        return f"{outcome:<10}  {judgement.name}: {unjudged_text(judgement)}"
    volts = with_unit(worst.voltage, symbol="V")
    limit = with_unit(worst.limit.voltage, symbol="V")
    where = terminal_text(between(worst, judgement), units=units)
    return (
        f"{outcome:<10}  {judgement.name}: {volts} of {limit} permissible"
        f"{for_whom(judgement)} ({share_text(worst.share)}), {where}"
    )
