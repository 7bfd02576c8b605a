"""Text with a unit in, SI float out: the one place where units live.

A number-and-unit grammar of our own stands in front of pint, because pint alone reads
``8 1/2 ft`` as 4 ft, ``12,5 m`` as 125 m and ``8'`` as a bare 8 without a word. pint
itself takes as long to load as all else a case needs: it is asked for units that are not usual.
"""

import math
import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, lru_cache
from typing import TYPE_CHECKING

from ...solver.errors import CaseError
from ...solver.heating.sizes import wire_gauge_diameter
from .messages import shown

if TYPE_CHECKING:
    import pint

NEEDS_UNIT = "needs a unit"  # in messages
_LONGEST = 60  # characters of one quantity; longer text is no quantity

_DECIMAL = r"(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?"
_FRACTION = r"[0-9]+/[0-9]+"
_MIXED = rf"(?P<whole>[0-9]+) +(?P<part>{_FRACTION})"
_NUMBER = rf"(?:{_MIXED}|(?P<ratio>{_FRACTION})|(?P<plain>{_DECIMAL}))"
_FACTOR = r"[A-Za-zΩµ°]+(?:\^-?[1-3])?"
_UNIT = rf"(?P<unit>{_FACTOR}(?: *[*/] *{_FACTOR}){{0,3}})"
_quantity = re.compile(rf"(?P<sign>[+-]?){_NUMBER} *{_UNIT}")
_feet_and_inches = re.compile(rf"(?P<sign>[+-]?)(?P<feet>[0-9]+) *ft +{_NUMBER} *in")
_bare_number = re.compile(rf"[+-]?{_NUMBER}")
_gauge = re.compile(r"(?:(?P<zeros>[1-4])/0|(?P<number>[0-9]|[1-3][0-9]|40)) *AWG")

# Spellings that mean one thing only, and the one pint knows.
_spelling = str.maketrans(
    {
        "\N{OHM SIGN}": "Ω",
        "\N{GREEK SMALL LETTER MU}": "µ",
        "·": "*",
        "⋅": "*",
        "²": "^2",
        "³": "^3",
    }
)
# Of each unit of temperature, its size and its zero on the scale of °C.
_scales = {
    "degC": (Fraction(1), Fraction(0)),
    "°C": (Fraction(1), Fraction(0)),
    "degF": (Fraction(5, 9), Fraction(-160, 9)),
    "°F": (Fraction(5, 9), Fraction(-160, 9)),
    "K": (Fraction(1), Fraction("-273.15")),
}
# Usual units of each SI unit, exactly.
USUAL: dict[str, dict[str, Fraction]] = {
    "m": {
        "m": Fraction(1), "mm": Fraction("1e-3"), "cm": Fraction("1e-2"), "km": Fraction(1000),
        "ft": Fraction("0.3048"), "in": Fraction("0.0254"),
    },
    "m^2": {"m^2": Fraction(1), "cm^2": Fraction("1e-4"), "mm^2": Fraction("1e-6")},
    "m^3": {"m^3": Fraction(1)},
    "ohm": {"ohm": Fraction(1), "Ω": Fraction(1), "mohm": Fraction("1e-3"),
            "kohm": Fraction(1000), "Mohm": Fraction(10**6)},
    "ohm*m": {"ohm*m": Fraction(1), "Ω*m": Fraction(1), "kohm*m": Fraction(1000),
              "ohm*cm": Fraction("1e-2"), "ohm*ft": Fraction("0.3048")},
    "ohm*m^2": {"ohm*m^2": Fraction(1), "Ω*m^2": Fraction(1)},
    "V": {"V": Fraction(1), "mV": Fraction("1e-3"), "kV": Fraction(1000)},
    "A": {"A": Fraction(1), "mA": Fraction("1e-3"), "kA": Fraction(1000)},
    "s": {"s": Fraction(1), "ms": Fraction("1e-3"), "min": Fraction(60), "h": Fraction(3600)},
    "Hz": {"Hz": Fraction(1)},
    "kg": {"kg": Fraction(1)},
    "W/m/K": {"W/m/K": Fraction(1)},
    "rad": {
        "rad": Fraction(1),
        "deg": Fraction("3.1415926535897932384626433832795028841971693993751") / 180,
    },
}  # fmt: skip
_alias = {"Ohm": "ohm", "Ohms": "ohm", "Ωm": "Ω*m", "MCM": "kcmil", "°": "deg"}


@dataclass(frozen=True)
class Kind:
    """A kind of quantity a case file asks for."""

    name: str  # what it is called in messages
    unit: str  # SI unit of the float that comes out; °C of a temperature
    examples: tuple[str, ...]  # accepted spellings, shown in messages and in the JSON Schema
    gauge: bool = False  # whether a wire gauge such as ``4/0 AWG`` is accepted


LENGTH = Kind("length", "m", ("3 m", "8 ft", "8 1/2 ft", "8 ft 6 in"))
DIAMETER = Kind("diameter", "m", ("16 mm", "5/8 in", "4/0 AWG"), gauge=True)
AREA = Kind("cross-section", "m^2", ("95 mm^2", "500 kcmil", "4/0 AWG"), gauge=True)
VOLUME = Kind("volume", "m^3", ("1 m^3", "1 yd^3"))
RESISTIVITY = Kind("resistivity", "ohm*m", ("120 ohm*m", "95 ohm*ft", "1.2 kohm*cm"))
FILM_RESISTIVITY = Kind("resistance of a film per area", "ohm*m^2", ("0.5 ohm*m^2",))
VOLTAGE = Kind("voltage", "V", ("230 V", "11 kV"))
CURRENT = Kind("current", "A", ("400 A", "2.5 kA"))
DURATION = Kind("duration", "s", ("0.5 s", "80 ms"))
RESISTANCE = Kind("resistance", "ohm", ("25 ohm", "1.2 kohm"))
REACTANCE = Kind("reactance", "ohm", ("0.4 ohm", "-20 ohm"))
FREQUENCY = Kind("frequency", "Hz", ("50 Hz", "60 Hz"))
MASS = Kind("mass", "kg", ("50 kg",))
ANGLE = Kind("angle", "rad", ("15 deg", "0.5 rad"))
TEMPERATURE = Kind("temperature", "degC", ("40 degC", "104 degF"))
HEAT_CONDUCTIVITY = Kind("thermal conductivity", "W/m/K", ("1.2 W/m/K",))
HEAT_CAPACITY = Kind("heat capacity per volume", "J/m^3/K", ("3.42 J/cm^3/K",))
TEMPERATURE_COEFFICIENT = Kind("temperature coefficient", "K^-1", ("0.00393 K^-1",))
CONDUCTIVITY = Kind("conductivity", "S/m", ("58 MS/m",))


def quantity(text: object, *, kind: Kind) -> float:
    """Value of a quantity written as text with a unit.

    Parameters
    ----------
    text : object
        What stands in the case file; only text is accepted.

    Returns
    -------
    value : float
        Finite value. [`kind.unit`]

    Raises
    ------
    CaseError
        If `text` is not a number and a unit of the right dimension.

    Examples
    --------
    >>> quantity("5/8 in", kind=DIAMETER)
    0.015875
    """
    if not isinstance(text, str):
        wanted = f"'{text} {kind.unit}'" if _is_number(text) else kind.examples[0]
        msg = f"{shown(text)} {NEEDS_UNIT}: write text such as {wanted}"
        raise CaseError(msg)
    words = text.strip()
    if len(words) > _LONGEST:
        msg = f"{shown(words)} is too long to be read as {kind.name}; {_write(kind)}"
        raise CaseError(msg)
    if "," in words:
        msg = f"{words!r} has a comma: write a decimal point and no thousands separator"
        raise CaseError(msg)
    words = words.translate(_spelling)
    # A hyphen between two letters is the trade's product sign: ohm-m.
    words = re.sub(r"(?<=[A-Za-zΩ])-(?=[A-Za-z])", "*", words)
    if kind.gauge and (gauge := _gauge.fullmatch(words)):
        diameter = _gauge_diameter(gauge)
        return diameter if kind.unit == "m" else math.pi / 4 * diameter**2
    if kind.unit == "m" and (match := _feet_and_inches.fullmatch(words)):
        inches = 12 * int(match["feet"]) + _number(match, text=text)
        return _signed(inches * Fraction("0.0254"), sign=match["sign"], text=text)
    match = _quantity.fullmatch(words)
    if match is None:
        why = _reason(words, kind=kind)
        msg = f"{text!r} cannot be read as {kind.name}: {why}; {_write(kind)}"
        raise CaseError(msg)
    unit = match["unit"].replace(" ", "")
    if kind is TEMPERATURE:
        return _celsius(match, unit, text=text)
    try:
        factor = _factor(unit, kind=kind)
    except CaseError as error:
        msg = f"{text!r}: {error}"
        raise CaseError(msg) from error
    return _signed(_number(match, text=text) * factor, sign=match["sign"], text=text)


def _gauge_diameter(match: re.Match[str]) -> float:
    zeros = match["zeros"]
    return wire_gauge_diameter(1 - int(zeros) if zeros else int(match["number"]))


def _number(match: re.Match[str], *, text: str) -> Fraction:
    """Exact value of the number in a match, without its sign."""
    try:
        if match["whole"] is not None:
            part = Fraction(match["part"])
            if part >= 1:
                msg = f"{text!r}: the fraction after a whole number must be below 1"
                raise CaseError(msg)
            return int(match["whole"]) + part
        return Fraction(match["ratio"] or match["plain"])
    except ZeroDivisionError as error:
        msg = f"{text!r} divides by zero; {_write(DIAMETER)}"
        raise CaseError(msg) from error


def _signed(size: Fraction, *, sign: str, text: str) -> float:
    try:
        value = float(size)
    except OverflowError as error:
        msg = f"{text!r} is beyond every number a computer holds"
        raise CaseError(msg) from error
    return -value if sign == "-" else value


def _celsius(match: re.Match[str], unit: str, *, text: str) -> float:
    """A temperature: its scales have zeros of their own, which factors have not. [°C]"""
    if unit not in _scales:
        msg = f"{text!r}: {unit!r} is not a unit of temperature; {_write(TEMPERATURE)}"
        raise CaseError(msg)
    size, zero = _scales[unit]
    sign = -1 if match["sign"] == "-" else 1
    return _signed(sign * _number(match, text=text) * size + zero, sign="", text=text)


@lru_cache(maxsize=512)
def _factor(unit: str, *, kind: Kind) -> Fraction:
    """How many SI units of `kind` one `unit` is."""
    if unit == "AWG":
        msg = f"only the size of a wire is a gauge, from 4/0 AWG to 40 AWG; {_write(kind)}"
        raise CaseError(msg)
    known = _alias.get(unit, re.sub(r"\bOhms?\b", "ohm", unit))
    if kind is ANGLE and known not in {"deg", "degree", "degrees", "rad", "radian", "radians"}:
        # pint calls every ratio an angle: 15 percent would pass as 0.15 rad.
        msg = f"{unit!r} is not a unit of angle; {_write(kind)}"
        raise CaseError(msg)
    if (usual := USUAL.get(kind.unit, {}).get(known)) is not None:
        return usual
    return _unusual(known, unit=unit, kind=kind)


def _unusual(known: str, *, unit: str, kind: Kind) -> Fraction:
    """The same of a unit by its name in pint."""
    import pint

    registry = _registry()
    try:
        found = registry.Quantity(Fraction(1), registry.parse_units(known)).to(kind.unit)
    except pint.DimensionalityError as error:
        hint = " (a mil of length is written 'thou')" if "mil" in known else ""
        msg = f"{unit!r} is not a unit of {kind.name}{hint}; {_write(kind)}"
        raise CaseError(msg) from error
    except (pint.PintError, TypeError, ValueError, ArithmeticError, AttributeError) as error:
        msg = f"unit {unit!r} is not known; {_write(kind)}"
        raise CaseError(msg) from error
    return Fraction(found.magnitude)


@cache
def _registry() -> "pint.UnitRegistry[Fraction]":
    import pint

    # Fractions keep 8 ft exactly 2.4384 m; floats make it 2.4383999999999997.
    return pint.UnitRegistry(non_int_type=Fraction)


def _reason(words: str, *, kind: Kind) -> str:
    if re.fullmatch(r"[+-]?(?:nan|inf|infinity)\b.*", words, flags=re.IGNORECASE):
        return "it is not a finite number"
    if _bare_number.fullmatch(words):
        return "the unit is missing"
    if "'" in words or '"' in words or "′" in words or "″" in words:
        return "write ft or in in place of the quote signs"
    if re.match(r"[+-]?[0-9]+-[0-9]+/", words):
        return "write a space between the whole number and the fraction"
    if re.match(r"[+-]?[0-9]+ +[0-9]+(?![0-9/])", words):
        return "there is a space inside the number"
    if re.match(rf"[+-]?{_NUMBER} *[A-Za-zΩµ]+ +[A-Za-z]+$", words):
        return "write * between the units"
    return f"it must be a number, a space and a unit of {kind.name}"


def _write(kind: Kind) -> str:
    return f"write for example {', '.join(kind.examples)}"


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
