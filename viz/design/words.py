"""Words on designs that text, page, tables and pictures share."""

from collections import Counter

from ...solver.design import Condition, Met, Need, Sizing, Tried, least_gain
from ...solver.wording import FOR_ENGINEERS_IN_SHORT
from ..cautions import FOR_ENGINEERS
from ..wording import share_text, with_unit
from ..words.amounts import ohms, place, volts
from ..words.text import Text, say

ABOUT_DESIGNS = (
    FOR_ENGINEERS,
    "Cheapest is by the prices, choices, soils and limits of the case: what it does not say "
    "(theft, corrosion, access, phases of building, a drier year) is in none of them.",
    "Run and review the design that is chosen as a case of its own before anybody builds it, "
    "and measure it when it is built, before it is energised.",
)
FRONT = (
    f"On the front each design takes {100 * least_gain:.0f} % less of what is allowed than all "
    "cheaper ones, or better; what gains less is left out of it."
)
BELOW_DESIGNS = (
    "Thin conductors look for designs, finite elements prove them; voltages are prospective. "
    f"{FOR_ENGINEERS_IN_SHORT}"
)


def options_text(sizing: Sizing, tried: Tried) -> str:
    """What was chosen, in the words of the case."""
    names = (name for name, _ in sizing.choices)
    pairs = zip(names, sizing.options(tried.chosen), strict=True)
    return "; ".join(f"{name}: {option}" for name, option in pairs)


def standing(sizing: Sizing, tried: Tried) -> str:
    """Whether a design passes, by what is known of it; only finite elements can say so."""
    if tried.fault:
        return "cannot be solved" if tried.fault.startswith("finite") else "cannot be built"
    if tried.passes(sizing.targets):
        return "passes"
    if tried.proof is not None:
        surely = tried.proof.surely_misses(sizing.targets)
        if tried.proof.melts:
            return "melts"
        return "misses" if surely or tried.proof.unjudged else "too close"
    if not tried.may_pass(sizing.targets):
        return "misses, by thin conductors"
    if tried.given_up:
        return "given up"
    return "not proven"


def condition_text(condition: Condition) -> str:
    """Which condition."""
    return condition.variant or "as it stands"


def need_text(need: Need) -> Text:
    """What decides, how much it is of what, and where."""
    where = condition_text(need.condition)
    if need.what == "resistance":
        found = ohms(need.condition.resistance)
        return say("resistance {} ({})", found, where)
    if need.what == "rise":
        return say("rise {} ({})", volts(need.condition.rise), where)
    assert need.met is not None  # an exposure has one
    met = need.met
    return say(
        "'{}' ({}): {} of {}{}", met.exposure, where, volts(met.voltage), volts(met.limit),
        _at(met),
    )  # fmt: skip


def _at(met: Met) -> Text:
    if met.foot is None:
        return say("")
    if met.other_foot is None:
        return say(" at {}", place(met.foot))
    return say(" from {} to {}", place(met.foot), place(met.other_foot))


def signed_volts(value: float) -> str:
    """Change of a voltage with its sign. [V]"""
    return "–" if value != value else _signed(value, with_unit(abs(value), symbol="V"))


def signed_ohms(value: float) -> str:
    """Change of a resistance with its sign. [Ω]"""
    return _signed(value, ohms(abs(value)))


def _signed(value: float, size: str) -> str:
    return f"{'+' if value > 0 else '−' if value < 0 else ''}{size}"


def worst_text(tried: Tried, sizing: Sizing) -> str:
    """The largest share of what is allowed."""
    value = tried.worst(sizing.targets)
    if value == float("inf"):
        return "–"
    return f"≥ {share_text(value)}" if tried.given_up else share_text(value)


def proof_text(sizing: Sizing) -> Text:
    """How many designs there are, how many were tried, and what is proven."""
    proofs = sum(item.proof is not None for item in sizing.tried)
    said = [
        f"{sizing.possible:,} designs are possible; {len(sizing.tried):,} were tried by thin "
        f"conductors, {proofs:,} of them solved by finite elements in every condition."
    ]
    given_up = sum(item.given_up for item in sizing.tried)
    if given_up:
        said.append(
            f"{given_up:,} of them were given up before they were tried in every condition: "
            "what they take in those they were tried in keeps them off the front, and each of "
            "them misses or is dearer than one that passes."
        )
    broken = [item for item in sizing.tried if item.fault]
    if broken:
        said.append(f"{len(broken):,} of them cannot be built or solved ({broken[0].fault}).")
    if sizing.excluded:
        by = Counter(one.what for one in sizing.excluded)
        counted = ", ".join(f"{count:,} by the {what}" for what, count in by.items())
        said.append(
            f"{len(sizing.excluded):,} were ruled out unsolved ({counted}): their metal is "
            "part of that of a design that misses it, and metal added never raises a "
            "resistance (Rayleigh's law). No bound is used on touch and step voltages."
        )
    said.append(_proven(sizing))
    return say("{}", " ".join(said))


def _proven(sizing: Sizing) -> str:
    close = sum(standing(sizing, item) == "too close" for item in sizing.tried)
    if sizing.cheapest is None:
        found = "No design tried passes"
        found += f"; {close:,} of them too close to a limit to tell." if close else "."
        if sizing.whole and not sizing.unsettled:
            return f"{found} None of those possible does, as far as the errors stated hold."
        return f"{found} One that was not tried, or not solved, may."
    if sizing.proven:
        return (
            "It is the cheapest of all: every cheaper one misses, by more than the error that "
            "thin conductors state or by finite elements, or is too close to a limit to tell."
        )
    left = sizing.possible - len(sizing.tried) - len(sizing.excluded)
    why = [f"{left:,} designs were not tried"] if left else []
    if sizing.unsettled:
        why.append(f"{len(sizing.unsettled):,} cheaper ones could not be solved")
    return f"It is the best found and not proven the cheapest: {' and '.join(why)}."
