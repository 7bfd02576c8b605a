"""Rows of text in columns."""

from collections.abc import Sequence


def aligned(rows: Sequence[Sequence[str]], *, right: int) -> list[str]:
    """Rows in columns of equal width; the first column is set left, `right` more to the right.

    Parameters
    ----------
    rows : sequence of sequence of str
        As many cells in each.
    right : int
        Number of columns after the first that are set to the right.
    """
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    lines = []
    for row in rows:
        cells = [
            cell.rjust(width) if 0 < k <= right else cell.ljust(width)
            for k, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        lines.append("  ".join(cells).rstrip())
    return lines
