"""Tables beside a case: rods, conductors, survey and meter readings, one a row."""

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from ...solver.errors import BudgetError, CaseError, Problem
from .documents import decoded
from .table_columns import Headings
from .table_marks import Line, table_lines
from .workbooks import is_workbook, sheet_lines

_most_headings = 100
_most_faults = 50  # reported before reading stops
_longest_text = 200  # characters of a cell of text


@dataclass(frozen=True)
class Row:
    """One row of a table in SI units."""

    file: str
    line: int
    # Numbers by the name of their column, percentages as they are written; nan where a cell
    # was wrong. Empty cells are not in it.
    values: dict[str, float]
    # Text by heading, for all headings of text; empty where there is none.
    words: dict[str, str]
    # What is wrong with it; `rows` of its table raises them with all others.
    faults: list[Problem] = field(default_factory=list)

    def problem(self, message: str) -> Problem:
        """Problem at the row's line."""
        return Problem(message, file=self.file, line=self.line)

    def refuse(self, message: str) -> None:
        """Keep what is wrong with the row."""
        self.faults.append(self.problem(message))


class Table:
    """A table whose headings are right; its rows are checked as they are taken.

    Parameters
    ----------
    content : bytes
        Bytes of the file: UTF-8 text in which headings with units come first. Commas,
        semicolons or tabs separate the cells, a decimal comma is recognised where it is
        certain, lines that start with # are comments. Or a workbook (.xlsx) with the same.
    file : str
        Name of the file, for messages.
    sheet : str, optional
        Of a workbook; the only one that holds something when left out.

    Attributes
    ----------
    names : list of str
        Names of its columns.

    Raises
    ------
    CaseError
        If it cannot be split into cells, a heading is wrong, or there are no rows.
    BudgetError
        If there are more rows than the headings allow.
    """

    def __init__(
        self, content: bytes, *, file: str, headings: Headings, sheet: str | None = None
    ) -> None:
        lines = _lines(content, file=file, headings=headings, sheet=sheet)
        first, *self._lines = lines
        self._file = file
        self._headings = headings
        self._first_line = first.number
        if len(first.cells) > _most_headings:
            self.refuse_headings(
                f"{len(first.cells):,} headings, a table has {_most_headings} at most; "
                + headings.wanted
            )
        self.names, self._factors, faults = headings.read(first.cells)
        if missing := headings.missing(self.names):
            faults = faults or [missing]
        if not self._lines:
            faults.append(f"holds no {headings.rows} below its headings")
        if faults:
            self.refuse_headings(*faults)
        if len(self._lines) > headings.most:
            problem = Problem(
                headings.too_many, file=file, line=self._lines[headings.most].number
            )
            raise BudgetError([problem])

    def rows(self) -> Iterator[Row]:
        """The rows in their order; whoever takes them may refuse each.

        `CaseError` after the last row, with all that is wrong.
        """
        self._refuse_decimal_commas()
        problems: list[Problem] = []
        for line in self._lines:
            if len(problems) >= _most_faults:
                msg = "more rows are wrong; reading stopped here"
                problems.append(Problem(msg, file=self._file, line=line.number))
                break
            row = Row(self._file, line.number, {}, dict.fromkeys(self._headings.words, ""))
            if len(line.cells) == len(self.names):
                self._fill(row, line)
                yield row
            else:
                hint = self._headings.hint
                row.refuse(
                    f"{len(line.cells)} cells, the headings name {len(self.names)}; {hint}"
                )
            problems += row.faults
        if problems:
            raise CaseError(problems)

    def _refuse_decimal_commas(self) -> None:
        """Raise `CaseError` where every row has too many cells: one cause, told once."""
        wanted, counts = len(self.names), [len(line.cells) for line in self._lines]
        if len(counts) > 1 and min(counts) > wanted:
            first = self._lines[0]
            msg = (
                f"{counts[0]} cells, the headings name {wanted}, and so in all {len(counts)} "
                "rows: are there decimal commas? Write points, or separate cells by semicolons"
            )
            raise CaseError([Problem(msg, file=self._file, line=first.number)])

    def refuse_headings(self, *messages: str) -> None:
        """Raise `CaseError` with what is wrong with the headings together, at their line."""
        raise CaseError([Problem(m, file=self._file, line=self._first_line) for m in messages])

    def _fill(self, row: Row, line: Line) -> None:
        for name, factor, cell in zip(self.names, self._factors, line.cells, strict=True):
            if name in row.words:
                row.words[name] = cell
                if not cell.isprintable() or len(cell) > _longest_text:
                    row.refuse(
                        f"{name}: {cell[:40]!r}; text has at most {_longest_text} printable "
                        "characters"
                    )
            elif cell or self._headings.filled:
                try:
                    value = self._headings.columns[name].value(cell, name=name, factor=factor)
                except CaseError as error:
                    row.refuse(str(error))
                    value = np.nan
                row.values[name] = value


def _lines(content: bytes, *, file: str, headings: Headings, sheet: str | None) -> list[Line]:
    """Lines of a table, of text or of a sheet of a workbook."""
    most = headings.most + 2  # the headings, and one row more than allowed
    if is_workbook(content):
        return sheet_lines(content, file=file, sheet=sheet, most=most)
    if sheet is not None:
        msg = f"no sheet {sheet!r} in a text file; leave 'sheet' out"
        raise CaseError([Problem(msg, file=file)])
    return table_lines(
        decoded(content, file=file),
        file=file,
        most=most,
        empty=headings.missing([]) or "holds no headings and no readings",
        uneven=headings.uneven,
    )
