"""How hot metal gets in a fault, as plain data."""

import math
from dataclasses import dataclass
from typing import Literal

HeatOutcome = Literal["pass", "too hot", "melts", "within the numerical error", "not evaluated"]


@dataclass(frozen=True)
class HeatedConductor:
    """A conductor with its joints at the end of the fault.

    Attributes
    ----------
    name, use : str
        The user's name; lead, wire or rod.
    material : str
        Its name.
    section, corroded : float
        Of its metal as new, and what of it is left at the end of its life. [m²]
    current : float
        Effective value over the fault, growth, decrement and share included. [A]
    current_words : str
        Which current that is.
    limit : float
        How hot its joints may get, or itself. [°C]
    limit_words : str
        What sets that limit.
    fusing : float
        Temperature at which the metal, or what covers it, melts. [°C]
    temperature : float
        At the end of the fault, by the adiabatic equation; `math.inf` beyond all numbers, not a
        number where nothing clears the fault. [°C]
    doubtful : float
        The same with the numerical error of the current added. [°C]
    needed : float
        Section as new that ends at the limit; not a number where nothing clears the fault. [m²]
    sizes : tuple of str
        The next sizes up from that, by IEC 60228 and in AWG or kcmil, or that one conductor is
        too small; empty for rods.
    least : str
        What a standard wants at least for strength, where the section is below; else empty.
    """

    name: str
    use: str
    material: str
    section: float
    corroded: float
    current: float
    current_words: str
    limit: float
    limit_words: str
    fusing: float
    temperature: float
    doubtful: float
    needed: float
    sizes: tuple[str, ...]
    least: str

    @property
    def outcome(self) -> HeatOutcome:
        """Whether it holds; all but "pass" counts as not."""
        if math.isnan(self.temperature):
            return "not evaluated"
        if self.temperature >= self.fusing and self.temperature > self.limit:
            return "melts"
        if self.temperature > self.limit:
            return "too hot"
        return "pass" if self.doubtful <= self.limit else "within the numerical error"


@dataclass(frozen=True)
class DryingSoil:
    """An electrode whose current lasts, and what its soil stands.

    Attributes
    ----------
    electrode : str
        Its name.
    rise : float
        Of the electrode over remote earth, growth included. [V]
    lasting : float or None
        Voltage at which the soil ends at the temperature given; None where none was given. [V]
    """

    electrode: str
    rise: float
    lasting: float | None


@dataclass(frozen=True)
class Heating:
    """All conductors of a case held against their temperature.

    Attributes
    ----------
    source : str
        Equation and edition.
    ambient : float
        Temperature before the fault. [°C]
    duration : float
        Of the current; `math.inf` where nothing is certain to clear it. [s]
    duration_words : str
        Where that comes from.
    growth_factor, decrement_factor : float
        What the currents of today were multiplied with.
    offset_known : bool
        Whether X/R was given; without it, currents are symmetrical.
    conductors : tuple of HeatedConductor
        In the order of the case, leads first.
    soil : tuple of DryingSoil
        Of each electrode, for a current that lasts; empty otherwise.
    """

    source: str
    ambient: float
    duration: float
    duration_words: str
    growth_factor: float
    decrement_factor: float
    offset_known: bool
    conductors: tuple[HeatedConductor, ...]
    soil: tuple[DryingSoil, ...] = ()

    @property
    def failing(self) -> tuple[HeatedConductor, ...]:
        """Those that are not shown to hold."""
        return tuple(item for item in self.conductors if item.outcome != "pass")
