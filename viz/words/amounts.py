"""Numbers with their units in both systems, to three figures, with what they may be off by."""

from collections.abc import Sequence

from ...solver.heating.sizes import KCMIL
from ...solver.wording import figures_apart, percent_text
from ..wording import Unit, length_unit, place_in, scaled_unit, short, significant, with_unit
from .text import Text, Units, in_units

_thin = {"SI": Unit(1000.0, "mm"), "US": Unit(1 / 0.0254, "in")}


def volts(value: float, error: float = 0.0) -> str:
    """Voltage, and what it may be off by. [V]"""
    return _with_error(value, error, "V")


def amperes(value: float) -> str:
    """Current. [A]"""
    return with_unit(value, symbol="A")


def amperes_per_length(value: float) -> Text:
    """Current per length into the soil. [A/m]"""
    return in_units(
        lambda units: with_unit(
            value / length_unit(units).factor, symbol=f"A/{length_unit(units).symbol}"
        )
    )


def ohms(value: float, error: float = 0.0) -> str:
    """Resistance in plain ohms, as testers read it, and what it may be off by. [Ω]"""
    text = f"{significant(value)} Ω"
    return text if error == 0 else f"{text} ± {significant(error, figures=1)} Ω"


def percent(share: float) -> str:
    """Share in per cent to three figures."""
    return f"{significant(100 * share)} %"


def small_percent(share: float, *limits: float) -> str:
    """Error in per cent to two figures, or as many as tell it from limits of it."""
    figures = figures_apart(100 * share, *(100 * limit for limit in limits), least=2)
    return f"{significant(100 * share, figures=figures)} %"


def tiny(value: float) -> str:
    """Relative residual by its power of ten."""
    return "below 1e-15" if abs(value) < 1e-15 else f"{value:.0e}".replace("e-0", "e-")


def signed_percent(share: float) -> str:
    """Difference in per cent to two decimals, with a true minus sign."""
    return percent_text(share, decimals=2, signed=True)


def length(value: float) -> Text:
    """Length in metres or feet. [m]"""
    return in_units(lambda units: _length(value, units))


def _length(value: float, units: Units) -> str:
    unit = length_unit(units)
    return f"{significant(value * unit.factor)} {unit.symbol}"


def length_range(low: float, high: float) -> Text:
    """Lengths from one to another, or the one if both are printed alike. [m]"""

    def words(units: Units) -> str:
        first, last = _length(low, units), _length(high, units)
        return first if first == last else f"{first.split(' ')[0]} to {last}"

    return in_units(words)


def thin(value: float) -> Text:
    """Small length in millimetres or inches. [m]"""
    return in_units(
        lambda units: f"{significant(value * _thin[units].factor)} {_thin[units].symbol}"
    )


def strip_size(width: float, thickness: float) -> Text:
    """Size of a strip in millimetres or inches. [m]"""

    def words(units: Units) -> str:
        unit = _thin[units]
        wide, thick = (short(float(f"{v * unit.factor:.3g}")) for v in (width, thickness))
        return f"strip {wide} × {thick} {unit.symbol}"

    return in_units(words)


def thin_range(low: float, high: float) -> Text:
    """Small lengths from one to another. [m]"""

    def words(units: Units) -> str:
        unit = _thin[units]
        first, last = (significant(value * unit.factor) for value in (low, high))
        return f"{first} {unit.symbol}" if first == last else f"{first} to {last} {unit.symbol}"

    return in_units(words)


def section(value: float) -> Text:
    """Area of metal across in square millimetres or thousands of circular mils. [m²]"""
    return in_units(
        lambda units: (
            f"{significant(value / KCMIL)} kcmil"
            if units == "US"
            else f"{significant(1e6 * value)} mm²"
        )
    )


def resistivity(value: float) -> str:
    """Resistivity in Ω·m in both unit systems, as IEEE standards have it too. [Ω·m]"""
    return f"{significant(value)} Ω·m"


def place(point: Sequence[float]) -> Text:
    """Plan place to a centimetre or a hundredth of a foot. [m]"""
    return in_units(lambda units: place_in(point, units))


def _with_error(value: float, error: float, symbol: str) -> str:
    text = with_unit(value, symbol=symbol)
    if error == 0:
        return text
    # In volts where the value has volts or more; one figure is all an estimate has.
    unit = scaled_unit(min(abs(value), 1.0), symbol=symbol)
    size = with_unit(error, symbol=symbol) if error >= 1000 else ""
    number = float(f"{error * unit.factor:.1g}")
    return f"{text} ± {size or f'{number:g} {unit.symbol}'}"
