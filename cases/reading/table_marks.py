"""Which separator and decimal mark a spreadsheet wrote: recognised from the whole table.

Nothing is guessed. ``1,500`` alone may be one and a half or fifteen hundred; a table in
which only such numbers stand is refused, one ``0,5`` beside them settles it.
"""

import csv
import re
import sys
from dataclasses import dataclass
from itertools import islice

from ...solver.errors import CaseError, Problem

_separators = {";": "semicolons", ",": "commas", "\t": "tabs"}
_number = re.compile(r"[+-]?[0-9.,]*[0-9][0-9.,]*(?:[eE][+-]?[0-9]{1,2})?")
# Digits in threes, as a thousands separator groups them: never after a leading zero.
_grouped = {mark: re.compile(rf"[+-]?[1-9][0-9]{{0,2}}(?:\{mark}[0-9]{{3}})+") for mark in ",."}


@dataclass(frozen=True)
class Line:
    """One line of a table that holds cells."""

    number: int  # line in the file, counted from 1
    cells: tuple[str, ...]  # its cells without blanks round them; numbers with a decimal point


def table_lines(
    text: str,
    *,
    file: str,
    most: int = sys.maxsize,
    empty: str = "holds no headings and no readings",
    uneven: str = "cannot be split into cells",
) -> list[Line]:
    """Lines of a table, without empty ones and # comments, decimal commas made points.

    Headings come first; commas, semicolons or tabs separate cells. No more than `most` lines
    are looked at. `empty` and `uneven` are the messages about a file that holds nothing, and
    about quotes that do not close.
    `CaseError` for these, or if separator or decimal mark cannot be told; with line numbers.
    """
    held = (
        (number, line)
        for number, line in enumerate(text.splitlines(), start=1)
        if line.strip(' \t;,"') and not line.lstrip(' \t"').startswith("#")
    )
    kept = list(islice(held, most))
    if not kept:
        raise CaseError([Problem(empty, file=file, line=1)])
    separator = _separator(kept[0][1], file=file, line=kept[0][0])
    lines, problems = [], []
    for number, line in kept:
        try:
            (cells,) = csv.reader([line], delimiter=separator, strict=True)
        except csv.Error as error:
            problems.append(Problem(f"{uneven}: {error}", file=file, line=number))
            continue
        lines.append(Line(number, tuple(cell.strip() for cell in cells)))
    if problems:
        raise CaseError(problems)
    return _with_points(lines, separator=separator, file=file)


def _separator(headings: str, *, file: str, line: int) -> str:
    """Separator of the line of headings, whose brackets hold none."""
    bare = re.sub(r"\[[^\]]*\]", "", headings)
    found = [mark for mark in _separators if mark in bare]
    if len(found) > 1:
        names = " and ".join(_separators[mark] for mark in found)
        msg = f"{names} stand between the headings: separate all cells by the same one"
        raise CaseError([Problem(msg, file=file, line=line)])
    if not found:
        msg = (
            f"{headings.strip()[:40]!r} is one heading; a table needs two or more, separated "
            "by commas, semicolons or tabs"
        )
        raise CaseError([Problem(msg, file=file, line=line)])
    return found[0]


def _with_points(lines: list[Line], *, separator: str, file: str) -> list[Line]:
    """The same lines with decimal points, once the decimal mark is certain."""
    # Dates and notes stand under headings without a unit and are left alone.
    measured = {k for k, heading in enumerate(lines[0].cells) if "[" in heading}
    numbers = [
        (line.number, cell)
        for line in lines[1:]
        for k, cell in enumerate(line.cells)
        if k in measured and _number.fullmatch(cell)
    ]
    marked = {m: [item for item in numbers if m in item[1]] for m in ",."}
    if separator == ",":
        if marked[","]:
            number, cell = marked[","][0]
            msg = (
                f"{cell!r} holds a comma where commas separate the cells: write a decimal "
                "point and no thousands separator, or separate the cells by semicolons"
            )
            raise CaseError([Problem(msg, file=file, line=number)])
        return lines
    if marked[","] and marked["."]:
        (number, cell), (other, twin) = marked[","][0], marked["."][0]
        msg = (
            f"{cell!r} has a comma, {twin!r} on line {other} a point: use one decimal mark "
            "in the whole table and no thousands separator"
        )
        raise CaseError([Problem(msg, file=file, line=number)])
    mark = "," if marked[","] else "."
    if marked[mark] and all(_grouped[mark].fullmatch(cell) for _, cell in marked[mark]):
        number, cell = marked[mark][0]
        msg = (
            f"{cell!r}: it cannot be told whether '{mark}' is a decimal mark or separates "
            "thousands, as every number with one has three digits behind it; write one of "
            f"them with another number of decimals, such as {cell}0"
        )
        raise CaseError([Problem(msg, file=file, line=number)])
    if mark == ".":
        return lines

    def pointed(line: Line) -> Line:
        return Line(
            line.number,
            tuple(
                c.replace(",", ".") if k in measured else c for k, c in enumerate(line.cells)
            ),
        )

    return [lines[0], *map(pointed, lines[1:])]
