"""Handbook formulas of rods, and of the surface around them, against values from elsewhere."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from reference_formulas import (
    driven_rod_step_voltage,
    driven_rod_surface_potential,
    driven_rod_touch_voltage,
    encased_rod_resistance,
    half_spheroid_resistance,
    rod_pair_resistance,
)

from ohmscape.solver.errors import CaseError
from ohmscape.solver.handbook import (
    driven_rod_resistance,
    rod_in_upper_layer_resistance,
)

FOOT = 0.3048
INCH = 0.0254
EIGHT_FEET = {"length": 8 * FOOT, "radius": 0.3125 * INCH}
THREE_METRES = {"length": 3.0, "radius": 0.008}

# Half a unit in the last of six digits that the worked values carry.
SIX_DIGITS = 1e-5


@pytest.mark.parametrize(
    ("rod", "expected"),
    [
        (EIGHT_FEET, 39.9049),
        (THREE_METRES, 33.4927),
        ({"length": 10 * FOOT, "radius": 0.375 * INCH}, 32.1371),
        ({"length": 20 * FOOT, "radius": 0.3125 * INCH}, 18.3542),
    ],
)
def test_driven_rod(rod, expected):
    # Dwight 1936 (coefficients from memory), 100 ohm m, worked out independently.
    assert_allclose(driven_rod_resistance(resistivity=100.0, **rod), expected, rtol=SIX_DIGITS)


def test_driven_rod_on_the_nomogram():
    # MIL-HDBK-419A vol. II 1.2.2.2 prints 32 ohm for 10 ft x 3/4 in at 10 000 ohm cm;
    # a graph is read to 1.5 %.
    value = driven_rod_resistance(resistivity=100.0, length=10 * FOOT, radius=0.375 * INCH)
    assert_allclose(value, 32.0, rtol=0.015)


def test_driven_rod_is_just_above_the_spheroid_of_its_size():
    # The half spheroid, ln(2L/a), lies inside the rod, ln(4L/a) - 1: so the rod is lower, by
    # (1 - ln 2) / ln(2L/a) and terms of (a/L)^2 at most 1e-5 here.
    size = {"resistivity": 70.0, "radius": 0.01}
    spheroid = half_spheroid_resistance(depth=4.0, **size)
    rod = driven_rod_resistance(length=4.0, **size)
    assert_allclose(1 - rod / spheroid, (1 - np.log(2)) / np.log(800), rtol=1e-4)


@pytest.mark.parametrize(
    ("rod", "spacing", "expected"),
    [
        (THREE_METRES, 6.0, 17.9953),
        (EIGHT_FEET, 16 * FOOT, 21.4890),
        (THREE_METRES, 1.0, 21.1089),
        (THREE_METRES, 3.0, 18.9367),
        (EIGHT_FEET, 6 * FOOT, 23.2631),
    ],
)
def test_rod_pair(rod, spacing, expected):
    # Dwight 1936 (coefficients from memory), 100 ohm m, worked out independently.
    value = rod_pair_resistance(resistivity=100.0, spacing=spacing, **rod)
    assert_allclose(value, expected, rtol=SIX_DIGITS)


@pytest.mark.parametrize("spacing", [0.3, 1.5, 3.0, 4.5, 5.99, 6.01, 7.0, 9.0, 30.0])
def test_rod_pair_is_the_integral_its_series_stand_for(spacing):
    # Mean potential of one evenly fed line of length 2L beside another, in closed form. The
    # series are 0.15 % of R off where they meet, at two rod lengths, and better elsewhere.
    L = THREE_METRES["length"]
    u = spacing / (2 * L)
    mutual = np.arcsinh(1 / u) - np.sqrt(1 + u**2) + u
    own = np.log(4 * L / THREE_METRES["radius"]) - 1
    exact = 100.0 / (4 * np.pi * L) * (own + mutual)
    value = rod_pair_resistance(resistivity=100.0, spacing=spacing, **THREE_METRES)
    assert_allclose(value, exact, rtol=1.5e-3)


def test_rods_far_apart_halve_the_resistance():
    # What is left is the point source at distance s, 1e4 rod lengths away.
    one = driven_rod_resistance(resistivity=100.0, **THREE_METRES)
    two = rod_pair_resistance(resistivity=100.0, spacing=3e4, **THREE_METRES)
    assert_allclose(two - one / 2, 100.0 / (4 * np.pi * 3e4), rtol=1e-6)


@pytest.mark.parametrize(
    ("upper", "lower", "thickness", "rod", "expected"),
    [
        (100.0, 500.0, 5.0, THREE_METRES, 37.064),
        (100.0, 20.0, 5.0, THREE_METRES, 31.804),
        (300.0, 50.0, 3.0, EIGHT_FEET, 110.488),
        (50.0, 1000.0, 4.0, THREE_METRES, 21.531),
    ],
)
def test_rod_in_upper_layer(upper, lower, thickness, rod, expected):
    # Tagg / Sunde (from memory), worked out independently to five or six digits.
    value = rod_in_upper_layer_resistance(
        upper_resistivity=upper, lower_resistivity=lower, thickness=thickness, **rod
    )
    assert_allclose(value, expected, rtol=2e-5)


@pytest.mark.parametrize(("lower", "thickness"), [(100.0, 4.0), (1e6, 3e9), (1e-4, 3e9)])
def test_rod_in_upper_layer_tends_to_uniform_soil(lower, thickness):
    # Images are h = 3e9 m away, K is up to 0.9998: what is left is below 1e-7 of R.
    value = rod_in_upper_layer_resistance(
        upper_resistivity=100.0, lower_resistivity=lower, thickness=thickness, **THREE_METRES
    )
    assert_allclose(value, driven_rod_resistance(resistivity=100.0, **THREE_METRES), rtol=1e-7)


@pytest.mark.parametrize("lower", [1e-3, 1.0, 1e4, 1e5])
def test_rod_in_upper_layer_sums_its_series_at_high_contrast(lower):
    # Plain summation until |K|^n < 1e-17: 2e6 terms at K = -0.99998, 2e4 at 0.998.
    h, L, a = 3.5, *THREE_METRES.values()
    K = (lower - 100.0) / (lower + 100.0)
    n = np.arange(1, 4_000_000 if abs(K) > 0.999 else 400_000)
    images = np.sum(K**n * np.log((2 * n * h + L) / (2 * n * h - L)))
    expected = 100.0 / (2 * np.pi * L) * (np.log(4 * L / a) - 1 + images)
    value = rod_in_upper_layer_resistance(
        upper_resistivity=100.0, lower_resistivity=lower, thickness=h, **THREE_METRES
    )
    assert_allclose(value, expected, rtol=1e-7)


@pytest.mark.parametrize(
    ("soil", "casing_resistivity", "casing_radius", "rod", "expected"),
    [
        (100.0, 30.0, 0.15, THREE_METRES, 22.6073),
        (100.0, 2.0, 0.10, EIGHT_FEET, 23.6989),
        (30.0, 90.0, 0.15, THREE_METRES, 19.3781),
    ],
)
def test_encased_rod(soil, casing_resistivity, casing_radius, rod, expected):
    # Fagan and Lee 1970 (from memory), worked out independently.
    value = encased_rod_resistance(
        resistivity=soil,
        casing_resistivity=casing_resistivity,
        casing_radius=casing_radius,
        **rod,
    )
    assert_allclose(value, expected, rtol=SIX_DIGITS)


def test_casing_of_the_same_soil_or_no_thickness_is_none():
    bare = driven_rod_resistance(resistivity=40.0, **THREE_METRES)
    same = encased_rod_resistance(
        resistivity=40.0, casing_resistivity=40.0, casing_radius=0.2, **THREE_METRES
    )
    thin = encased_rod_resistance(
        resistivity=40.0, casing_resistivity=7.0, casing_radius=0.008, **THREE_METRES
    )
    # Exact identities; only rounding is left.
    assert_allclose([same, thin], bare, rtol=1e-14)


def test_surface_potential_of_a_rod():
    # Sunde (from memory), worked out independently to six digits: 3 m x 16 mm, 100 ohm m, 1 A.
    distance = [0.25, 0.5, 1, 2, 3, 5, 10, 20]
    expected = [16.8693, 13.2193, 9.6472, 6.3384, 4.6758, 3.0177, 1.5686, 0.7928]
    value = driven_rod_surface_potential(distance, resistivity=100.0, length=3.0, current=1.0)
    # 0.5e-4 V of rounding in print
    assert_allclose(value, expected, rtol=0, atol=5.1e-5)


def test_surface_potential_far_out_depends_on_the_current_only():
    # arsinh(x) = x - x^3/6: at 100 rod lengths the rod is a point source to 1.7e-5.
    value = driven_rod_surface_potential(300.0, resistivity=100.0, length=3.0, current=-2.0)
    assert_allclose(value, 100.0 * -2.0 / (2 * np.pi * 300.0), rtol=2e-5)


def test_touch_and_step_of_a_rod():
    # Worked out independently from the same formulas, three decimals: 23.846 V and 3.309 V.
    soil = {"resistivity": 100.0, "length": 3.0, "current": 1.0}
    assert_allclose(driven_rod_touch_voltage(1.0, radius=0.008, **soil), 23.846, atol=6e-4)
    assert_allclose(driven_rod_step_voltage(1.0, **soil), 3.309, atol=6e-4)


@pytest.mark.parametrize(
    ("feet", "printed"), [(5, 0.75), (10, 0.68), (20, 0.61), (50, 0.53), (100, 0.48)]
)
def test_share_of_the_rise_within_three_feet(feet, printed):
    # MIL-HDBK-419A vol. I Table 2-7, flush rod of 1 in diameter; printed to two digits from
    # a formula of its own, hence 0.01.
    rod = {"resistivity": 10.0, "length": feet * FOOT, "radius": 0.5 * INCH}
    rise = driven_rod_resistance(**rod)
    step = driven_rod_touch_voltage(3 * FOOT, current=1.0, **rod)
    assert_allclose(step / rise, printed, atol=0.01)


def test_step_at_a_struck_rod():
    # MIL-HDBK-419A vol. I: 10 ft x 1 in, 1000 ohm cm, 20 kA: 41 400 V, from 0.68 of the rise.
    step = driven_rod_touch_voltage(
        3 * FOOT, resistivity=10.0, length=10 * FOOT, radius=0.5 * INCH, current=20e3
    )
    assert_allclose(step, 41_400.0, rtol=0.01)


def test_rod_formulas_scale_with_resistivity_and_size():
    small = rod_pair_resistance(resistivity=100.0, spacing=2.0, **THREE_METRES)
    # R is proportional to rho / size; factor 3 * 1/7, exact but for rounding.
    large = rod_pair_resistance(resistivity=300.0, spacing=14.0, length=21.0, radius=0.056)
    assert_allclose(large, small * 3 / 7, rtol=1e-13)


ROD = {"resistivity": 100.0, "length": 3.0, "radius": 0.008}
LAYERS = {"upper_resistivity": 100.0, "lower_resistivity": 20.0, "thickness": 5.0}
CASING = {"casing_resistivity": 30.0, "casing_radius": 0.15}


@pytest.mark.parametrize(
    ("formula", "arguments", "message"),
    [
        (
            driven_rod_resistance,
            ROD | {"length": -3.0},
            "driven_rod_resistance: length: got -3",
        ),
        (driven_rod_resistance, ROD | {"radius": np.nan}, "radius: got nan; must be positive"),
        (
            driven_rod_resistance,
            ROD | {"radius": 0.5},
            "length / radius: got 6; must be",
        ),
        (
            rod_pair_resistance,
            ROD | {"spacing": 0.05},
            r"rod_pair_resistance: spacing / radius: got 6.25; must be at least 10",
        ),
        (
            rod_pair_resistance,
            ROD | {"spacing": 1.0, "radius": 0.4},
            "radius: got 7.5",
        ),
        (rod_pair_resistance, ROD | {"spacing": np.inf}, "spacing: got inf"),
        (
            rod_in_upper_layer_resistance,
            LAYERS | THREE_METRES | {"length": 5.5},
            r"length / thickness: got 1.1; must be at most 1: .* inside the upper layer",
        ),
        (
            rod_in_upper_layer_resistance,
            LAYERS | THREE_METRES | {"lower_resistivity": 0.0},
            "lower_resistivity: got 0",
        ),
        (
            rod_in_upper_layer_resistance,
            LAYERS | THREE_METRES | {"radius": 1.0},
            "length / radius: got 3",
        ),
        (
            encased_rod_resistance,
            ROD | CASING | {"casing_radius": 0.004},
            r"casing_radius / radius: got 0.5; must be at least 1",
        ),
        (
            encased_rod_resistance,
            ROD | CASING | {"casing_radius": 0.6},
            r"length / casing_radius: got 5; must be at least 10",
        ),
        (
            encased_rod_resistance,
            ROD | CASING | {"casing_resistivity": -1.0},
            "casing_resistivity: got -1",
        ),
    ],
)
def test_rod_formulas_refuse_what_they_do_not_hold_for(formula, arguments, message):
    with pytest.raises(CaseError, match=message):
        formula(**arguments)


def test_all_wrong_values_are_told_at_once():
    with pytest.raises(CaseError) as caught:
        driven_rod_resistance(resistivity=0.0, length=3.0, radius=-1.0)
    assert [problem.path for problem in caught.value.problems] == [
        "driven_rod_resistance: resistivity",
        "driven_rod_resistance: radius",
    ]


SOIL = {"resistivity": 100.0, "length": 3.0, "current": 1.0}


@pytest.mark.parametrize(
    ("formula", "distance", "arguments", "message"),
    [
        (driven_rod_surface_potential, [1.0, 0.0], SOIL, "distance: got 0; must be positive"),
        (driven_rod_surface_potential, 1.0, SOIL | {"length": 0.0}, "length: got 0"),
        (driven_rod_step_voltage, 1.0, SOIL | {"pace": -1.0}, "step_voltage: pace: got -1"),
        (
            driven_rod_touch_voltage,
            [1.0, 0.005],
            SOIL | {"radius": 0.008},
            "distance: got 0.005; must be at least the radius of the metal, 0.008",
        ),
    ],
)
def test_surface_voltages_refuse_what_they_do_not_hold_for(
    formula, distance, arguments, message
):
    with pytest.raises(CaseError, match=message):
        formula(distance, **arguments)
