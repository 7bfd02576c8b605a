"""The words of a verdict, the same on terminal, page and paper."""

import math
from collections.abc import Sequence

from ..solver.exposure.worst import WorstVoltage
from ..solver.limits import duration_in_words
from ..solver.protection import Trip
from ..solver.results.result import Result
from ..solver.verdict import Headline, JudgedPlace, Judgement, headline
from .wording import significant
from .words.amounts import length, ohms, percent, place, volts
from .words.text import Text, say

# A resistance that moves by more than this moves the share of the current in the soil.
SPLIT_MOVES = 0.05
OUTCOME_WORDS = {
    "pass": "PASS",
    "fail": "FAIL",
    "within the numerical error": "TOO CLOSE",
    "within the drop along the metal": "IN DOUBT",
    "not evaluated": "NOT JUDGED",
}
NOBODY = "nobody in the mapped area can meet it, make study.area larger"


def unjudged_text(judgement: Judgement) -> str:
    """Why an exposure has no worst place."""
    return judgement.not_judged or NOBODY


def for_whom(judgement: Judgement) -> str:
    """Whom the limit protects, to stand after what is permissible."""
    return f" for {judgement.protects}" if judgement.protects else ""


def headline_of(results: Sequence[Result]) -> Headline:
    """What a reader must know first of a case and its variants."""
    base, *variants = results
    return headline(base.verdict, variants=[(item.variant, item.verdict) for item in variants])


def headline_text(found: Headline, *, joined: str, named: bool = True) -> str:
    """The headline as one sentence without its full stop.

    Parameters
    ----------
    joined : str
        What stands between the finding and its counts.
    named : bool
        Whether variants that do not pass are named, which may take many words.
    """
    every = f"{found.exposures} of {found.exposures} exposures"
    within = "within the limits declared"
    metal = _metal_text(found)
    also = f"; {metal}" if metal else ""
    if found.finding == "not judged":
        people = " for people" if metal else ""
        return f"NOT JUDGED{joined}the case declares no limits{people}{also}"
    lasts = f"({_how_long(found.longest)})"
    if found.finding == "unsafe":
        counted = f"{found.unsafe} of {found.exposures} exposures do not pass"
        return f"UNSAFE{joined}{counted} {lasts}{also}"
    if found.finding == "metal fails":
        people = f", though {every} are {within}" if found.exposures else ""
        return f"METAL FAILS{joined}{metal}{people} {lasts}"
    if found.finding == "rule broken":
        return f"NOT BY THE RULES, though {every} are {within} {lasts}{also}"
    if found.finding == "unsafe in variants":
        count = f"{len(found.unsafe_variants)} of {found.variants} variants"
        names = f" ({_quoted(found.unsafe_variants)})" if named else ""
        base = f"{every} are {within} {lasts}" if found.exposures else "the case is not judged"
        return f"UNSAFE in {count}{names}; as it stands {base}{also}"
    return f"{within}{joined}{every} {lasts}{also}"


def _metal_text(found: Headline) -> str:
    """How many conductors hold or do not; empty where nobody asked."""
    if found.failing:
        return f"{found.failing} of {found.conductors} conductors and joints do not pass"
    if found.conductors:
        return f"{found.conductors} of {found.conductors} conductors and joints pass"
    return ""


def variants_text(found: Headline) -> str:
    """Which variants do not pass, in one sentence without its full stop; empty without any."""
    if not found.variants:
        return ""
    unsafe = found.unsafe_variants
    if not unsafe:
        return f"Variants: within the limits declared, {found.variants} of {found.variants}"
    counted = f"{len(unsafe)} of {found.variants}"
    return f"Variants: UNSAFE, {counted}: {_quoted(unsafe)}; see below"


def carried_split_texts(results: Sequence[Result]) -> list[str]:
    """Variants that took over a split factor given for an electrode of another resistance."""
    base, *variants = results
    given = _split(base)
    if given is None:
        return []
    factor, electrode = given
    before = _resistance_of(base, electrode)
    found = []
    for result in variants:
        after = _resistance_of(result, electrode)
        if _split(result) != given or before is None or after is None:
            continue
        if abs(after / before - 1) <= SPLIT_MOVES:
            continue
        side = "less" if after > before else "MORE"
        found.append(
            f"Variant '{result.variant}' keeps the split factor {significant(factor)}, given "
            f"where '{electrode}' has {ohms(before)}; here it has {ohms(after)}, so that "
            f"{side} of the fault current would enter the soil: give the variant its own "
            "circuit.split_factor, or the case the paths"
        )
    return found


def _split(result: Result) -> tuple[float, str] | None:
    """The split factor that was given, and the electrode it feeds."""
    circuit = None if result.operation is None else result.operation.circuit
    if circuit is None or circuit.split_factor is None:
        return None
    return circuit.split_factor, circuit.supply.to


def _resistance_of(result: Result, name: str) -> float | None:
    if name not in result.group_names:
        return None
    return result.resistance(result.group_names.index(name))


def _quoted(names: Sequence[str]) -> str:
    return ", ".join(f"'{name}'" for name in names)


def _how_long(longest: float) -> str:
    if longest == math.inf:
        return "nothing is certain to clear the fault"
    return f"fault of at most {duration_in_words(longest)}"


def span_text(shortest: float, longest: float) -> str:
    """Durations from one to another, or the one if both are printed alike. [s]"""
    first, last = (duration_in_words(time) for time in (shortest, longest))
    return last if first == last else f"{first} to {last}"


def opens_text(trip: Trip) -> str:
    """Whether a device opens, and when."""
    if trip.certainty == "never":
        return "NEVER opens"
    if trip.certainty == "possibly":
        return f"POSSIBLY opens, not before {duration_in_words(trip.shortest)}"
    return f"CERTAINLY opens, in {span_text(trip.shortest, trip.longest)}"


def between(worst: JudgedPlace, judgement: Judgement) -> Text:
    """Between which two points a judged voltage stands, and on what."""
    if judgement.kind == "hands":
        return say("hand to hand, '{}' to '{}'", *worst.metals)
    if worst.foot is None:
        carried = say("'{}' to soil at {remote}", worst.metals[0])
        return carried + _which_is_above(worst.metals[0], worst.signed)
    if worst.other_foot is not None:
        feet = (place(worst.foot), place(worst.other_foot))
        return say("foot to foot, {} to {} on {}", *feet, worst.ground)
    where = (worst.metals[0], place(worst.foot), worst.ground)
    return say("'{}' to a foot at {} on {}", *where) + _which_is_above(
        worst.metals[0], worst.signed
    )


def _which_is_above(metal: str, signed: float | None) -> str:
    """Said where the soil is at more than the metal that is touched; empty otherwise."""
    return f", the soil ABOVE '{metal}'" if signed is not None and signed < 0 else ""


def voltage_name(worst: WorstVoltage) -> str:
    """Which voltage it is: touch of what, or step."""
    return "step" if worst.kind == "step" else f"touch of '{worst.name}'"


WORST_TITLE = "Worst prospective (open-circuit) voltages in the mapped area"


def worst_texts(result: Result) -> list[Text | str]:
    """Worst touch on each metal and worst step, and metal that nobody can reach."""
    evaluated = {item.name for item in result.worst}
    return [_worst_text(result, item) for item in result.worst] + [
        f"NOT EVALUATED: touch of '{metal.name}'; nobody in the mapped area can reach it, "
        "make study.area larger"
        for metal in result.metals
        if metal.name not in evaluated
    ]


def _worst_text(result: Result, item: WorstVoltage) -> Text:
    """How large one worst voltage is, and between which two points."""
    share = f"{volts(item.voltage)} ({percent(item.voltage / result.rise)} of the largest rise)"
    foot = place(item.foot)
    if item.other_foot is None:
        reach = next(metal.reach for metal in result.metals if metal.name == item.name)
        values = (share, item.name, foot, length(reach))
        touch = say("touch {} between '{}' and the soil at {}, within {} of it", *values)
        return touch + _which_is_above(item.name, item.signed)
    pace = length(result.surface.pace)
    feet = (foot, place(item.other_foot), pace)
    return say("step {} between the soil at {} and at {}, {} apart", share, *feet)


def device_sources(result: Result) -> list[str]:
    """Where what is known of the protective devices comes from, each once."""
    answers = () if result.clearing is None else result.clearing.answers
    found = {item.source: item.caution for item in answers if item.fitted}
    return [f"{source}: {caution}".rstrip(": ") for source, caution in found.items()]
