"""Quantities: what a unit is worth, and every spelling that would be misread in silence."""

import math
from fractions import Fraction

import pint
import pytest

from ohmscape.cases.reading import quantities as q
from ohmscape.solver.errors import CaseError

# Exact by definition: 1 in = 0.0254 m, 1 ft = 0.3048 m (international yard and pound, 1959).
LENGTHS = {
    "3 m": 3.0,
    "3m": 3.0,
    "  3 m ": 3.0,
    ".5 m": 0.5,
    "5. m": 5.0,
    "1e3 mm": 1.0,
    "1.5E-1 km": 150.0,
    "-2 m": -2.0,
    "+2 m": 2.0,
    "8 ft": 2.4384,
    "8 1/2 ft": 2.5908,
    "-8 1/2 ft": -2.5908,
    "8 ft 6 in": 2.5908,
    "8 ft 6 1/2 in": 2.6035,
    "-8 ft 6 in": -2.5908,
    "1/2 m": 0.5,
    "18 in": 0.4572,
    "18 inches": 0.4572,
    "2 yd": 1.8288,
    "1 metre": 1.0,
}


@pytest.mark.parametrize(("text", "metres"), LENGTHS.items())
def test_lengths_are_exact_to_the_last_digit(text, metres):
    assert q.quantity(text, kind=q.LENGTH) == metres


OTHERS = [
    (q.DIAMETER, "5/8 in", 0.015875),
    (q.DIAMETER, "1 1/4 in", 0.03175),
    (q.DIAMETER, "16 mm", 0.016),
    (q.RESISTIVITY, "120 ohm*m", 120.0),
    (q.RESISTIVITY, "120 ohm * m", 120.0),
    (q.RESISTIVITY, "120 ohm-m", 120.0),
    (q.RESISTIVITY, "120 Ohm-m", 120.0),
    (q.RESISTIVITY, "120 Ωm", 120.0),
    (q.RESISTIVITY, "120 Ω·m", 120.0),
    (q.RESISTIVITY, "120 \N{OHM SIGN}⋅m", 120.0),
    (q.RESISTIVITY, "1.2 kohm*cm", 12.0),
    (q.RESISTIVITY, "95 ohm*ft", 28.956),
    (q.AREA, "95 mm²", 95e-6),
    (q.AREA, "95 mm^2", 95e-6),
    (q.FILM_RESISTIVITY, "0.5 ohm*m^2", 0.5),
    (q.VOLTAGE, "11 kV", 11000.0),
    (q.VOLTAGE, "-230 V", -230.0),
    (q.CURRENT, "2.5 kA", 2500.0),
    (q.DURATION, "80 ms", 0.08),
    (q.RESISTANCE, "1.2 kohm", 1200.0),
    (q.TEMPERATURE, "40 degC", 40.0),
    (q.TEMPERATURE, "-40 °C", -40.0),
    (q.TEMPERATURE, "104 degF", 40.0),
    (q.TEMPERATURE, "-40 °F", -40.0),
    (q.TEMPERATURE, "313.15 K", 40.0),
    (q.HEAT_CONDUCTIVITY, "1.2 W/m/K", 1.2),
    (q.MASS, "50 kg", 50.0),
    (q.CURRENT, "300 mA", 0.3),
]


@pytest.mark.parametrize(("kind", "text", "value"), OTHERS)
def test_other_quantities_come_out_in_si(kind, text, value):
    # One rounding of the exact fraction to a float.
    assert q.quantity(text, kind=kind) == pytest.approx(value, rel=2e-16)


@pytest.mark.parametrize("text", ["15 deg", "15 °", "15 degrees"])
def test_degrees_become_radians(text):
    # pint's degree carries pi to double precision.
    assert q.quantity(text, kind=q.ANGLE) == pytest.approx(math.pi / 12, rel=1e-15)


@pytest.fixture(scope="module")
def registry():
    return pint.UnitRegistry(non_int_type=Fraction)


USUAL = [(unit, name) for unit, names in q.USUAL.items() for name in names]


@pytest.mark.parametrize(("unit", "name"), USUAL)
def test_a_usual_unit_is_what_pint_says(registry, unit, name):
    # Ratios of whole numbers: equal, not close.
    one = registry.Quantity(Fraction(1), registry.parse_units(name)).to(unit)
    assert Fraction(one.magnitude) == q.USUAL[unit][name]


def test_a_circular_mil_is_the_area_of_a_wire_one_mil_wide():
    # 1 kcmil = pi/4 (0.001 in)^2 times 1000, by definition.
    expected = 500e3 * math.pi / 4 * 0.0254e-3**2
    assert q.quantity("500 kcmil", kind=q.AREA) == pytest.approx(expected, rel=1e-12)
    assert q.quantity("500 MCM", kind=q.AREA) == pytest.approx(expected, rel=1e-12)


# ASTM B258, diameters in inches, from memory: two gauges fix the series by definition,
# the others are its tabulated values, rounded there to four digits.
GAUGES = {
    "4/0 AWG": 0.4600,
    "36 AWG": 0.0050,
    "3/0 AWG": 0.4096,
    "2/0 AWG": 0.3648,
    "1/0 AWG": 0.3249,
    "0 AWG": 0.3249,
    "2 AWG": 0.2576,
    "6 AWG": 0.1620,
    "10 AWG": 0.1019,
}


@pytest.mark.parametrize(("text", "inches"), GAUGES.items())
def test_wire_gauges_have_their_tabulated_diameters(text, inches):
    # Half a unit of the last tabulated digit.
    found = q.quantity(text, kind=q.DIAMETER) / 0.0254
    assert found == pytest.approx(inches, abs=0.5001e-4)


def test_a_gauge_gives_the_area_of_its_diameter():
    diameter = q.quantity("2/0 AWG", kind=q.DIAMETER)
    area = q.quantity("2/0 AWG", kind=q.AREA)
    assert area == pytest.approx(math.pi / 4 * diameter**2, rel=1e-15)


REFUSED = [
    (q.LENGTH, 3, r"^3 needs a unit: write text such as '3 m'"),
    (q.LENGTH, 2.5, r"^2\.5 needs a unit"),
    (q.LENGTH, True, r"^true needs a unit: write text such as 3 m"),
    (q.LENGTH, None, r"^None needs a unit"),
    (q.LENGTH, ["3 m"], r"needs a unit"),
    (q.LENGTH, "3", r"the unit is missing; write for example 3 m"),
    (q.LENGTH, "", r"must be a number, a space and a unit of length"),
    (q.LENGTH, "m", r"must be a number, a space and a unit of length"),
    (q.LENGTH, "12,5 m", r"has a comma: write a decimal point"),
    (q.LENGTH, "1,000 m", r"no thousands separator"),
    (q.LENGTH, "nan m", r"not a finite number"),
    (q.LENGTH, "-inf m", r"not a finite number"),
    (q.LENGTH, "Infinity m", r"not a finite number"),
    (q.LENGTH, "8'", r"write ft or in in place of the quote signs"),
    (q.LENGTH, "8' 6\"", r"write ft or in in place of the quote signs"),
    (q.LENGTH, "8 1/2' ", r"write ft or in in place of the quote signs"),
    (q.LENGTH, "8-1/2 ft", r"write a space between the whole number and the fraction"),
    (q.LENGTH, "1 000 m", r"there is a space inside the number"),
    (q.LENGTH, "8 1/1 ft", r"the fraction after a whole number must be below 1"),
    (q.LENGTH, "8 3/2 ft", r"the fraction after a whole number must be below 1"),
    (q.LENGTH, "1/0 m", r"divides by zero"),
    (q.LENGTH, "1 1/0 m", r"divides by zero"),
    (q.LENGTH, "0x10 m", r"cannot be read as length"),
    (q.LENGTH, "1_000 m", r"cannot be read as length"),
    (q.LENGTH, "--3 m", r"cannot be read as length"),
    (q.LENGTH, "3 m + 2 m", r"cannot be read as length"),
    (q.LENGTH, "3 * 2 m", r"cannot be read as length"),
    (q.LENGTH, "٣ m", r"cannot be read as length"),
    (q.LENGTH, "1e999 m", r"beyond every number a computer holds"),
    (q.LENGTH, "3 V", r"'V' is not a unit of length"),
    (q.LENGTH, "3 m^2", r"'m\^2' is not a unit of length"),
    (q.LENGTH, "3 furlongz", r"unit 'furlongz' is not known"),
    (q.LENGTH, "4/0 AWG", r"divides by zero|only the size of a wire is a gauge"),
    (q.LENGTH, "3 degC", r"not a unit of length"),
    (q.LENGTH, "5 m" + " " * 80 + "x", r"is too long to be read as length"),
    (q.DIAMETER, "50 AWG", r"only the size of a wire is a gauge, from 4/0 AWG to 40 AWG"),
    (q.DIAMETER, "5/0 AWG", r"."),
    (q.RESISTIVITY, "120 ohm", r"'ohm' is not a unit of resistivity"),
    (q.RESISTIVITY, "120 ohm/m", r"'ohm/m' is not a unit of resistivity"),
    (q.RESISTIVITY, "120 ohm m", r"write \* between the units"),
    (q.ANGLE, "15 percent", r"'percent' is not a unit of angle"),
    (q.ANGLE, "15 %", r"cannot be read as angle"),
    (q.AREA, "500 mil", r"a mil of length is written 'thou'"),
    (q.CURRENT, "300 Ah", r"'Ah' is not a unit of current|is not known"),
]


@pytest.mark.parametrize(("kind", "text", "message"), REFUSED)
def test_what_could_be_misread_is_refused_with_the_remedy(kind, text, message):
    with pytest.raises(CaseError, match=message):
        q.quantity(text, kind=kind)


def test_long_text_is_shown_cut():
    with pytest.raises(CaseError) as refused:
        q.quantity("9" * 10_000 + " m", kind=q.LENGTH)
    assert len(str(refused.value)) < 200
