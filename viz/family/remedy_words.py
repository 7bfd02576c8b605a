"""Words on what would make the rows of a family pass."""

from collections import Counter

from ...solver.family import Batch, Remedy
from ...solver.wording import number_text
from ..wording import share_text
from ..words.bills import cost_text

ABOUT_REMEDIES = (
    "What would make a row pass is looked for among what the template offers alone, the "
    "cheapest first; it passes in every condition, by the method that is named. Prices are "
    "those of the template, for all of it, also of what is there already."
)


def remedy_name(remedy: Remedy | None, *, offers: str) -> str:
    """What would make a row pass, to filter by; empty where nobody asked."""
    if remedy is None:
        return ""
    if remedy.fault:
        return "not found"
    return remedy.name if remedy.passes else f"none of {number_text(remedy.count, offers)}"


def remedy_text(batch: Batch, remedy: Remedy | None) -> str:
    """The same with its price and method or, where none does, the nearest."""
    name = remedy_name(remedy, offers=batch.offers)
    if remedy is None:
        return ""
    if remedy.fault:
        return f"{name}: {remedy.fault}"
    best = remedy.best
    if best is None:
        return f"{name} could be judged in every condition"
    share = "" if best.share != best.share else f", {share_text(best.share)}"
    by = ", by thin conductors" if best.method == "thin conductors" else ""
    if not remedy.passes:
        return f"{name} passes (nearest: {remedy.name}{share}{by}){_unsettled(remedy)}"
    more = _cost(batch, remedy.extra, signed=True)
    return f"{name}, {_cost(batch, remedy.price)} ({more}){share}{by}{_unsettled(remedy)}"


def _cost(batch: Batch, value: float, *, signed: bool = False) -> str:
    text = cost_text(value, currency=batch.currency or None, signed=signed)
    return text.plain(units="US" if batch.units == "US" else "SI", vocabulary="earth")


def _unsettled(remedy: Remedy) -> str:
    if not remedy.unsettled:
        return ""
    what = "cheaper" if remedy.passes else "more"
    return f"; {remedy.unsettled} {what} could not be judged in every condition"


def remedies_text(batch: Batch) -> list[str]:
    """How many rows would pass with what; nothing where the template offers nothing."""
    found = batch.remedied
    if not found:
        return []
    names = Counter(remedy_name(remedy, offers=batch.offers) for _, remedy in found)
    passing = {remedy.name for _, remedy in found if remedy.passes}
    said = [
        f"{count:,} with '{name}'" if name in passing else f"{count:,} with {name}"
        for name, count in names.most_common()
    ]
    return [
        f"Of {number_text(len(found), 'row')} that {_do(len(found))} not pass, by the cheapest "
        f"{batch.offers} that passes: {'; '.join(said)}."
    ]


def _do(count: int) -> str:
    return "does" if count == 1 else "do"
