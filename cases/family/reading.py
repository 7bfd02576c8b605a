"""From a template and a table to the cases of its rows, or what is wrong with each."""

import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from ...solver.errors import CaseError, Problem
from ..building import built
from ..case import Case
from ..loading import case_file, load_case
from ..reading.documents import Document
from ..reading.table_columns import plain_number
from ..reading.yaml_reader import read_document
from ..shipped import shipped_families, shipped_family_path
from .columns import COORDINATES, NAME, Column, column_of, overlapping
from .rows import Row, Template, case_sha256, cell_problem, row_document, row_source, row_text
from .table import TextRow, TextTable, text_table

_longest_name = 100  # characters
_pairs = (("east", "north"), ("latitude", "longitude"))


@dataclass(frozen=True)
class BadRow:
    """A row that makes no case: what is wrong with it."""

    row: Row
    problems: tuple[Problem, ...]


@dataclass(frozen=True)
class Family:
    """A template and the rows that differ from it; of their cells only the form is checked.

    Attributes
    ----------
    template : Template
        With the columns.
    case : Case
        Of the template, checked.
    rows : tuple of Row
        Those whose form is right.
    bad : tuple of BadRow
        The others.
    """

    template: Template
    case: Case
    rows: tuple[Row, ...]
    bad: tuple[BadRow, ...]

    def own(self, row: Row) -> dict[str, str]:
        """What a row says of itself: notes and coordinates by their names."""
        return {
            column.own: cell
            for column, cell in zip(self.template.columns, row.cells, strict=True)
            if column.own and column.own != NAME
        }

    def place(self, row: Row) -> tuple[float, float] | None:
        """East and north, or longitude and latitude; None where there are none. [m, °]"""
        own = self.own(row)
        for first, second in (("east", "north"), ("longitude", "latitude")):
            if own.get(first):
                return float(own[first]), float(own[second])
        return None

    @property
    def coordinates(self) -> str:
        """Which coordinates the table has: "plan", "geographic" or none."""
        own = {column.own for column in self.template.columns}
        return "plan" if "east" in own else "geographic" if "latitude" in own else ""


def read_family(
    template: str | os.PathLike[str],
    table: str | os.PathLike[str],
    *,
    sheet: str | None = None,
) -> Family:
    """Family of a template and a table.

    Parameters
    ----------
    template : str or path-like
        A case file, or the name of a shipped case or family.
    table : str or path-like
        CSV, or a workbook (.xlsx): headings are places in the case with units, and what is
        about the row itself: ``name``, coordinates, ``note: …``. Or the name of a shipped
        family.
    sheet : str, optional
        Of a workbook that has several.

    Returns
    -------
    family : Family
        What is wrong with single rows is in it.

    Raises
    ------
    CaseError
        If the template is wrong, the table cannot be read, or headings are wrong, with all of
        them.
    """
    file = case_file(_shipped(template, ".yaml"))
    case = load_case(file)
    given = text_table(_shipped(table, ".csv"), sheet=sheet)
    columns = _columns(given, case.document)
    home = str(file.parent.resolve())
    base = Template(case.source.text, case.source.file, home, given.file, columns)
    rows: list[Row] = []
    bad: list[BadRow] = []
    names: dict[str, int] = {}
    for line in given.rows:
        row, problems = _row(line, base, names)
        if problems:
            bad.append(BadRow(row, tuple(problems)))
        else:
            rows.append(row)
    return Family(base, case, tuple(rows), tuple(bad))


def _shipped(path: str | os.PathLike[str], ending: str) -> Path:
    """The path, or that of a file of a shipped family where no file has that name."""
    if not Path(path).exists() and str(path) in shipped_families():
        return shipped_family_path(str(path), ending=ending)
    return Path(path)


def _columns(given: TextTable, document: Document) -> tuple[Column, ...]:
    columns: list[Column] = []
    problems: list[str] = []
    for heading in given.headings.cells:
        try:
            columns.append(column_of(heading, template=document))
        except CaseError as error:
            problems.append(f"heading {heading[:80]!r}: {error.problems[0].message}")
    for column, other in overlapping(columns):
        what = "sets what" if column.target else "says what"
        problems.append(f"heading {column.heading!r} {what} {other.heading!r} does; keep one")
    own = [column.own for column in columns]
    for pair in _pairs:
        if len(set(pair) & set(own)) == 1:
            problems.append(f"{' and '.join(pair)} go together; one of them is missing")
    if all(set(pair) <= set(own) for pair in _pairs):
        problems.append("both plan and geographic coordinates are given; keep one pair")
    if not problems and not any(column.target for column in columns):
        problems.append("no heading is a place of the template: all rows would be the same")
    if problems:
        line = given.headings.line
        raise CaseError([Problem(one, file=given.file, line=line) for one in problems])
    return tuple(columns)


def _row(line: TextRow, template: Template, names: dict[str, int]) -> tuple[Row, list[Problem]]:
    """A row, and what is wrong with its form; `names` are those of the rows before."""
    columns = template.columns
    cells, wanted = line.cells, len(columns)
    fits = len(cells) == wanted
    # A row that does not fit has no name either: which cell is it?
    own = [column.own for column in columns]
    name = cells[own.index(NAME)] if fits and NAME in own else f"row {line.number}"
    row = Row(line.number, line.line, name, cells if fits else ("",) * wanted)
    if not fits:
        msg = f"{len(cells)} cells, the headings name {wanted}; write a separator for each"
        return row, [Problem(msg, "", template.table, line.line)]
    problems = []
    for column, cell in zip(columns, cells, strict=True):
        if column.own == NAME:
            problems += [cell_problem(m, template, row, column) for m in _of_name(cell, names)]
            names.setdefault(cell, line.line)
        elif column.own in COORDINATES:
            pair = [other for one in _pairs if column.own in one for other in one]
            given = any(cells[own.index(other)] for other in pair)
            if given and (message := _of_coordinate(column.own, cell)):
                problems.append(cell_problem(message, template, row, column))
    return row, problems


def _of_name(name: str, names: dict[str, int]) -> Iterator[str]:
    if not name:
        yield "is empty; give each row a name"
    elif len(name) > _longest_name or not name.isprintable():
        yield f"{name[:40]!r}; a name has at most {_longest_name} printable characters"
    elif name in names:
        yield f"{name!r} is the name of line {names[name]} too; names must differ"


def _of_coordinate(own: str, cell: str) -> str:
    if not plain_number(cell):
        also = "" if cell else "; leave both coordinates empty where they are not known"
        return f"{cell[:40]!r} is not a plain number{also}"
    most = {"latitude": 90.0, "longitude": 180.0}.get(own, 1e8)
    if abs(float(cell)) > most:
        return f"{cell} is not within ±{most:g}"
    return ""


@lru_cache(maxsize=4)
def template_document(template: Template) -> Document:
    """Document of a template, read once a process."""
    return read_document(template.text, file=template.file)


def row_case(template: Template, row: Row, *, design: bool = False) -> Case:
    """Case of a row with its variants, checked, its choices if asked for; nothing is solved.

    `CaseError` with all that is wrong with it, said in terms of its cells where it can be.
    """
    before = template_document(template)
    document = row_document(template, row, document=before, design=design)
    return built(document, source=row_source(template), folder=template.home)


def row_sha256(template: Template, row: Row) -> str:
    """Hash of the case of a row; `CaseError` as `row_case`."""
    return case_sha256(row_case(template, row))


def row_case_text(template: Template, row: Row, *, heading: Sequence[str]) -> str:
    """Text of the case file of a row, which gives the same numbers when it is run alone."""
    before = template_document(template)
    after = row_document(template, row, document=before)
    return row_text(before, after, template.text, heading=heading)
