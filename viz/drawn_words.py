"""What terminal and report say of the drawing that metal came from."""

from collections import Counter
from collections.abc import Sequence

from .words.lines import hanging

PICTURE = "picture"  # what a row of it is of
_most = 8  # rows of one kind on a terminal


def first_of_each(rows: Sequence[tuple[str, str]], *, most: int) -> list[tuple[str, str]]:
    """The first rows of each kind, with the number of those left out."""
    counts = Counter(kind for kind, _ in rows)
    told: Counter[str] = Counter()
    found = []
    for kind, words in rows:
        told[kind] += 1
        if told[kind] <= most or counts[kind] == most + 1:
            found.append((kind, words))
        elif told[kind] == most + 1:
            rest = counts[kind] - most
            found.append((kind, f"and {rest:,} more, all in drawing.csv of a run"))
    return found


def drawn_title(rows: Sequence[tuple[str, str]]) -> str:
    """Heading of what became of a drawing, or of a picture of the ground alone."""
    return "Picture of the ground" if {kind for kind, _ in rows} == {PICTURE} else "Drawing"


def drawing_lines(rows: Sequence[tuple[str, str]]) -> list[str]:
    """Lines on what became of a drawing, the first few of each kind; none without rows."""
    lines = [drawn_title(rows)] if rows else []
    for kind, words in first_of_each(rows, most=_most):
        lines += hanging(f"{kind}: {words}", indent="  ")
    return lines
