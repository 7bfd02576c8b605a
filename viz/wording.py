"""Words and numbers that tables and pictures share: units, formats, references."""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from ..solver.wording import figures_apart

reference = "Potentials are to remote earth."
prospective = (
    "Touch and step voltages are prospective (open circuit): the voltage before a person "
    "is there to draw current."
)
between_samples = (
    "The map joins samples; the worst place is sought in the field itself, between them too."
)

_prefixes = {-2: "µ", -1: "m", 0: "", 1: "k", 2: "M"}


@dataclass(frozen=True)
class Unit:
    """Unit for printing: what to multiply SI values by, and its symbol.

    Attributes
    ----------
    factor : float
        Printed value per SI value.
    symbol : str
    """

    factor: float
    symbol: str


def scaled_unit(largest: float, *, symbol: str) -> Unit:
    """Unit with the prefix that suits the largest value in size: V, kV, mV …"""
    size = abs(largest)
    power = 0 if size == 0 else math.floor(math.log10(size * (1 + 1e-9)) / 3)
    power = min(max(power, min(_prefixes)), max(_prefixes))
    return Unit(1000.0**-power, _prefixes[power] + symbol)


def length_unit(units: str) -> Unit:
    """Unit of lengths in print: metres, or feet where the case asks for US units."""
    return Unit(1 / 0.3048, "ft") if units == "US" else Unit(1.0, "m")


def significant(value: float, *, figures: int = 3) -> str:
    """Value as plain text with some significant figures and a true minus sign."""
    if value == 0 or not math.isfinite(value):
        return "0" if value == 0 else str(value)
    digits = figures - 1 - math.floor(math.log10(abs(value)))
    rounded = round(value, digits)
    # 9.996 becomes 10.0, not 10.00.
    digits = figures - 1 - math.floor(math.log10(abs(rounded)))
    text = f"{abs(rounded):.{max(0, digits)}f}"
    return f"−{text}" if value < 0 else text


def share_text(share: float) -> str:
    """Share of a limit in per cent to three figures, or more where it is nearly all of it."""
    return f"{significant(100 * share, figures=figures_apart(100 * share, 100.0))} %"


def phasor_text(value: complex, *, symbol: str) -> str:
    """Value with its sign, or its size and phase where it is out of phase: 1.2 kV ∠ 30°."""
    degrees = round(math.degrees(math.atan2(value.imag, value.real)))
    if degrees % 180 == 0:
        return with_unit(float(value.real), symbol=symbol)
    return f"{with_unit(abs(value), symbol=symbol)} ∠ {degrees}°".replace("-", "−")


def ohms_text(value: complex) -> str:
    """Impedance in plain ohms, as testers read it: 2.78 Ω, or 2.78 + j 1.20 Ω.

    Parameters
    ----------
    value : complex
        Printed without its reactance where that turns it by less than half a degree. [Ω]
    """
    if abs(value.imag) <= math.radians(0.5) * abs(value):
        return f"{significant(value.real)} Ω"
    sign = "−" if value.imag < 0 else "+"
    return f"{significant(value.real)} {sign} j {significant(abs(value.imag))} Ω"


def with_unit(value: float, *, symbol: str) -> str:
    """Value with three significant figures and a prefix: 596 V, 1.51 kV."""
    unit = scaled_unit(value, symbol=symbol)
    return f"{significant(value * unit.factor)} {unit.symbol}"


def short(value: float) -> str:
    """Round number without trailing zeros, for ticks and levels."""
    text = f"{abs(value):.6g}"
    return f"−{text}" if value < 0 and float(text) != 0 else text


def about(value: float) -> str:
    """Value to three figures without trailing zeros, for lengths beside a picture."""
    return short(float(f"{value:.3g}"))


def place_text(place: tuple[float, float], *, unit: Unit, step: float) -> str:
    """Plan place to a resolution that its finding deserves: (12.3, −4.0) m.

    Parameters
    ----------
    place : tuple of float, length 2
        [m]
    step : float
        Resolution. [m]
    """
    digits = max(0, -math.floor(math.log10(step * unit.factor)))
    numbers = [round(value * unit.factor, digits) + 0.0 for value in place]
    x, y = (f"{value:.{digits}f}".replace("-", "−") for value in numbers)
    return f"({x}, {y}) {unit.symbol}"


def length_text(value: float, units: str) -> str:
    """Length in metres or feet."""
    unit = length_unit(units)
    return f"{value * unit.factor:.2f} {unit.symbol}"


def area_text(value: float, units: str) -> str:
    """Area in square metres or feet."""
    unit = length_unit(units)
    return f"{value * unit.factor**2:.3g} {unit.symbol}²"


def place_in(point: Sequence[float], units: str) -> str:
    """Plan place in metres or feet to a centimetre, for example ``(3.20, −1.00) m``."""
    x, y = (float(value) for value in point)
    return place_text((x, y), unit=length_unit(units), step=0.01)


def file_stem(name: str) -> str:
    """The user's name as a piece of a file name: letters, digits, hyphens."""
    stem = re.sub(r"[^\w]+", "-", name.strip().lower()).strip("-_")
    return stem[:60] or "unnamed"


def file_stems(names: tuple[str, ...]) -> list[str]:
    """Pieces of file names, one for each name, none of them twice."""
    stems: list[str] = []
    for name in names:
        stem, count = file_stem(name), 1
        while stem in stems:
            count += 1
            stem = f"{file_stem(name)}-{count}"
        stems.append(stem)
    return stems
