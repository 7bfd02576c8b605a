"""The words of a verdict: one line for each exposure first, then how each came about."""

from collections.abc import Sequence

from ...solver.limits import duration_in_words
from ...solver.protection import Trip
from ...solver.results.result import Result
from ...solver.verdict import JudgedPlace, Judgement, StepOutline, Verdict
from ...solver.verdict import headline as headline_found
from ..verdict_words import NOBODY, between, headline_of, headline_text, variants_text
from ..wording import length_text, place_in, share_text, significant, with_unit
from ..words.lines import hanging, told

_words = {
    "pass": "PASS",
    "fail": "FAIL",
    "within the numerical error": "TOO CLOSE",
    "not evaluated": "NOT JUDGED",
}


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


def _range(verdict: Verdict) -> str:
    shortest, longest = (duration_in_words(t) for t in (verdict.shortest, verdict.longest))
    return longest if shortest == longest else f"{shortest} to {longest}"


def verdict_lines(results: Sequence[Result]) -> list[str]:
    """Headline, one line for each exposure, rules not kept, variants that do not pass.

    Parameters
    ----------
    results : sequence of Result, at least one
        Of the case and of its variants.
    """
    found, base = headline_of(results), results[0]
    lines = [f"Verdict: {headline_text(found, joined=', ', named=False)}"]
    if base.verdict is not None:
        lines += [f"  {_line(item, base.units)}" for item in base.verdict.judgements]
        for rule in base.verdict.broken_rules:
            lines += hanging(f"RULE        {rule}", indent="  ")
    return lines + hanging(variants_text(found))


def _line(judgement: Judgement, units: str) -> str:
    """One exposure: outcome, voltage, limit, between which points."""
    outcome = _words[judgement.outcome]
    worst = judgement.worst
    if worst is None:
        return f"{outcome:<10}  {judgement.name}: {NOBODY}"
    volts = with_unit(worst.voltage, symbol="V")
    limit = with_unit(worst.limit.voltage, symbol="V")
    where = told(between(worst, judgement), units=units)
    return (
        f"{outcome:<10}  {judgement.name}: {volts} of {limit} permissible "
        f"({share_text(worst.share)}), {where}"
    )


def detail_lines(result: Result) -> list[str]:
    """How the limits came about, what the voltages do to a body, and the step outline.

    Parameters
    ----------
    result : Result
        What `run_case` gave; without a verdict there are no lines.
    """
    verdict = result.verdict
    if verdict is None:
        return []
    lines = ["Limits and effects, at the worst place of each exposure"]
    lines.append(
        f"  duration {_range(verdict)}: {verdict.duration_words}; voltages include growth × "
        f"{significant(verdict.growth_factor)} and decrement × "
        f"{significant(verdict.decrement_factor)}"
    )
    for judgement in verdict.judgements:
        if judgement.worst is not None:
            lines += hanging(_detail(judgement, judgement.worst), indent="  ")
    sources = {item.limit_source: item.caution for item in verdict.judgements}
    for source, caution in sources.items():
        lines += hanging(f"{source}: {caution}", indent="  ")
    if verdict.step_outline is not None:
        lines += hanging(_outlined(verdict.step_outline, units=result.units), indent="  ")
    return lines


def _detail(judgement: Judgement, worst: JudgedPlace) -> str:
    """How one limit came about, and what the worst voltage does."""
    text = f"{judgement.name}: {worst.limit.words}"
    if judgement.instead:
        text += f"; {judgement.instead}"
    if worst.effect is not None:
        zone = f", zone {worst.effect.zone}" if worst.effect.zone else ""
        text += (
            f". Does: {with_unit(worst.effect.body_current, symbol='A')} through the body, "
            f"{with_unit(worst.effect.loaded_voltage, symbol='V')} across it{zone} "
            f"({worst.effect.words})"
        )
    return text


def _outlined(outline: StepOutline, *, units: str) -> str:
    """How far out a step voltage is met."""
    volts = with_unit(outline.voltage, symbol="V")
    if not outline.whole:
        return (
            f"Step is NOT below {volts} at the edge of the mapped area: how far out it is "
            "cannot be told, make study.area larger"
        )
    if outline.radius == 0:
        return f"Step is below {volts} everywhere"
    radius, centre = length_text(outline.radius, units), place_in(outline.centre, units)
    return f"Step is below {volts} beyond {radius} from {centre}"


def clearing_lines(result: Result) -> list[str]:
    """What each protective device does at the current it sees.

    Parameters
    ----------
    result : Result
        What `run_case` gave; without devices there are no lines.
    """
    clearing = result.clearing
    if clearing is None:
        return []
    lines = ["Protection, at today's symmetrical current"]
    for answer in clearing.answers:
        trip = answer.trip
        sees = f"{answer.measures} {with_unit(answer.current, symbol='A')}"
        text = f"{answer.name} ({sees}): {_answer(trip)}; {trip.words}"
        if not answer.fitted:
            text = f"{answer.name}: NOT FITTED; would see {sees}: {_answer(trip)}"
        elif answer.backup:
            text += " [backup]"
        if answer.remark:
            text += f"; {answer.remark}"
        lines += hanging(text, indent="  ")
    if clearing.without_main is not None:
        text = f"should the main devices fail: {_answer(clearing.without_main)}"
        lines += hanging(text, indent="  ")
    sources = {answer.source: answer.caution for answer in clearing.answers if answer.fitted}
    for source, caution in sources.items():
        lines += hanging(f"{source}: {caution}", indent="  ")
    return lines


def _answer(trip: Trip) -> str:
    """Certainty with its time range."""
    if trip.certainty == "never":
        return "NEVER opens"
    soonest = duration_in_words(trip.shortest)
    if trip.certainty == "possibly":
        return f"POSSIBLY opens, not before {soonest}"
    latest = duration_in_words(trip.longest)
    span = latest if soonest == latest else f"{soonest} to {latest}"
    return f"CERTAINLY opens, in {span}"
