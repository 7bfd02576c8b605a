"""Tables of readings, one a row, from whatever spreadsheet wrote them."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import TypeVar

import numpy as np

from ...solver.errors import BudgetError, CaseError, Problem
from .documents import decoded
from .size_limits import MOST_READINGS
from .table_columns import MOST_FAULTS, Headings
from .table_marks import Line, table_lines

_longest_text = 200  # characters of a cell of text

_Reading = TypeVar("_Reading")


@dataclass(frozen=True)
class TableRow:
    """One row of a table in SI units.

    Attributes
    ----------
    problem : callable of str
        Makes a problem of a message, at the row's line.
    values : dict of str to float
        Numbers by the name of their column, percentages as they are written; nan where a
        cell was wrong. Empty cells are not in it.
    words : dict of str to str
        Text by heading, for all headings of text; empty where there is none.
    """

    problem: Callable[[str], Problem]
    values: dict[str, float]
    words: dict[str, str]


class ReadingsTable:
    """A table whose headings are right, and what is wrong with its rows as far as read.

    Parameters
    ----------
    content : bytes
        Bytes of the file: UTF-8 text in which headings with units come first. Commas,
        semicolons or tabs separate the cells, a decimal comma is recognised where it is
        certain, lines that start with # are comments.
    file : str
        Name of the file, for messages.

    Attributes
    ----------
    names : list of str
        Names of its columns.

    Raises
    ------
    CaseError
        If it cannot be split into cells, a heading is wrong, or there are no readings.
    BudgetError
        If there are more readings than the limits allow.
    """

    def __init__(self, content: bytes, *, file: str, headings: Headings) -> None:
        first, *self._lines = table_lines(decoded(content, file=file), file=file)
        self._file = file
        self._headings = headings
        self._problems: list[Problem] = []
        self._first = first
        self.names, self._factors, faults = headings.read(first.cells)
        if not self._lines:
            faults.append("holds no readings below its headings")
        for message in faults:
            self._fault(first, message)
        if self._problems:
            raise CaseError(self._problems)
        if len(self._lines) > MOST_READINGS:
            msg = f"has {len(self._lines):,} readings; at most {MOST_READINGS:,} are read"
            line = self._lines[MOST_READINGS].number
            raise BudgetError([Problem(msg, file=file, line=line)])

    def read(self, reading: Callable[[TableRow], _Reading | None]) -> tuple[_Reading, ...]:
        """All readings.

        Parameters
        ----------
        reading : callable of TableRow
            Makes a reading of a row, or tells by `refuse` why there is none.

        Raises
        ------
        CaseError
            If anything is wrong, with all that is wrong and the lines.
        """
        found = []
        for line in self._lines:
            if len(self._problems) >= MOST_FAULTS:
                self._fault(line, "more rows are wrong; reading stopped here")
                break
            row = self._row(line)
            made = None if row is None else reading(row)
            if made is not None:
                found.append(made)
        if self._problems:
            raise CaseError(self._problems)
        return tuple(found)

    def refuse(self, row: TableRow, message: str) -> None:
        """Keep what is wrong with a row; `read` raises it with the rest."""
        self._problems.append(row.problem(message))

    def refuse_headings(self, message: str) -> None:
        """Raise what is wrong with the headings together.

        Raises
        ------
        CaseError
            Always, at the line of the headings.
        """
        raise CaseError([Problem(message, file=self._file, line=self._first.number)])

    def _row(self, line: Line) -> TableRow | None:
        if len(line.cells) != len(self.names):
            msg = (
                f"{len(line.cells)} cells, the headings name {len(self.names)}; write a "
                "separator for an empty cell too"
            )
            self._fault(line, msg)
            return None
        words = dict.fromkeys(self._headings.words, "")
        values = {}
        for name, factor, cell in zip(self.names, self._factors, line.cells, strict=True):
            if name in words:
                words[name] = self._text(cell, name, line)
            elif cell:
                values[name] = self._number(cell, name, factor, line)
        problem = partial(Problem, file=self._file, line=line.number)
        return TableRow(problem, values, words)

    def _text(self, cell: str, name: str, line: Line) -> str:
        if not cell.isprintable() or len(cell) > _longest_text:
            msg = (
                f"{name}: {cell[:40]!r}; text has at most {_longest_text} printable characters"
            )
            self._fault(line, msg)
        return cell

    def _number(self, cell: str, name: str, factor: float, line: Line) -> float:
        try:
            return self._headings.columns[name].value(cell, name=name, factor=factor)
        except CaseError as error:
            self._fault(line, str(error))
            return np.nan

    def _fault(self, line: Line, message: str) -> None:
        self._problems.append(Problem(message, file=self._file, line=line.number))
