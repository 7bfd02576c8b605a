"""Words on a family that text and tables share."""

from ...solver.family import Batch, Record, RowFound
from ...solver.wording import number_text, percent_text
from ..cautions import FOR_ENGINEERS
from ..wording import share_text

ABOUT_FAMILIES = (
    FOR_ENGINEERS,
    "Each row is the template with what its row says: what neither says (metal of neighbours, "
    "a drier year, another clearing time) is in no row. Passing a limit does not make a site "
    "safe.",
    "Thin conductors alone decide nothing: rows near a limit are solved by finite elements, "
    "others by a sample. Run a row as a case of its own before anybody acts on it.",
)

_most_names = 10

_standings = {
    "passes": "passes",
    "too close": "too close to a limit to tell",
    "misses": "exceeds a limit",
    "melts": "metal too hot",
    "not judged": "not judged",
    "no limits": "no limits declared",
    "not solved": "not solved",
}


def standing_text(record: Record) -> str:
    """What a record says of its row, and by which method where only thin conductors did."""
    words = _standings[record.standing]
    thin = record.method == "thin conductors" and record.standing in ("passes", "misses")
    return f"{words}, by thin conductors" if thin else words


def share_words(record: Record) -> str:
    """Largest share of what is allowed, in per cent."""
    return share_text(record.share) if record.share == record.share else "–"


def decides_text(row: RowFound) -> str:
    """What decides and in which condition, or why there is no answer."""
    if row.fault:
        return row.fault
    best = row.best
    if best.unjudged and best.standing == "not judged":
        return "cannot be judged: " + ", ".join(best.unjudged)
    if best.melts:
        return "too hot: " + ", ".join(best.melts)
    if not best.decides:
        return ""
    return f"{best.decides}, {condition_words(best.condition)}"


def condition_words(variant: str) -> str:
    """Which condition."""
    return variant or "as it stands"


def counts_text(batch: Batch) -> str:
    """How many rows there are of each standing."""
    counted = [(words, batch.count(name)) for name, words in _standings.items()]
    said = "; ".join(f"{words}: {count:,}" for words, count in counted if count)
    bad = f"; bad rows, not judged: {len(batch.bad):,}" if batch.bad else ""
    return f"{number_text(len(batch.rows) + len(batch.bad), 'row')}: {said}{bad}."


def unplaced_text(batch: Batch) -> str:
    """How many rows stand on no map; empty where all do."""
    count = batch.unplaced
    have = "has" if count == 1 else "have"
    said = f"{number_text(count, 'row')} {have} no coordinates: in all tables, on no map."
    return said if count else ""


def tiers_text(batch: Batch) -> list[str]:
    """Which method solved how many rows, and what they differ by."""
    solved = [row for row in batch.rows if row.elements is not None]
    drawn = sum(row.why == "drawn for proof" for row in solved)
    said = [
        f"All rows were tried by thin conductors; {len(solved):,} were solved by finite "
        f"elements: {len(solved) - drawn:,} near a limit or not told by thin conductors, "
        f"{drawn:,} drawn for proof (seed {batch.seed})."
    ]
    found = batch.differences
    if found:
        most = max(found, key=lambda item: abs(item.share))
        ohms = max(found, key=lambda item: abs(item.resistance))
        share, resistance = (
            percent_text(value, decimals=1, signed=True)
            for value in (most.share, ohms.resistance)
        )
        said.append(
            f"On {number_text(len(found), 'row')} that both methods solved, finite elements "
            f"differ by at most {share} of the worst share (row '{most.row.name}') and "
            f"{resistance} of the resistance (row '{ohms.row.name}')."
        )
    if batch.contradicted:
        names = ", ".join(f"'{row.name}'" for row in batch.contradicted[:_most_names])
        said.append(
            f"They contradict each other on {number_text(len(batch.contradicted), 'row')}, "
            f"where finite elements decide: {names}."
        )
    near = f"'Near' is within {percent_text(batch.widened)} of a limit"
    if batch.widened > batch.band:
        near += f", widened from {percent_text(batch.band)} by what the methods differ"
    said.append(f"{near}, or nearer than the error that thin conductors estimate.")
    return said
