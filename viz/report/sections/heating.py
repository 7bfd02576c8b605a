"""Conductors and joints of a report: how hot they get, and what would hold."""

from collections.abc import Sequence

from ....solver.heating import HeatedConductor, Heating
from ....solver.results.result import Result
from ...heating_words import (
    HEAT_WORDS,
    conditions_text,
    current_texts,
    degrees,
    heat_warnings,
    needed_text,
    temperature_text,
)
from ...words.amounts import amperes, section
from ...words.text import say
from ..contents import Block, Bullets, Cell, Section, Table

TITLE = "Conductors and joints in the heat of the fault"


def heating_section(results: Sequence[Result]) -> Section | None:
    """How hot leads, metal and joints get; None where the case does not ask.

    Parameters
    ----------
    results : sequence of Result
        Of the case and of its variants, of which those are told that are worse.
    """
    base = heating_in(results[0])
    if base is None:
        return None
    others = [
        f"Variant '{result.variant}': {item.name} {HEAT_WORDS[item.outcome]}, "
        f"{temperature_text(item)} of {degrees(item.limit)} by {amperes(item.current)}."
        for result in results[1:]
        if (heating := heating_in(result)) is not None
        for item in heating.failing
        if not _as_bad(item, base)
    ]
    return Section("heating", TITLE, tuple(heating_blocks(base, more=others)))


def _as_bad(item: HeatedConductor, base: Heating) -> bool:
    """Whether a conductor fares no better in the case as it stands, where it is told."""
    before = next((one for one in base.failing if one.name == item.name), None)
    return before is not None and not item.temperature > before.temperature + 0.5


def heating_in(result: Result) -> Heating | None:
    """Heat of the metal of a result; None where nobody asked."""
    return None if result.verdict is None else result.verdict.heating


def heating_blocks(heating: Heating, *, more: Sequence[str] = ()) -> list[Block]:
    """Table of conductors, and what else is to be said; `more` after that."""
    rows: list[tuple[Cell, ...]] = [
        (
            item.name,
            heat_mark(item),
            say("{} of {}", section(item.corroded), item.material),
            temperature_text(item),
            f"{degrees(item.limit)} {item.limit_words}",
            needed_text(item),
        )
        for item in heating.conductors
    ]
    corroded = any(item.corroded < item.section for item in heating.conductors)
    header = (
        "Conductor",
        "Outcome",
        "Metal left" if corroded else "Metal",
        "Ends at",
        "Limit",
        "Needed, next size up",
    )
    tones = tuple("pass" if item.outcome == "pass" else "fail" for item in heating.conductors)
    found: list[Block] = [Table(header, tuple(rows), conditions_text(heating), tones)]
    notes = (*current_texts(heating), *heat_warnings(heating), *more)
    return [*found, Bullets(notes)]


def heat_mark(item: HeatedConductor) -> str:
    """Outcome with its mark."""
    return f"{'✓' if item.outcome == 'pass' else '✕'} {HEAT_WORDS[item.outcome]}"
