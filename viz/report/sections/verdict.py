"""The verdict of a report: what does not pass first, with the case's variants."""

from collections.abc import Sequence

from ....solver.results.result import Result
from ....solver.verdict import Verdict, headline
from ...cautions import FOR_ENGINEERS, NEVER_ENERGISE
from ...doubts import doubt_texts
from ...feet_words import feet_texts
from ...heating_words import conductor_text
from ...verdict_words import (
    OUTCOME_WORDS,
    between,
    carried_split_texts,
    headline_of,
    headline_text,
    unjudged_text,
    variants_text,
)
from ...wording import phasor_text, share_text
from ...words.amounts import length, ohms, small_percent, volts
from ...words.text import say
from ..contents import Block, Bullets, Cell, Paragraph, Section, Table
from .heating import heat_mark, heating_in

outcome_words = {
    outcome: f"{'✓' if outcome == 'pass' else '✕'} {word}"
    for outcome, word in OUTCOME_WORDS.items()
}


def verdict_section(results: Sequence[Result]) -> Section:
    """What a reader must know first.

    Parameters
    ----------
    results : sequence of Result
        Of the case and of its variants.
    """
    base = results[0]
    blocks: list[Block] = [_headline(results)]
    if base.verdict is not None and base.verdict.broken_rules:
        blocks.append(Bullets(tuple(f"✕ Rule: {rule}" for rule in base.verdict.broken_rules)))
    blocks.append(Paragraph(f"{FOR_ENGINEERS} {NEVER_ENERGISE}", "warning"))
    if base.verdict is not None and base.verdict.judgements:
        blocks.append(_exposures(base, base.verdict))
        if len(results) > 1:
            blocks.append(_over_variants(results))
    if (heating := heating_in(base)) is not None:
        tones = [(heat_mark(item), item) for item in heating.conductors]
        rows = tuple((mark, conductor_text(item)) for mark, item in tones)
        passing = tuple("pass" if item.outcome == "pass" else "fail" for _, item in tones)
        caption = "Metal and joints at the end of the fault, growth and decrement included."
        blocks.append(Table(("Outcome", "Conductor"), rows, caption, passing))
    carried = [*doubt_texts(results), *carried_split_texts(results)]
    told = [text + "." for text in feet_texts(results)]
    if carried or told:
        blocks.append(Bullets((*told, *(f"{text}." for text in carried))))
    blocks.append(_key_values(results))
    return Section("verdict", "Verdict", tuple(blocks))


def _headline(results: Sequence[Result]) -> Paragraph:
    found = headline_of(results)
    text = headline_text(found, joined=": ")
    text = f"{text[0].upper()}{text[1:]}."
    variants = variants_text(found)
    if variants and found.finding != "unsafe in variants":
        text += f" {variants}."
    if found.finding == "not judged":
        more = say(
            " The voltages below are prospective; a low {resistance} does not make a site safe."
        )
        return Paragraph(say("– {}", text) + more, "warning")
    if found.finding != "passes":
        return Paragraph(f"✕ {text}", "fail")
    holds = " This holds for the people, faults and places declared."
    return Paragraph(f"✓ {text}{holds}", "pass")


def _exposures(result: Result, verdict: Verdict) -> Table:
    rows: list[tuple[Cell, ...]] = []
    tones: list[str] = []
    for item in verdict.judgements:
        tones.append("pass" if item.outcome == "pass" else "fail")
        worst = item.worst
        if worst is None:
            rows.append(
                (
                    item.name,
                    outcome_words[item.outcome],
                    "–",
                    "–",
                    "–",
                    "–",
                    unjudged_text(item),
                )
            )
            continue
        rows.append(
            (
                item.name,
                outcome_words[item.outcome],
                volts(worst.voltage, item.error),
                volts(worst.limit.voltage),
                item.protects or "–",
                share_text(worst.share),
                between(worst, item),
            )
        )
    factor = verdict.growth_factor * verdict.decrement_factor
    included = "" if factor == 1 else f" They include growth and decrement, × {factor:.3g}."
    return Table(
        ("Exposure", "Outcome", "Voltage", say("{Permissible}"), "For", "Share", "Worst place"),
        tuple(rows),
        "Prospective (open-circuit) voltages with their numerical error." + included,
        tuple(tones),
    )


def _over_variants(results: Sequence[Result]) -> Table:
    """Share of the limit of each exposure in the case and each variant."""
    base = results[0].verdict
    assert base is not None
    names = [item.name for item in base.judgements]
    rows, tones = [], []
    for result in results:
        verdict = result.verdict
        if verdict is None:
            continue
        cells: list[Cell] = [result.variant or "as it stands"]
        cells.append(outcome_text(verdict))
        found = {item.name: item for item in verdict.judgements}
        for name in names:
            item = found.get(name)
            worst = None if item is None else item.worst
            if item is None or worst is None:
                cells.append("–")
                continue
            mark = "" if item.outcome == "pass" else " ✕"
            cells.append(f"{share_text(worst.share)} of {volts(worst.limit.voltage)}{mark}")
        rows.append(tuple(cells))
        tones.append("pass" if verdict.passes else "fail")
    return Table(
        ("Condition", "Outcome", *names),
        tuple(rows),
        "Share of the limit and what is permissible, as the case stands and in its variants.",
        tuple(tones),
    )


def outcome_text(verdict: Verdict | None) -> str:
    """A verdict in two words, with a sign."""
    found = headline(verdict)
    if found.finding == "passes":
        return outcome_words["pass"]
    if found.finding == "not judged":
        return "– not judged"
    if found.unsafe:
        return f"✕ {found.unsafe} unsafe"
    return "✕ metal fails" if found.failing else "✕ rule not kept"


def _key_values(results: Sequence[Result]) -> Table:
    """Resistance, rise and worst voltages, with numerical error and range over variants."""
    base = results[0]
    error_of_resistance, *errors = base.accuracy.estimates
    rows: list[tuple[Cell, ...]] = []

    def row(name: Cell, value: str, off: str, others: list[str]) -> None:
        spread = "" if len(results) == 1 else _spread(others)
        rows.append((name, value, off, spread))

    of_resistance = f"± {small_percent(error_of_resistance)}"

    for group, drive in enumerate(base.drives):
        if drive.kind == "floating":
            continue
        values = [item.resistance(group) for item in results]
        row(
            say("{Resistance} of '{}'", base.group_names[group]),
            ohms(values[0]),
            of_resistance,
            [ohms(value) for value in sorted(values)],
        )
    rises = [item.rise for item in results]
    highest = int(abs(base.operating.voltage).argmax())
    given = base.drives[highest].kind == "voltage"
    row(
        say("Largest {rise}"),
        phasor_text(complex(base.operating.voltage[highest]), symbol="V"),
        "given" if given else of_resistance,
        [volts(value) for value in sorted(rises)],
    )
    factors = [judged_factor(item) for item in results]
    if any(factor != 1 for factor in factors):
        judged = [factor * rise for factor, rise in zip(factors, rises, strict=True)]
        row(
            say(
                "The same as judged, growth and decrement included (× {})", f"{factors[0]:.3g}"
            ),
            volts(judged[0]),
            "given" if given else of_resistance,
            [volts(value) for value in sorted(judged)],
        )
    for kind, share in zip(("touch", "step"), errors, strict=True):
        found = [
            max((item.voltage for item in result.worst if item.kind == kind), default=None)
            for result in results
        ]
        if found[0] is None or None in found:
            continue
        known = [value for value in found if value is not None]
        off = volts(known[0], share * base.rise).partition(" ± ")[2]
        row(
            f"Worst {kind} voltage in the mapped area",
            volts(known[0]),
            f"± {off}, {small_percent(share)} of the rise",
            [volts(value) for value in sorted(known)],
        )
    pace = length(base.surface.pace)
    header: tuple[Cell, ...] = (
        "Quantity",
        "As it stands",
        "Numerical error",
        "Over all variants",
    )
    caption = say(
        "At today's symmetrical current unless a row says otherwise. The soil is usually far "
        "less certain than the arithmetic. Feet are {} apart in a step.",
        pace,
    )
    if len(results) == 1:
        return Table(header[:3], tuple(item[:3] for item in rows), caption)
    return Table(header, tuple(rows), caption)


def judged_factor(result: Result) -> float:
    """Growth and decrement that the verdict multiplies with; 1 where none is."""
    verdict = result.verdict
    return 1.0 if verdict is None else verdict.growth_factor * verdict.decrement_factor


def _spread(ordered: list[str]) -> str:
    first, last = ordered[0], ordered[-1]
    return first if first == last else f"{first} to {last}"
