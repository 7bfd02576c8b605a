"""Sheets of workbooks (.xlsx) as rows of text: values of formulas, and nothing hidden."""

import zipfile
from collections.abc import Iterable, Iterator
from datetime import date, datetime
from io import BytesIO
from typing import Any

from ...solver.errors import BudgetError, CaseError, Problem
from .messages import not_among, shown
from .table_marks import Line

_unpacked = 20  # times as many bytes may a workbook have without its packing
_locked = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"  # a file of another format, or behind a password
_most_faults = 50  # reported before reading stops
_packed = b"PK\x03\x04"


def is_workbook(content: bytes) -> bool:
    """Whether bytes are those of a workbook, readable or not."""
    return content.startswith((_packed, _locked))


def sheet_lines(content: bytes, *, file: str, sheet: str | None, most: int) -> list[Line]:
    """Rows of a sheet that hold something, as text; those that begin with # are left out.

    Parameters
    ----------
    sheet : str or None
        Its name; None takes the only one that holds something.
    most : int
        Rows that are looked at.

    Raises
    ------
    CaseError
        If it is no workbook, holds macros, or needs a password; if no sheet or several could
        be meant; if cells are merged or hidden, or hold formulas without a value: each by its
        name.
    BudgetError
        If it unpacks to more than is read.
    """
    values, formulas = (
        opened_workbook(content, file=file, most=len(content), values=each)
        for each in (True, False)
    )
    held = chosen_sheet(
        {one.title: list(_rows(one, most)) for one in values.worksheets},
        file=file,
        sheet=sheet,
        hint="say which by 'sheet'",
    )
    name, rows = held
    _refuse_out_of_sight(formulas[name], values[name], rows, file)
    return [Line(number, cells) for number, cells in rows]


def opened_workbook(
    content: bytes, *, file: str, most: int, values: bool, streamed: bool = False
) -> Any:
    """A workbook, opened.

    Parameters
    ----------
    most : int
        Bytes a workbook may have; it may unpack to twenty times as many.
    values : bool
        Whether formulas stand as their values.
    streamed : bool, default False
        Whether rows are read as they are asked for, which tells less of them.

    Raises
    ------
    CaseError, BudgetError
        As `sheet_lines`.
    """
    from openpyxl import load_workbook  # takes time to load

    if content.startswith(_locked):
        msg = "needs a password, or is of an older format; save it without, as .xlsx"
        raise CaseError([Problem(msg, file=file)])
    try:
        with zipfile.ZipFile(BytesIO(content)) as packed:
            size = sum(item.file_size for item in packed.infolist())
            macros = any("vbaproject" in name.lower() for name in packed.namelist())
        if macros:
            msg = "holds macros, which are not read; save it as a workbook without (.xlsx)"
            raise CaseError([Problem(msg, file=file)])
        if size > _unpacked * max(most, 1_000_000):
            msg = f"unpacks to {size:,} bytes; save the sheet as CSV"
            raise BudgetError([Problem(msg, file=file)])
        return load_workbook(BytesIO(content), read_only=streamed, data_only=values)
    except CaseError:
        raise
    except Exception as error:  # whatever a damaged workbook makes of its reader
        msg = f"cannot be read as a workbook ({type(error).__name__}); save the sheet as CSV"
        raise CaseError([Problem(msg, file=file)]) from error


def chosen_sheet(
    sheets: dict[str, list[Any]], *, file: str, sheet: str | None, hint: str
) -> tuple[str, list[Any]]:
    """Name and rows of the sheet that is meant: by name, or the only one that holds something.

    `CaseError` if there is none such, or several; `hint` tells how to say which.
    """
    if sheet is not None and sheet not in sheets:
        raise CaseError([Problem(not_among(sheet, list(sheets), what="sheet"), file=file)])
    wanted = sheets if sheet is None else {sheet: sheets[sheet]}
    held = {name: rows for name, rows in wanted.items() if rows}
    if not held:
        raise CaseError([Problem("holds no headings and no rows", file=file)])
    if len(held) > 1:
        msg = f"has sheets {', '.join(map(shown, held))}; {hint}"
        raise CaseError([Problem(msg, file=file)])
    return next(iter(held.items()))


def _rows(sheet: Any, most: int) -> Iterator[tuple[int, tuple[str, ...]]]:
    """Rows that hold something with their number, as wide as the headings where they can be."""
    wide, count = 0, 0
    for number, cells in enumerate(sheet.iter_rows(values_only=True), start=1):
        texts = row_texts(cells)
        if not texts or texts[0].startswith("#"):
            continue
        wide = wide or len(texts)
        yield number, (*texts, *[""] * (wide - len(texts)))
        count += 1
        if count >= most:
            return


def _refuse_out_of_sight(
    sheet: Any, values: Any, rows: list[tuple[int, tuple[str, ...]]], file: str
) -> None:
    """Raise `CaseError` for merged and hidden cells, and formulas that nobody worked out."""
    found: list[Problem] = []
    for merged in sheet.merged_cells.ranges:
        msg = f"cells {merged.coord} are merged; take them apart and fill each"
        found.append(Problem(msg, file=file, line=merged.min_row))
    hidden = {letter for letter, column in sheet.column_dimensions.items() if column.hidden}
    numbers = [number for number, _ in rows]
    for number in numbers:
        for cell in sheet[number]:
            value = values[cell.coordinate].value
            if cell.value is None:
                continue
            if cell.column_letter in hidden or sheet.row_dimensions[number].hidden:
                msg = f"cell {cell.coordinate} is hidden; show it, or take it away"
            elif cell.data_type == "f" and value is None:
                msg = (
                    f"cell {cell.coordinate} is a formula without a value; open the workbook "
                    "where it is worked out, and save it"
                )
            elif cell.data_type == "e" or values[cell.coordinate].data_type == "e":
                msg = f"cell {cell.coordinate} holds the error {value}"
            else:
                continue
            found.append(Problem(msg, file=file, line=number))
            if len(found) > _most_faults:
                raise CaseError(found)
    if found:
        raise CaseError(found)


def row_texts(cells: Iterable[Any]) -> list[str]:
    """Cells of a row as one would type them, without the empty ones at its end."""
    found = list(cells)
    while found and (found[-1] is None or found[-1] == ""):
        found.pop()
    return [_text_of(cell) for cell in found]


def _text_of(cell: Any) -> str:
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return str(cell).lower()
    if isinstance(cell, float):
        return f"{cell:.15g}"
    if isinstance(cell, datetime) and not any((cell.hour, cell.minute, cell.second)):
        cell = cell.date()  # a day, which workbooks keep as its midnight
    if isinstance(cell, date | datetime):
        return cell.isoformat()
    return str(cell).strip()
