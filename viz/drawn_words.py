"""What the terminal says of the drawing that metal came from."""

from collections import Counter
from collections.abc import Sequence

from .words.lines import hanging

_most = 8  # rows of one kind; the report has all


def drawing_lines(rows: Sequence[tuple[str, str]]) -> list[str]:
    """Lines on what became of a drawing, the first few of each kind; none without rows."""
    counts = Counter(kind for kind, _ in rows)
    told: Counter[str] = Counter()
    lines = ["Drawing"] if rows else []
    for kind, words in rows:
        told[kind] += 1
        if told[kind] <= _most or counts[kind] == _most + 1:
            lines += hanging(f"{kind}: {words}", indent="  ")
        elif told[kind] == _most + 1:
            rest = counts[kind] - _most
            lines.append(f"  {kind}: and {rest:,} more, all in the report of a run")
    return lines
