"""Type of the report on paper, and how wide the columns of its tables are."""

from collections.abc import Sequence

from reportlab.pdfbase.pdfmetrics import stringWidth

plain_font, bold_font = "ohmscape", "ohmscape-bold"
"""Names under which the fonts are known to reportlab."""
small_type = 7.2
"""Size of type in tables. [point]"""
_to_write_in = 130.0  # a column that is filled in by hand [point]
_padding = 7.0


def column_widths(rows: Sequence[Sequence[str]], *, room: float, to_fill: bool) -> list[float]:
    """Widths of columns: each its longest word at least, the rest by how much it holds.

    Parameters
    ----------
    room : float
        Width of all together at most. [point]
    to_fill : bool
        Whether columns without content are to be filled in by hand.
    """

    def wide(text: str) -> float:
        return float(stringWidth(text, bold_font, small_type)) + _padding

    columns = list(zip(*rows, strict=True))
    least = [
        min(max(wide(word) for cell in column for word in cell.split(" ")), room / 3)
        for column in columns
    ]
    blank = [to_fill and not any(column[1:]) for column in columns]
    wanted = [
        _to_write_in if empty else max(wide(cell) for cell in column)
        for column, empty in zip(columns, blank, strict=True)
    ]
    spare = room - sum(least)
    if spare <= 0:
        return [room * part / sum(least) for part in least]
    more = [max(0.0, want - have) for want, have in zip(wanted, least, strict=True)]
    share = min(1.0, spare / sum(more)) if sum(more) else 0.0
    return [have + share * extra for have, extra in zip(least, more, strict=True)]
