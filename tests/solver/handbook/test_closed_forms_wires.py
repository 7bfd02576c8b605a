"""Handbook formulas of wires and strips against values from elsewhere and their integrals."""

from math import asinh, cos, log, pi, sin, sqrt

import pytest
from numpy.testing import assert_allclose
from reference_formulas import (
    flat_strip_resistance,
    right_angle_resistance,
    star_resistance,
    strip_equivalent_radius,
    strip_on_edge_resistance,
)
from scipy.integrate import quad
from scipy.special import ellipkm1

from ohmscape.solver.errors import CaseError
from ohmscape.solver.handbook import (
    buried_wire_resistance,
    ring_resistance,
)

# Half a unit in the last of five digits that the worked values carry.
FIVE_DIGITS = 1.2e-5

ARM = {"resistivity": 100.0, "arm_length": 10.0, "radius": 0.005, "depth": 0.6}
WIRE = {"resistivity": 100.0, "length": 20.0, "radius": 0.005, "depth": 0.6}
RING = {"resistivity": 100.0, "diameter": 10.0, "radius": 0.005, "depth": 0.75}
STRIP = {
    "resistivity": 100.0,
    "length": 20.0,
    "width": 0.030,
    "thickness": 0.003,
    "depth": 0.6,
}


@pytest.mark.parametrize(
    ("formula", "arguments", "expected"),
    [
        (buried_wire_resistance, WIRE, 8.3977),
        (right_angle_resistance, ARM, 8.6719),
        (star_resistance, ARM | {"arm_count": 3}, 6.4494),
        (star_resistance, ARM | {"arm_count": 4}, 5.5307),
        (star_resistance, ARM | {"arm_count": 6}, 4.6708),
        (star_resistance, ARM | {"arm_count": 8}, 4.2719),
        (ring_resistance, RING, 6.2164),
        (flat_strip_resistance, STRIP, 7.9932),
        (strip_on_edge_resistance, STRIP, 7.9992),
    ],
)
def test_worked_values(formula, arguments, expected):
    # Dwight 1936 as in IEEE Std 142-1991 Table 13, read in a transcription and corrected from
    # memory; worked out independently. The strip on edge has no published row: it is the wire
    # of equivalent radius (from memory).
    assert_allclose(formula(**arguments), expected, rtol=FIVE_DIGITS)


def beside(distance: float) -> float:
    """Mean of 1/r between two parallel unit lines side by side."""
    return 2 * (asinh(1 / distance) - sqrt(1 + distance**2) + distance)


def at_an_angle(angle: float, height: float) -> float:
    """Mean of 1/r between two unit lines from one point, the second lifted by `height`."""

    def inner(x: float) -> float:
        c, d = cos(angle), sqrt((x * sin(angle)) ** 2 + height**2)
        if d < 1e-12 * x:  # opposite arms, in line
            return log((1 + x) / x)
        return asinh((1 - x * c) / d) + asinh(x * c / d)

    return quad(inner, 0, 1, points=[1e-6, 1e-4, 1e-2, 0.1], limit=400, epsabs=1e-9)[0]


@pytest.mark.parametrize("relative", [0.05, 0.12, 0.4, 0.8])
@pytest.mark.parametrize(
    ("angles", "count", "tolerance"),
    [
        # How well the polynomials follow the even-feed integral up to x = 0.8, found by
        # comparing over x; our bound on the depth rests on the 1 %.
        ([pi / 2], 2, 6e-4),
        ([2 * pi * k / 3 for k in (1, 2)], 3, 6e-4),
        ([pi * k / 2 for k in (1, 2, 3)], 4, 1.5e-3),
        ([pi * k / 3 for k in range(1, 6)], 6, 5e-3),
        ([pi * k / 4 for k in range(1, 8)], 8, 1e-2),
    ],
)
def test_bend_and_stars_are_the_integral_of_an_even_feed(angles, count, tolerance, relative):
    L, a = 10.0, 0.005
    depth = relative * L / 2
    total = 2 * (log(2 * L / a) - 1) + beside(relative)
    # 1e-9 L instead of no lift at all keeps the integrand finite at the joint
    total += sum(at_an_angle(t, lift) for t in angles for lift in (1e-9, relative))
    expected = 100.0 / (4 * pi * count * L) * total
    arguments = ARM | {"depth": depth}
    if count == 2:
        value = right_angle_resistance(**arguments)
    else:
        value = star_resistance(arm_count=count, **arguments)
    assert_allclose(value, expected, rtol=tolerance)


@pytest.mark.parametrize("relative", [0.05, 0.12, 0.5, 1.0, 2.0])
def test_wire_is_the_integral_of_an_even_feed(relative):
    # The series drops u^6/96, u = s / 2L: 0.0072 of a bracket of 8 at u = 1.
    half = 10.0
    bracket = log(4 * half / 0.005) - 1 + beside(relative / 2) / 2
    value = buried_wire_resistance(**(WIRE | {"depth": relative * half / 2}))
    assert_allclose(value, 100.0 / (4 * pi * half) * bracket, rtol=1e-3)


@pytest.mark.parametrize("relative", [0.02, 0.1, 0.3, 0.5])
def test_ring_is_the_elliptic_integral_of_its_image(relative):
    # Potential of one ring on an equal coaxial one at s = relative D; the logarithm is within
    # 0.061 of it up to s = D/2, 0.6 % of the bracket here.
    k2 = 1 / (1 + relative**2)
    image = sqrt(k2) * ellipkm1(1 - k2)
    expected = 100.0 / (2 * pi**2 * 10.0) * (log(8 * 10.0 / 0.010) + image)
    value = ring_resistance(**(RING | {"depth": relative * 10.0 / 2}))
    assert_allclose(value, expected, rtol=6e-3)


def test_radius_enters_as_a_logarithm():
    # Half the radius adds ln 2 to the bracket of every thin wire; exact but for rounding.
    thin = buried_wire_resistance(**(WIRE | {"radius": 0.0025}))
    added = 100.0 / (4 * pi * 10.0) * log(2)
    assert_allclose(thin - buried_wire_resistance(**WIRE), added, rtol=1e-11)


def test_strip_without_thickness_is_just_above_the_wire_of_a_quarter_width():
    # Dwight's bracket has ln(4L/w) + 1/2 - 1, current even over the width too; the wire of
    # w/4 (conformal map) has ln(16L/w) - 2. They differ by 3/2 - ln 4 whatever the strip.
    thin = STRIP | {"thickness": 1e-12}
    above = flat_strip_resistance(**thin) - strip_on_edge_resistance(**thin)
    assert_allclose(above, 100.0 / (4 * pi * 10.0) * (1.5 - log(4)), rtol=1e-8)


def test_wires_scale_with_resistivity_and_size():
    # R is proportional to rho / size; exact but for rounding.
    grown = {key: 7 * value for key, value in ARM.items()} | {"resistivity": 300.0}
    value = star_resistance(arm_count=6, **grown)
    assert_allclose(value, star_resistance(arm_count=6, **ARM) * 3 / 7, rtol=1e-13)


@pytest.mark.parametrize(
    ("formula", "arguments", "message"),
    [
        (buried_wire_resistance, WIRE | {"depth": 0.0}, "wire_resistance: depth: got 0"),
        (buried_wire_resistance, WIRE | {"radius": 2.0}, "L / radius: got 5; must be at least"),
        (buried_wire_resistance, WIRE | {"depth": 0.02}, "depth / radius: got 4; must be at"),
        (
            buried_wire_resistance,
            WIRE | {"depth": 11.0},
            "depth / L: got 1.1; must be at",
        ),
        (right_angle_resistance, ARM | {"arm_length": -1.0}, "arm_length: got -1"),
        (right_angle_resistance, ARM | {"depth": 4.5}, "depth / L: got 0.45; must be at most"),
        (
            star_resistance,
            ARM | {"arm_count": 5},
            "count: got 5; must be one of 3, 4, 6, 8",
        ),
        (
            star_resistance,
            ARM | {"arm_count": 3, "resistivity": 0.0},
            "star_resistance: resistivity: got 0",
        ),
        (star_resistance, ARM | {"arm_count": 3, "depth": 0.01}, "depth / radius: got 2"),
        (ring_resistance, RING | {"diameter": 0.0}, "ring_resistance: diameter: got 0"),
        (ring_resistance, RING | {"radius": 1.0}, "L / radius: got 5"),
        (ring_resistance, RING | {"depth": 3.0}, "depth / L: got 0.6; must be at most 0.5"),
        (strip_equivalent_radius, {"width": 0.0, "thickness": 0.1}, "width: got 0"),
        (strip_equivalent_radius, {"width": 0.1, "thickness": 0.2}, "wider side is the width"),
        (flat_strip_resistance, STRIP | {"width": -0.1}, "width: got -0.1"),
        (flat_strip_resistance, STRIP | {"thickness": 0.006}, "thickness / width: got 0.2"),
        (flat_strip_resistance, STRIP | {"length": 0.3}, "half length / width: got 5"),
        (
            flat_strip_resistance,
            STRIP | {"depth": 0.03},
            "depth / width: got 1; must be at",
        ),
        (flat_strip_resistance, STRIP | {"depth": 12.0}, "depth / half length: got 1.2"),
        (strip_on_edge_resistance, STRIP | {"depth": 12.0}, "depth / L: got 1.2"),
    ],
)
def test_wire_formulas_refuse_what_they_do_not_hold_for(formula, arguments, message):
    with pytest.raises(CaseError, match=message):
        formula(**arguments)
