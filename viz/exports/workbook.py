"""A result as one workbook: the verdict first, each table a sheet, numbers as numbers."""

import csv
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from openpyxl import Workbook
from openpyxl.styles import Alignment, Font
from openpyxl.utils import get_column_letter

from ...solver.results.result import Result
from ..cautions import caution_texts
from ..tables.csv_files import harmless
from ..tables.sheet_titles import sheet_title
from ..terminal.summary import summary
from ..wording import length_unit
from ..writing import write_tables
from .about import what_it_is

# First what decides, then what it rests on; the samples of the map, one of many thousands of
# rows, are in the folder of the result.
_order = ("verdict", "worst", "heating", "electrodes", "parts", "one-potential", "distances")
_left_out = ("surface.csv", "leakage.csv", "along-metal.csv")
_lengths = re.compile(r"\[(m|m\^2|m²)\]$")
_widest = 60  # characters of a column


@dataclass(frozen=True)
class _Sheet:
    name: str
    notes: Sequence[str]
    header: Sequence[str]
    rows: Sequence[Sequence[str]]


def write_workbook(result: Result, folder: Path) -> Path:
    """Write ``result.xlsx``: its tables with headings that stay in sight, lengths as it prints.

    The last sheets hold the summary as text and what to mind.
    """
    book = Workbook()
    book.remove(book.active)
    with TemporaryDirectory() as made:
        found = {sheet.name: sheet for sheet in _tables(result, Path(made))}
    names = [name for name in _order if name in found]
    for name in (*names, *(name for name in found if name not in _order)):
        _add_table(book, found[name], feet=result.units == "US")
    lines = [line for line in summary(result).splitlines() if line.strip("=") or not line]
    _add_text(book, "summary", lines)
    about = [
        *what_it_is(result),
        "Voltages are prospective (open circuit), to remote earth where nothing else stands.",
        "Samples of maps and the current along metal are in the folder of the result.",
        *caution_texts([result]),
    ]
    _add_text(book, "about", about, wrapped=True)
    path = folder / "result.xlsx"
    book.save(path)
    return path


def _tables(result: Result, folder: Path) -> Iterator[_Sheet]:
    """The tables of a result as they are written, those of samples apart."""
    mind = set(caution_texts([result]))
    for path in write_tables(result, folder, without=_left_out):
        with path.open(encoding="utf-8", newline="") as file:
            lines = list(file)
        notes = [line[2:].rstrip("\n") for line in lines if line.startswith("# ")]
        header, *rows = csv.reader(line for line in lines if not line.startswith("#"))
        # What stands on top of all of them, on which case and what to mind, is told once.
        own = [note for note in notes[2:] if note not in mind]
        yield _Sheet(path.stem, own, header, rows)


def _add_table(book: Workbook, table: _Sheet, *, feet: bool) -> None:
    """A sheet with a line of headings that stays, then rows, then what the columns are."""
    sheet = book.create_sheet(sheet_title(table.name, book.sheetnames))
    factors = [_factor(heading, feet=feet) for heading in table.header]
    header = [_heading(heading, feet=feet) for heading in table.header]
    sheet.append([harmless(heading) for heading in header])
    for row in table.rows:
        sheet.append([_cell(text, factor) for text, factor in zip(row, factors, strict=True)])
    for cell in sheet[1]:
        cell.font = Font(bold=True)
        cell.alignment = Alignment(wrap_text=True, vertical="top")
    sheet.freeze_panes = "B2"
    for number, heading in enumerate(header):
        cells = [row[number] for row in table.rows[:200]]
        longest = max(map(len, [*cells, *re.split(r"[ ,]", heading)]), default=0)
        wide = min(max(longest + 2, 8), _widest)
        sheet.column_dimensions[get_column_letter(number + 1)].width = wide
    sheet.append([])
    for note in table.notes:
        sheet.append([harmless(note)])


def _factor(heading: str, *, feet: bool) -> float:
    """What numbers of a column are multiplied by: lengths in feet, where a case prints feet."""
    found = _lengths.search(heading)
    if not feet or found is None:
        return 1.0
    foot = length_unit("US").factor
    return foot if found[1] == "m" else foot**2


def _heading(heading: str, *, feet: bool) -> str:
    if not feet:
        return heading
    return _lengths.sub(lambda unit: "[ft]" if unit[1] == "m" else "[ft²]", heading)


def _cell(text: str, factor: float) -> Any:
    """A number as one, nothing as nothing, text as it stands."""
    try:
        # As many figures as the table had.
        return float(f"{float(text) * factor:.9g}") if factor != 1.0 else _number(text)
    except ValueError:
        return harmless(text) if text else None


def _number(text: str) -> float | int:
    return int(text) if re.fullmatch(r"-?\d{1,15}", text) else float(text)


def _add_text(
    book: Workbook, name: str, lines: Sequence[str], *, wrapped: bool = False
) -> None:
    sheet = book.create_sheet(sheet_title(name, book.sheetnames))
    sheet.column_dimensions["A"].width = 110
    for line in lines:
        sheet.append([harmless(line)])
        cell = sheet.cell(sheet.max_row, 1)
        if wrapped:
            cell.alignment = Alignment(wrap_text=True, vertical="top")
        else:
            cell.font = Font(name="Courier New", size=10)
