"""Tables as CSV files: lines that say what they are, one line of headings, rows."""

import csv
from collections.abc import Iterable, Sequence
from pathlib import Path

import numpy as np


def write_table(
    path: Path,
    *,
    notes: Iterable[str],
    header: Sequence[str],
    rows: Iterable[Sequence[object]],
) -> Path:
    """Write one table; numbers to nine figures, not-a-number as nothing.

    Parameters
    ----------
    notes : iterable of str
        Lines on top; each is marked with #.
    rows : iterable of sequence
        Cells: numbers or text.
    """
    with path.open("w", newline="", encoding="utf-8") as file:
        for line in notes:
            file.write(f"# {line}\n")
        table = csv.writer(file, lineterminator="\n")
        table.writerow(header)
        for row in rows:
            table.writerow([_cell(value) for value in row])
    return path


def _cell(value: object) -> str:
    if isinstance(value, float):
        return "" if np.isnan(value) else f"{value:.9g}"
    return str(value)
