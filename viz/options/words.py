"""Words on options that terminal, page, table and picture share."""

from ...solver.design import BillLine
from ...solver.results.options import Held, Option, Options
from ..words.bills import bill_amount, bill_name, cost_text
from ..words.text import Text, say

Kind = tuple[str, float]
"""What a line of a bill is about, and the section of conductor. [m²]"""
EMPTY = float("nan")
APART = "apart"
_kinds = ("conductor", "rods", "driven", "joints", "surface", "fixed", APART)
TITLE = "Options side by side"
ABOUT_OPTIONS = (
    "An option passes only where the verdict of finite elements says so in every condition. "
    "Prices are those of the case, for all metal, joints and surface layers of an option, "
    "also of what is there already; what the case does not price is in none of them."
)


def option_name(option: Option) -> str:
    """Name of an option; of what the case has, that."""
    return option.name or "as it is"


def condition_name(condition: str) -> str:
    """Name of a condition."""
    return condition or "as it stands"


def found_text(options: Options) -> Text:
    """Which option is the cheapest that passes, or that none does."""
    cheapest = options.cheapest
    if cheapest is None:
        return say(f"NO OPTION passes in {_all(len(options.conditions))}")
    first = options.options[0]
    more = ""
    if cheapest is not first:
        difference = cheapest.price - first.price
        more = f" ({abs(difference):,.0f} {'more' if difference >= 0 else 'less'}"
        more += f" than '{option_name(first)}')"
    cost = cost_text(cheapest.price, currency=options.currency)
    words = "Cheapest that passes in {}: '{}', {}{}"
    return say(words, _all(len(options.conditions)), option_name(cheapest), cost, more)


def _all(count: int) -> str:
    few = {1: "the condition of the case", 2: "both conditions"}
    return few.get(count, f"all {count} conditions")


def standing_text(options: Options, option: Option) -> str:
    """Whether an option passes, and where not."""
    if option is options.cheapest:
        return "★ cheapest that passes"
    if option.passes:
        return "passes"
    count = len(option.held)
    missing = option.held.count(None)
    failing = sum(held is not None and not held.passes for held in option.held)
    # What is too close to a limit, or not judged, fails too.
    counts = ((failing, "fails"), (missing, "not solved"))
    return "✕ " + ", ".join(f"{what} in {some} of {count}" for some, what in counts if some)


def unpriced_text(options: Options) -> str:
    """What of the bills has no price; empty where all has."""
    names = dict.fromkeys(
        bill_name(line).plain(units="SI", vocabulary="earth")
        for option in options.options
        for line in option.bill
        if not line.price
    )
    return f"Without a price in the case: {', '.join(names)}." if names else ""


def bill_kinds(options: Options) -> list[Kind]:
    """Kinds of line in any of the bills, in their order; what options cost apart comes last."""
    found = {_kind(line) for option in options.options for line in option.bill}
    return sorted(found, key=lambda kind: (_kinds.index(kind[0]), kind[1]))


def kind_name(kind: Kind) -> Text:
    """What a column of bills is about."""
    if kind[0] == APART:
        return say("apart")
    return bill_name(BillLine(*kind[:1], 0.0, section=kind[1]))


def amount_text(option: Option, kind: Kind) -> Text | str:
    """How much of a kind an option takes; of what is priced apart, the price."""
    lines = [line for line in option.bill if _kind(line) == kind]
    if not lines:
        return "–"
    if kind[0] in ("fixed", APART):
        return f"{sum(line.price or 0.0 for line in lines):,.0f}"
    return bill_amount(lines[0])


def amount_of(option: Option, kind: Kind) -> float:
    """The same as a number."""
    lines = [line for line in option.bill if _kind(line) == kind]
    if kind[0] in ("fixed", APART):
        return sum(line.price or 0.0 for line in lines)
    return lines[0].amount if lines else 0.0


def _kind(line: BillLine) -> Kind:
    return (line.what if line.what in _kinds else APART, line.section)


def share_of(held: Held | None) -> float:
    """Largest share of a limit; not a number where none is known."""
    worst = None if held is None else held.worst
    return EMPTY if worst is None else worst.worst_share
