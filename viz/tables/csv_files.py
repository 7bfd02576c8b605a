"""Tables as CSV files: lines that say what they are, one line of headings, rows."""

import csv
import re
from collections.abc import Iterable, Sequence
from pathlib import Path

# What a spreadsheet takes for a formula: one of these signs at the start of a cell, be the
# cells separated by commas, semicolons or tabs, unless a plain number follows.
_formula = re.compile(
    r"(^|[,;\t])(\s*)"
    r"(?=[=+\-@\uff1d\uff0b\uff0d\uff20])"
    r"(?![+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?\s*(?:$|[,;\t]))"
)
_nanometre = 1e-9  # [m]


def write_table(
    path: Path,
    *,
    notes: Iterable[str],
    header: Sequence[str],
    rows: Iterable[Sequence[object]],
) -> Path:
    """Write one table; numbers to nine figures, not-a-number as nothing.

    Places and lengths of less than a nanometre are round-off, and 0.

    Parameters
    ----------
    notes : iterable of str
        Lines on top; each is marked with #.
    rows : iterable of sequence
        Cells: numbers or text.
    """
    with path.open("w", newline="", encoding="utf-8") as file:
        for line in notes:
            file.write(f"# {harmless(line)}\n")
        table = csv.writer(file, lineterminator="\n")
        table.writerow([harmless(heading) for heading in header])
        least = [_nanometre if heading.endswith("[m]") else 0.0 for heading in header]
        for row in rows:
            table.writerow([_cell(value, near) for value, near in zip(row, least, strict=True)])
    return path


def harmless(text: str) -> str:
    """Text with an apostrophe before what a spreadsheet would run, as it shows such text."""
    return _formula.sub(r"\1\2'", text)


def _cell(value: object, least: float) -> str:
    if isinstance(value, float):
        if value != value:  # not a number; quicker than to ask numpy, for a cell alone
            return ""
        return f"{0.0 if abs(value) < least else value:.9g}"
    return harmless(str(value))
