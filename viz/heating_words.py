"""The words of metal in the heat of a fault, the same on terminal, page and paper."""

import math
from collections.abc import Sequence

from ..solver.heating import DryingSoil, HeatedConductor, Heating
from ..solver.limits import duration_in_words
from ..solver.wording import plain
from .wording import significant
from .words.amounts import amperes, section, volts
from .words.text import Text, say

HEAT_WORDS = {
    "pass": "PASS",
    "too hot": "TOO HOT",
    "melts": "MELTS",
    "within the numerical error": "TOO CLOSE",
    "not evaluated": "NOT JUDGED",
}
LASTS = "nothing is certain to clear the fault, and short-time heat is no rating for ever"


def degrees(value: float, *limits: float) -> str:
    """Temperature in whole degrees, or in more figures beside a limit that is near. [°C]"""
    apart = all(round(value) != round(limit) for limit in limits)
    number = f"{value:.0f}".replace("-", "−") if apart else plain(value, *limits)
    return f"{number} °C"


def temperature_text(item: HeatedConductor) -> str:
    """Temperature at the end of the fault, or that there is no metal left to have one."""
    if math.isnan(item.temperature):
        return "–"
    if item.outcome == "melts":
        return f"melts at {degrees(item.fusing)}"
    return degrees(item.temperature, item.limit)


def conductor_text(item: HeatedConductor) -> Text:
    """One conductor: how hot of what is allowed, by which current, in what metal."""
    metal = (section(item.corroded), item.material)
    by = f"{amperes(item.current)} ({item.current_words})"
    if item.outcome == "not evaluated":
        return say("{}: {}; {} in {} of {}", item.name, LASTS, by, *metal)
    limit = f"{degrees(item.limit)} ({item.limit_words})"
    hot = temperature_text(item)
    return say("{}: {} of {}, {} in {} of {}", item.name, hot, limit, by, *metal)


def needed_text(item: HeatedConductor) -> Text | str:
    """Section that would end at the limit, as new, and the next sizes up."""
    if math.isnan(item.needed):
        return "–"
    if not item.sizes:
        return section(item.needed)
    return say("{}: {}", section(item.needed), ", ".join(item.sizes))


def current_texts(heating: Heating) -> list[str]:
    """Which current each conductor carries, those of one current together."""
    found: dict[str, list[str]] = {}
    for item in heating.conductors:
        words = f"{amperes(item.current)}, {item.current_words}"
        found.setdefault(words, []).append(item.name)
    return [f"{names_text(names)}: {words}." for words, names in found.items()]


def conditions_text(heating: Heating) -> str:
    """Equation, temperature before, duration and factors."""
    lasts = duration_in_words(heating.duration)
    return (
        f"By {heating.source}, metal keeping all heat: from {degrees(heating.ambient)}, for "
        f"{lasts}, {heating.duration_words}; currents with growth × "
        f"{significant(heating.growth_factor)} and decrement × "
        f"{significant(heating.decrement_factor)}. A joint holds as long as it stays below its "
        "limit; makers and standards differ (bolted 250 to 350 °C), the code in force decides. "
        "Needed is the section as new that would end at the limit."
    )


def heat_warnings(heating: Heating) -> list[str]:
    """What else is to be said of the conductors and of the soil round them."""
    found = []
    if not heating.offset_known:
        found.append(
            "X/R is not given: currents are taken as symmetrical; their offset heats more."
        )
    found += [
        f"{item.name}: below the least for strength and corrosion, {item.least}."
        for item in heating.conductors
        if item.least
    ]
    found += [_soil_text(item) for item in heating.soil]
    return found


def _soil_text(item: DryingSoil) -> str:
    stands = f"the current of '{item.electrode}' lasts at a rise of {volts(item.rise)}"
    if item.lasting is None:
        return (
            f"{stands}: it warms the soil and may dry it, which raises resistance and "
            "voltages; give heating.soil to hold it against what the soil stands for ever."
        )
    if item.rise > item.lasting:
        return (
            f"{stands}, ABOVE the {volts(item.lasting)} that the soil stands for ever "
            "(Ollendorff, from memory): it dries out, and resistance and voltages run away."
        )
    return (
        f"{stands}, within the {volts(item.lasting)} that the soil stands for ever "
        "(Ollendorff, from memory), while it keeps its moisture."
    )


def names_text(names: Sequence[str]) -> str:
    """Names in a row, in quotes."""
    return ", ".join(f"'{name}'" for name in names)
