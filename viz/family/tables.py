"""Tables of a family: all rows worst first, and bad ones, as CSV and as a workbook."""

import math
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from types import MappingProxyType
from typing import Any

from ...solver.family import Batch, RowFound
from ..tables.csv_files import harmless, write_table
from .remedy_words import ABOUT_REMEDIES, remedies_text, remedy_name
from .words import (
    ABOUT_FAMILIES,
    condition_words,
    counts_text,
    standing_text,
    tiers_text,
    unplaced_text,
)

_nan = float("nan")
_bad_header = ("line", "name", "column or place", "what is wrong")


def write_family_tables(
    batch: Batch, folder: Path, *, pages: Mapping[int, str] = MappingProxyType({})
) -> list[Path]:
    """Write ``summary.csv``, ``summary.xlsx`` and, of bad rows, ``bad-rows.csv``.

    Parameters
    ----------
    pages : mapping of int to str, optional
        Where the report of a row is, by its number.
    """
    notes = _notes(batch)
    carried = list(dict.fromkeys(name for row in batch.rows for name in row.notes))
    header = _header(batch, carried)
    rows = [_row(batch, rank, row, carried) for rank, row in enumerate(batch.rows, start=1)]
    if pages:
        header = (*header, "page")
        found = (pages.get(row.number, "") for row in batch.rows)
        rows = [(*cells, page) for cells, page in zip(rows, found, strict=True)]
    files = [write_table(folder / "summary.csv", notes=notes, header=header, rows=rows)]
    bad = [(item.line, item.name, *problem) for item in batch.bad for problem in item.problems]
    sheets: list[tuple[str, Sequence[str], list[Any]]] = [("rows", header, rows)]
    if bad:
        path = folder / "bad-rows.csv"
        files.append(write_table(path, notes=notes[:1], header=_bad_header, rows=bad))
        sheets.append(("bad rows", _bad_header, bad))
    files.append(_workbook(folder / "summary.xlsx", notes=notes, sheets=sheets))
    return files


def _notes(batch: Batch) -> list[str]:
    return [
        f"{' '.join(batch.title.split())}: {batch.table} over {batch.template}",
        counts_text(batch),
        *filter(None, [unplaced_text(batch)]),
        *tiers_text(batch),
        *remedies_text(batch),
        *ABOUT_FAMILIES,
        *[ABOUT_REMEDIES] * bool(batch.remedied),
    ]


def _header(batch: Batch, carried: Sequence[str]) -> tuple[str, ...]:
    places = {
        "plan": ("east [m]", "north [m]"),
        "geographic": ("longitude [deg]", "latitude [deg]"),
    }
    return (
        "rank", "line", "name", "standing", "takes of what is allowed [%]", "decides", "in",
        "voltage [V]", "limit [V]", "foot x [m]", "foot y [m]", "other foot x [m]",
        "other foot y [m]", "resistance [ohm]", "rise [V]", "method", "solved by elements as",
        "takes by thin conductors [%]", "takes by finite elements [%]", "not judged or too hot",
        "mind", "fault", *_remedy_header(batch), *places.get(batch.coordinates, ()), *carried,
        "case sha256",
    )  # fmt: skip


def _row(batch: Batch, rank: int, row: RowFound, carried: Sequence[str]) -> tuple[object, ...]:
    best = row.best
    foot, other = (place or (_nan, _nan) for place in (best.foot, best.other_foot))
    elements = _nan if row.elements is None else 100 * row.elements.share
    place = () if not batch.coordinates else row.place or (_nan, _nan)
    return (
        rank, row.line, row.name, standing_text(best), 100 * best.share, best.decides,
        condition_words(best.condition) if best.decides else "", best.voltage, best.limit,
        *foot, *other, best.resistance, best.rise, best.method, row.why,
        100 * row.thin.share, elements, "; ".join((*best.unjudged, *best.melts)),
        "; ".join(row.doubts), row.fault, *_remedy(batch, row), *place,
        *(row.notes.get(name, "") for name in carried), row.sha256,
    )  # fmt: skip


def _remedy_header(batch: Batch) -> tuple[str, ...]:
    """Headings on what would make rows pass; none where the template offers nothing."""
    if not batch.offers:
        return ()
    unit = batch.currency or "m"
    return (
        "would pass with", f"that costs [{unit}]", f"more than as it stands [{unit}]",
        "takes then [%]", "decides then", "in then", "method then", "nearest, if none does",
        "not judged in every condition",
    )  # fmt: skip


def _remedy(batch: Batch, row: RowFound) -> tuple[object, ...]:
    if not batch.offers:
        return ()
    remedy = row.remedy
    best = None if remedy is None else remedy.best
    if remedy is None or best is None:
        name = remedy_name(remedy, offers=batch.offers)
        fault = "" if remedy is None else remedy.fault or remedy.unsettled
        return (name, *[_nan] * 3, *[""] * 4, fault)
    return (
        remedy_name(remedy, offers=batch.offers), remedy.price, remedy.extra, 100 * best.share,
        best.decides, condition_words(best.condition), best.method,
        "" if remedy.passes else remedy.name, remedy.unsettled or "",
    )  # fmt: skip


def _workbook(
    path: Path, *, notes: Iterable[str], sheets: list[tuple[str, Sequence[str], list[Any]]]
) -> Path:
    """Write sheets with their headings, and one of notes; numbers stay numbers."""
    from openpyxl import Workbook  # takes time to load

    book = Workbook(write_only=True)
    for name, header, rows in sheets:
        sheet = book.create_sheet(name)
        sheet.freeze_panes = "D2" if name == "rows" else "A2"
        sheet.append(list(header))
        for row in rows:
            sheet.append([_cell(value) for value in row])
    about = book.create_sheet("about")
    for line in notes:
        about.append([_cell(line)])
    book.save(path)
    return path


def _cell(value: object) -> object:
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    return harmless(value) if isinstance(value, str) else value
