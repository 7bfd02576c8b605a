"""Limits of a report: what is permissible for whom, by which standard, and what it does."""

from collections.abc import Iterator, Sequence

from ....solver.limits import duration_in_words
from ....solver.results.result import Result
from ....solver.verdict import Judgement, StepOutline, Verdict
from ....solver.verdict.findings import GroundLimit
from ...verdict_words import span_text
from ...wording import significant
from ...words.amounts import amperes, length, place, resistivity, volts
from ...words.text import Text, say
from ...words.underfoot import better_underfoot, poorer_underfoot
from ..contents import Block, Bullets, Cell, Paragraph, Section, Table


def limits_section(results: Sequence[Result]) -> Section:
    """What is permissible, by which standard and edition, for whom it does not hold."""
    verdict = results[0].verdict
    title = say("Limits: {permissible} voltages")
    if verdict is None or not verdict.judgements:
        text = "No limit was applied: the case has no 'safety' block."
        return Section("limits", title, (Paragraph(text, "warning"),))
    conditions: dict[tuple[Cell, ...], list[str]] = {}
    for result in results:
        for row in _rows(result.verdict):
            conditions.setdefault(row, []).append(result.variant or "as it stands")
    several = len(results) > 1
    rows = [
        (*row[:1], _in_words(names, of=len(results)), *row[1:]) if several else row
        for row, names in conditions.items()
    ]
    header: tuple[Cell, ...] = (
        "Exposure",
        "Limit",
        "Duration",
        "On",
        say("{Permissible}"),
        "How",
        "Standard, edition",
    )
    if several:
        header = (header[0], "Condition", *header[1:])
    lasts = span_text(verdict.shortest, verdict.longest)
    duration = Paragraph(
        f"Duration {lasts}: {verdict.duration_words}; voltages include growth × "
        f"{significant(verdict.growth_factor)} and decrement × "
        f"{significant(verdict.decrement_factor)}."
    )
    blocks: list[Block] = [duration, Table(header, tuple(rows))]
    feet = dict.fromkeys(item.verdict.under_feet for item in results if item.verdict)
    blocks += [Paragraph(f"Under the feet: {text}.") for text in feet if text]
    texts = [*_notes(verdict.judgements), *_underfoot(results)]
    notes = [text for text in dict.fromkeys(texts) if text]
    if notes:
        blocks.append(Bullets(tuple(notes)))
    effects = _effects(verdict)
    if effects is not None:
        blocks.append(effects)
    outline = verdict.step_outline
    if outline is not None:
        blocks.append(Paragraph(_outline(outline)))
    return Section("limits", title, tuple(blocks))


def _rows(verdict: Verdict | None) -> Iterator[tuple[Cell, ...]]:
    """What is permissible for each exposure on each ground."""
    for item in () if verdict is None else verdict.judgements:
        for ground in item.grounds[:1] if item.kind == "hands" else item.grounds:
            limit = ground.limit
            on = "bare hands" if item.kind == "hands" else ground_text(ground)
            asked = (item.name, item.limit_name, duration_in_words(item.duration))
            yield (*asked, on, volts(limit.voltage), limit.words, limit.source)


def ground_text(ground: GroundLimit) -> str:
    """What feet stand on, and how well it conducts."""
    if ground.resistivity is None:
        return ground.name
    return f"{ground.name}, {resistivity(ground.resistivity)}"


def _in_words(names: Sequence[str], *, of: int) -> str:
    return "all" if len(names) == of else ", ".join(names)


def _outline(outline: StepOutline) -> Text:
    """From where on the step voltage is below the value that was asked for."""
    chosen = volts(outline.voltage)
    if not outline.whole:
        return say(
            "Step is NOT below {} at the edge of the mapped area: how far out it is "
            "cannot be told, make study.area larger.",
            chosen,
        )
    if outline.radius == 0:
        return say("Step is below {} everywhere in the mapped area.", chosen)
    if outline.distance is None:  # of an earlier release, dead metal included
        where = (length(outline.radius), place(outline.centre))
        return say(
            "Step is below {} beyond {} from the middle of all metal, {}.", chosen, *where
        )
    farthest = length(outline.distance)
    return say(
        "Step is below {} beyond {} from the nearest live metal (metal without current of its "
        "own into the soil does not count); step-outline.csv has it as closed polygons.",
        chosen,
        farthest,
    )


def _underfoot(results: Sequence[Result]) -> Iterator[str]:
    """What of bodies in the soil lies under the feet where limits took the native soil."""
    for result in results:
        of = f"variant '{result.variant}': " if result.variant else ""
        for text in (*better_underfoot(result), *poorer_underfoot(result)):
            yield f"{of}{text}."


def _notes(judgements: Sequence[Judgement]) -> list[str]:
    return [
        note
        for item in judgements
        for note in (
            (f"{item.name}: NOT JUDGED, {item.not_judged}",)
            if item.not_judged
            else (item.instead, f"{item.limit_name} ({item.limit_source}): {item.caution}")
        )
    ]


def _effects(verdict: Verdict) -> Table | None:
    rows: list[tuple[Cell, ...]] = []
    for item in verdict.judgements:
        worst = item.worst
        effect = None if worst is None else worst.effect
        if effect is None:
            continue
        current = amperes(effect.body_current)
        loaded = volts(effect.loaded_voltage)
        rows.append((item.name, current, loaded, effect.zone or "–", effect.words))
    if not rows:
        return None
    header = (
        "Exposure",
        "Current through the body",
        "Voltage across it",
        "Zone",
        say("{Body}"),
    )
    return Table(header, tuple(rows), "What the worst voltage of each exposure does to a body.")
