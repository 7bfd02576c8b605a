"""A row laid over its template: the document of its own case, and problems in its words."""

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ... import __version__
from ...solver.errors import CaseError, Problem
from ..case import Case, Source
from ..changes import NOT_TAKEN
from ..differences import Path as Steps
from ..reading.documents import Document
from ..reading.raw_content import put
from ..reading.yaml_edits import edited
from .columns import AS_TEMPLATE, Column


@dataclass(frozen=True)
class Template:
    """A case and the columns that differ from it; small, so that any process can have it.

    Attributes
    ----------
    text, file : str
        Of the case file.
    folder : str or None
        Where the tables that it names lie; None refuses them.
    table : str
        Name of the file of the table.
    columns : tuple of Column
        All of the table, in its order.
    """

    text: str
    file: str
    folder: str | None
    table: str
    columns: tuple[Column, ...]

    @property
    def home(self) -> Path | None:
        """Folder of its tables."""
        return None if self.folder is None else Path(self.folder)


@dataclass(frozen=True)
class Row:
    """One row of a table: a site, or a draw.

    Attributes
    ----------
    number, line : int
        From 1; its line in the file or row in the sheet.
    name : str
        The user's, or its number.
    cells : tuple of str
        As they stand, one for each column.
    """

    number: int
    line: int
    name: str
    cells: tuple[str, ...]


@dataclass(frozen=True)
class RowDocument(Document):
    """Content of a case as one row has it."""

    template: Template = field(default_factory=lambda: Template("", "", None, "", ()))
    row: Row = field(default_factory=lambda: Row(0, 0, "", ()))

    def problem(self, message: str, *, path: Steps = ()) -> Problem:
        """Problem at a path: in the cell that put something there, or in the template."""
        for column, cell in zip(self.template.columns, self.row.cells, strict=True):
            target = column.target
            if target and cell != AS_TEMPLATE and path[: len(target)] == target:
                return cell_problem(message, self.template, self.row, column)
        place = super().problem(message, path=path).path
        return Problem(message, place, self.template.table, self.row.line)


def cell_problem(message: str, template: Template, row: Row, column: Column) -> Problem:
    """Problem of a cell."""
    return Problem(message, column.heading, template.table, row.line)


def row_document(
    template: Template, row: Row, *, document: Document, design: bool = False
) -> RowDocument:
    """The case as a row has it, valid or not.

    Parameters
    ----------
    document : Document
        Of the template.
    design : bool, default False
        Whether the choices of the template stay.

    Raises
    ------
    CaseError
        If cells are empty or are no values, with all of them.
    """
    content: dict[str, Any] = {
        key: item
        for key, item in document.content.items()
        if key not in NOT_TAKEN or (design and key == "design")
    }
    problems = []
    for column, cell in zip(template.columns, row.cells, strict=True):
        if not column.target or cell == AS_TEMPLATE:
            continue
        try:
            content = put(content, column.target, column.value(cell))
        except CaseError as error:
            problems.append(cell_problem(error.problems[0].message, template, row, column))
    if problems:
        raise CaseError(problems)
    return RowDocument(content, document.lines, document.file, template, row)


def case_sha256(case: Case) -> str:
    """Hash of all that a row's case is: version of the program, content, tables beside it."""
    parts = [
        __version__,
        json.dumps(case.document.content, sort_keys=True, ensure_ascii=False),
        *sum(case.source.tables, ()),
    ]
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()


def row_source(template: Template) -> Source:
    """The text that the cases of all rows come from."""
    text = template.text
    return Source(template.file, text, hashlib.sha256(text.encode()).hexdigest())


def row_text(before: Document, after: Document, text: str, *, heading: Sequence[str]) -> str:
    """Text of the case file of a row, with the comments of the template.

    Parameters
    ----------
    before, after : Document
        Of the template, whose text is given, and of the row.
    heading : sequence of str
        Lines of comment to stand on top.

    Raises
    ------
    CaseError
        If the text of the template cannot be edited to say that.
    """
    found = edited(text, before=before.content, after=after.content)
    return "".join(f"# {line}\n" for line in heading) + "\n" + found
