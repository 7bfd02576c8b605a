"""A table of differences as text: from CSV, or from a sheet of a workbook."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ...solver.errors import BudgetError, CaseError, Problem
from ..reading.documents import decoded
from ..reading.size_limits import LARGEST_FAMILY, MOST_FAMILY_COLUMNS, MOST_FAMILY_ROWS
from ..reading.table_marks import table_lines
from ..reading.workbooks import chosen_sheet, opened_workbook, row_texts


@dataclass(frozen=True)
class TextRow:
    """One row below the headings."""

    number: int  # from 1
    line: int  # in the file, or row of the sheet, from 1
    cells: tuple[str, ...]  # without blanks round them


@dataclass(frozen=True)
class TextTable:
    """Cells of a table as text, nothing of them checked.

    Attributes
    ----------
    file : str
        Name of the file.
    headings : TextRow
        Their row, of number 0.
    rows : tuple of TextRow
        All that hold something.
    """

    file: str
    headings: TextRow
    rows: tuple[TextRow, ...]


def text_table(path: Path, *, sheet: str | None = None) -> TextTable:
    """Table of a file.

    Parameters
    ----------
    path : Path
        Comma-, semicolon- or tab-separated text, or a workbook (.xlsx).
    sheet : str, optional
        Sheet of the workbook; left out, the only one that holds something.

    Raises
    ------
    CaseError
        If there is no such file, or it cannot be split into headings and rows.
    BudgetError
        If it is larger than a table may be.
    """
    if not path.is_file():
        msg = f"no table {str(path)!r}: {'that is a folder' if path.is_dir() else 'no file'}"
        raise CaseError([Problem(msg)])
    size = path.stat().st_size
    if size > LARGEST_FAMILY:
        msg = f"{size:,} bytes; a table has at most {LARGEST_FAMILY:,}: split it"
        raise BudgetError([Problem(msg, file=path.name)])
    content = path.read_bytes()
    is_workbook = path.suffix.lower() in (".xlsx", ".xlsm")
    lines = _of_workbook(content, path.name, sheet) if is_workbook else _of_text(content, path)
    if sheet is not None and not is_workbook:
        raise CaseError([Problem(f"no sheet {sheet!r} in a text file", file=path.name)])
    first, *others = lines
    wide = len(first.cells)
    if wide > MOST_FAMILY_COLUMNS:
        msg = f"{wide:,} headings; a table has at most {MOST_FAMILY_COLUMNS}"
        raise BudgetError([Problem(msg, file=path.name, line=first.line)])
    if not others:
        msg = "holds no rows below its headings"
        raise CaseError([Problem(msg, file=path.name, line=first.line)])
    if len(others) > MOST_FAMILY_ROWS:
        msg = f"has more than {MOST_FAMILY_ROWS:,} rows; split it"
        raise BudgetError([Problem(msg, file=path.name, line=others[MOST_FAMILY_ROWS].line)])
    return TextTable(path.name, first, tuple(others))


def _of_text(content: bytes, path: Path) -> list[TextRow]:
    text = decoded(content, file=path.name)
    empty = "holds no headings and no rows"
    lines = table_lines(text, file=path.name, most=MOST_FAMILY_ROWS + 2, empty=empty)
    return [TextRow(k, line.number, line.cells) for k, line in enumerate(lines)]


def _of_workbook(content: bytes, file: str, sheet: str | None) -> list[TextRow]:
    # Rows as they are asked for: a family may be long.
    book = opened_workbook(content, file=file, most=LARGEST_FAMILY, values=True, streamed=True)
    try:
        sheets = {one.title: list(_lines(one, file)) for one in book.worksheets}
    except CaseError:
        raise
    except Exception as error:  # whatever a damaged workbook makes of its reader
        msg = f"cannot be read as a workbook ({type(error).__name__}); save the sheet as CSV"
        raise CaseError([Problem(msg, file=file)]) from error
    return chosen_sheet(sheets, file=file, sheet=sheet, hint="say which (--sheet)")[1]


def _lines(sheet: Any, file: str) -> Iterator[TextRow]:
    """Rows of a sheet that hold something, cut to the width of the headings where they can."""
    number, wide = 0, 0
    for line, cells in enumerate(sheet.iter_rows(values_only=True), start=1):
        texts = row_texts(cells)
        if not texts or texts[0].startswith("#"):
            continue
        wide = wide or len(texts)
        texts += [""] * (wide - len(texts))
        yield TextRow(number, line, tuple(texts))
        number += 1
        if number > MOST_FAMILY_ROWS + 1:
            msg = f"has more than {MOST_FAMILY_ROWS:,} rows; split it"
            raise BudgetError([Problem(msg, file=file, line=line)])
