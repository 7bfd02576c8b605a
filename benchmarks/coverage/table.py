"""The table of coverage by class and preset, and the worst ten."""

import csv
from collections.abc import Iterable
from pathlib import Path

import numpy as np

from .drawing import CLASSES
from .judging import COLUMNS, Row

QUANTITIES = ("resistance", "touch", "step", "map", "touch on map", "floating")
_HEADINGS = (
    *("class", "cases", "all within", "R", "touch", "step", "map", "touch on map", "floating"),
    *("R: median error", "worst", "median band", "voltages: median error", "worst"),
    "median band",
)


def read_rows(path: Path) -> list[Row]:
    """Rows of a CSV that a run has written; none where there is no file."""
    if not path.exists():
        return []
    types = {name: kind for name, kind in Row.__annotations__.items() if name in COLUMNS}
    with path.open(newline="", encoding="utf-8") as file:
        return [
            Row(**{name: types[name](value) for name, value in line.items()})
            for line in csv.DictReader(file)
        ]


def append_rows(path: Path, rows: Iterable[Row]) -> None:
    """Add rows to a CSV, with headings where it is new."""
    new = not path.exists()
    with path.open("a", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, COLUMNS)
        if new:
            writer.writeheader()
        writer.writerows({name: getattr(row, name) for name in COLUMNS} for row in rows)


def coverage_table(rows: list[Row], *, preset: str) -> str:
    """Markdown table of one preset."""
    judged = [row for row in rows if row.preset == preset and row.quantity in QUANTITIES]
    lines = [f"| {' | '.join(_HEADINGS)} |", "|---" * len(_HEADINGS) + "|"]
    drawn = {row.kind for row in judged}
    for kind in [*(kind for kind in CLASSES if kind in drawn), None]:
        own = [row for row in judged if kind in (None, row.kind)]
        lines.append(f"| {' | '.join([kind or '**all**', *_cells(own)])} |")
    return "\n".join(lines)


def _cells(rows: list[Row]) -> list[str]:
    cases = {(row.kind, row.number) for row in rows}
    missed = {(row.kind, row.number) for row in rows if not row.within}
    cells = [str(len(cases)), _percent(1 - len(missed) / len(cases))]
    for quantity in QUANTITIES:
        own = [row for row in rows if row.quantity == quantity]
        cells.append(_percent(np.mean([row.within for row in own])) if own else "–")
    ohms = [row for row in rows if row.quantity == "resistance"]
    volts = [row for row in rows if row.quantity != "resistance"]
    for own in (ohms, volts):
        error = np.abs([row.error for row in own])
        band = np.median([row.band for row in own])
        cells += [f"{100 * value:.2f} %" for value in (np.median(error), error.max(), band)]
    return cells


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %" if share in (0, 1) else f"{100 * share:.1f} %"


def worst_ten(rows: list[Row], *, preset: str) -> str:
    """Markdown list of the cases whose error is most above its band."""
    judged = [row for row in rows if row.preset == preset and row.quantity in QUANTITIES]
    by_case: dict[tuple[str, int], Row] = {}
    for row in judged:
        key = (row.kind, row.number)
        if key not in by_case or _excess(row) > _excess(by_case[key]):
            by_case[key] = row
    worst = sorted(by_case.values(), key=_excess, reverse=True)[:10]
    lines = [
        "| case | quantity | here | reference | error | band |",
        "|---|---|---|---|---|---|",
    ]
    for row in worst:
        unit = "Ω" if row.quantity == "resistance" else "V"
        cells = [
            f"{row.kind} {row.number}",
            f"{row.quantity}, {row.where}",
            f"{row.value:.5g} {unit}",
            f"{row.reference:.5g} {unit}",
            f"{100 * row.error:+.2f} %",
            f"{100 * row.band:.2f} %",
        ]
        lines.append(f"| {' | '.join(cells)} |")
    return "\n".join(lines)


def _excess(row: Row) -> float:
    return abs(row.error) / row.band


def set_aside(rows: list[Row], *, preset: str) -> str:
    """What was drawn anew, and what gave no answer."""
    own = [row for row in rows if row.preset == preset]
    unsettled = sum(row.quantity == "unsettled" for row in own)
    silent = [row for row in own if row.quantity == "no answer"]
    text = f"{unsettled} drawn anew (reference not settled), {len(silent)} without an answer"
    names = ", ".join(f"{row.kind} {row.number}: {row.note}" for row in silent)
    return f"{text}{': ' if names else ''}{names}"


def report(rows: list[Row]) -> str:
    """All presets, one after the other."""
    parts = []
    for preset in ("coarse", "normal", "fine"):
        if any(row.preset == preset for row in rows):
            parts += [
                f"### {preset}\n",
                coverage_table(rows, preset=preset),
                f"\n{set_aside(rows, preset=preset)}.\n",
                "Worst ten, by error over band:\n",
                worst_ten(rows, preset=preset),
                "",
            ]
    return "\n".join(parts)
