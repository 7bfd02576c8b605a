"""The folder of field sheets: the paper, and tables to fill in for what was written on it."""

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from openpyxl import Workbook
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter

from ...solver.earth_tests import SHUNT, FieldSheets
from ...solver.progress import Progress, parts, unwatched
from ...solver.results.result import Result
from ..cautions import ON_FIELD_SHEETS
from ..files.whole import check_folder, write_whole
from ..report.contents import CaseOrigin, Section
from ..report.paper import paper_bytes
from ..report.reader import Reader
from ..tables.csv_files import harmless, write_table
from ..tables.sheet_titles import sheet_title
from .earth_test import earth_test_sheet
from .points import points_sheet
from .record import record_sheet
from .sketch import leads_picture, points_picture
from .stray import stray_rows, stray_sheet
from .survey import survey_sheet
from .templates import BLOCK, Template, measured_block, templates

paper_name, workbook_name = "sheets.pdf", "readings.xlsx"
_empty_rows = 20  # of a record


def check_sheets_folder(folder: Path) -> None:
    """Raise unless `save_sheets` can write to a folder; files of others in it stay.

    Raises
    ------
    ResultError
        If something is in the way: tables that were filled in are never written over.
    """
    check_folder(folder, kind="sheets")


def field_sections(sheets: FieldSheets, result: Result) -> tuple[Section, ...]:
    """All sheets as sections of a paper."""
    return (
        survey_sheet(sheets),
        earth_test_sheet(sheets, result, leads_picture(sheets, result)),
        points_sheet(sheets, points_picture(sheets, result)),
        stray_sheet(sheets),
        record_sheet(sheets),
    )


def save_sheets(
    sheets: FieldSheets,
    folder: Path,
    *,
    result: Result,
    origin: CaseOrigin,
    reader: Reader | None = None,
    progress: Progress = unwatched,
) -> tuple[Path, ...]:
    """Write the sheets and their tables to a folder, all or nothing.

    Parameters
    ----------
    result : Result
        With which they were planned.
    origin : CaseOrigin
        The case they are of.
    reader : Reader, optional
        Paper, units and words; by the units of the case when left out.
    progress : callable, optional
        Told the name of each file as it is begun, and the share of the work done by then.

    Raises
    ------
    ResultError
        If something is in the way.
    """
    made = datetime.now().astimezone()
    reader = reader or Reader.of(origin.units)
    tables = templates(sheets, result, units=reader.units)

    def write(into: Path) -> list[Path]:
        files = [into / paper_name, into / workbook_name, into / BLOCK]
        begun = parts(progress, [4, 1, 1])
        begun[0](paper_name, 0.0)
        files[0].write_bytes(
            paper_bytes(
                origin,
                field_sections(sheets, result),
                made=made,
                live=result,
                reader=reader,
                apart="field sheets",
            )
        )
        begun[1](workbook_name, 0.0)
        _workbook(tables, sheets).save(files[1])
        files[2].write_text(measured_block(tables), encoding="utf-8")
        return [*files, *(_table(one, into) for one in tables)]

    return write_whole(folder, write=write, kind="sheets", command="sheets")


def _table(one: Template, folder: Path) -> Path:
    rows = [["" if value is None else value for value in row] for row in one.rows]
    notes = [*one.notes, ON_FIELD_SHEETS]
    return write_table(folder / one.file, notes=notes, header=one.header, rows=rows)


def _workbook(tables: Sequence[Template], sheets: FieldSheets) -> Any:
    """The same tables as sheets of a workbook, with those that are worked out in it."""
    book = Workbook()
    book.remove(book.active)
    for one in tables:
        _fill(book, one.name, one.header, one.rows)
    header = (
        "place",
        "between",
        "and",
        "open [V]",
        "loaded [V]",
        "source [ohm]",
        "loaded [mA]",
    )
    rows = []
    for number, (name, one_end, other_end) in enumerate(stray_rows(sheets), start=2):
        ready = f"AND(D{number}>0,E{number}>0,E{number}<=D{number})"
        source = f'=IF({ready},{SHUNT:g}*(D{number}/E{number}-1),"")'
        current = f'=IF(E{number}>0,1000*E{number}/{SHUNT:g},"")'
        rows.append((name, one_end, other_end, None, None, _Formula(source), _Formula(current)))
    _fill(book, "stray voltage", header, rows)
    record = ("date", "ground", "read [ohm]", "factor", "corrected [ohm]", "note")
    factor = round(float(sheets.chosen.factor[0]), 4)
    years = [
        (None, None, None, factor, _Formula(f'=IF(C{k}>0,C{k}*D{k},"")'), None)
        for k in range(2, 2 + _empty_rows)
    ]
    _fill(book, "record", record, years)
    _fill(book, "what to mind", ("what to mind",), [(ON_FIELD_SHEETS,)])
    return book


class _Formula(str):
    """A cell that the workbook works out."""

    __slots__ = ()


def _fill(
    book: Any, name: str, header: Sequence[str], rows: Sequence[Sequence[object]]
) -> None:
    sheet = book.create_sheet(sheet_title(name, book.sheetnames))
    sheet.append([harmless(heading) for heading in header])
    for row in rows:
        sheet.append([_cell(value) for value in row])
    for cell in sheet[1]:
        cell.font = Font(bold=True)
    sheet.freeze_panes = "A2"
    for number, heading in enumerate(header):
        texts = [heading, *(str(row[number]) for row in rows if row[number] is not None)]
        texts = [text for text in texts if not text.startswith("=")]
        wide = min(max(map(len, texts)) + 2, 60)
        sheet.column_dimensions[get_column_letter(number + 1)].width = wide


def _cell(value: object) -> object:
    if isinstance(value, _Formula):
        return str(value)
    return harmless(value) if isinstance(value, str) else value
