"""The table of options against conditions."""

from collections.abc import Iterator, Sequence
from pathlib import Path

from ...solver.results.options import Options
from ...solver.results.result import Result
from ..cautions import caution_texts
from ..tables.csv_files import write_table
from ..verdict_words import OUTCOME_WORDS
from .words import (
    ABOUT_OPTIONS,
    APART,
    EMPTY,
    Kind,
    amount_of,
    bill_kinds,
    condition_name,
    found_text,
    kind_name,
    option_name,
    share_of,
    standing_text,
    unpriced_text,
)


def write_options(options: Options, results: Sequence[Result], *, path: Path) -> Path:
    """Write options against conditions as a CSV file in SI units."""
    kinds = bill_kinds(options)
    notes = (
        " ".join(results[0].title.split()),
        found_text(options).plain(units="SI", vocabulary="earth"),
        ABOUT_OPTIONS,
        *filter(None, [unpriced_text(options)]),
        *caution_texts(results),
    )
    header = (
        "option", "condition", "resistance [ohm]", "rise [V]", "largest share of a limit [%]",
        "exposure", "voltage [V]", "permissible [V]", "foot x [m]", "foot y [m]",
        "other foot x [m]", "other foot y [m]", "exposures that do not pass", "passes",
        *(_heading(kind, options.currency) for kind in kinds),
        f"price [{options.currency}]", "standing of the option",
    )  # fmt: skip
    return write_table(path, notes=notes, header=header, rows=_rows(options, kinds))


def _heading(kind: Kind, currency: str) -> str:
    name = kind_name(kind).plain(units="SI", vocabulary="earth").replace("mm²", "mm^2")
    units = {"conductor": "m", "driven": "m", "surface": "m^3"}
    unit = units.get(kind[0], currency if kind[0] in ("fixed", APART) else "")
    return f"{name} [{unit}]" if unit else name


def _rows(options: Options, kinds: Sequence[Kind]) -> Iterator[tuple[object, ...]]:
    nowhere = (EMPTY, EMPTY)
    for option in options.options:
        amounts = [amount_of(option, kind) for kind in kinds]
        standing = standing_text(options, option).lstrip("★✕ ")
        for condition, held in zip(options.conditions, option.held, strict=True):
            end = (*amounts, option.price, standing)
            name = (option_name(option), condition_name(condition))
            if held is None:
                yield (*name, *[EMPTY] * 3, "", *[EMPTY] * 6, "", "not solved", *end)
                continue
            judged = held.worst
            worst = None if judged is None else judged.worst
            judgements = () if held.verdict is None else held.verdict.judgements
            failing = [
                f"{item.name}: {OUTCOME_WORDS[item.outcome]}"
                for item in judgements
                if item.outcome != "pass"
            ]
            yield (
                *name,
                held.resistance,
                held.rise,
                100 * share_of(held),
                "" if judged is None else judged.name,
                EMPTY if worst is None else worst.voltage,
                EMPTY if worst is None else worst.limit.voltage,
                *(nowhere if worst is None else worst.foot or nowhere),
                *(nowhere if worst is None else worst.other_foot or nowhere),
                "; ".join(failing),
                "yes" if held.passes else "no",
                *end,
            )
