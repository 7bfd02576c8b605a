"""Exact bodies and Dwight's plates against values from elsewhere and against each other."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from reference_formulas import (
    backfilled_hemisphere_resistance,
    deep_sphere_resistance,
    driven_rod_surface_potential,
    half_spheroid_resistance,
    half_spheroid_surface_potential,
    hemisphere_resistance,
    horizontal_plate_resistance,
    surface_disc_resistance,
    vertical_plate_resistance,
)

from ohmscape.solver.errors import CaseError

# Half a unit in the last of six digits that the worked values carry.
SIX_DIGITS = 2e-6


def test_hemisphere():
    # Textbook law (from memory), 100 ohm m, a = 0.5 m.
    value = hemisphere_resistance(resistivity=100.0, radius=0.5)
    assert_allclose(value, 31.8310, rtol=SIX_DIGITS)


def test_touch_and_step_of_a_hemisphere():
    # The same law at 10 A: 1 m reach and 1 m pace from the metal, three decimals.
    at = [0.5, 1.5, 2.5]
    rise, near, far = half_spheroid_surface_potential(
        at, resistivity=100.0, radius=0.5, depth=0.5, current=10.0
    )
    values = [rise, near, rise - near, near - far]
    assert_allclose(values, [318.310, 106.103, 212.207, 42.441], rtol=0, atol=6e-4)


@pytest.mark.parametrize(
    ("radius", "depth", "expected"), [(0.1, 2.0, 29.38695), (1.0, 0.3, 21.12364)]
)
def test_half_spheroid(radius, depth, expected):
    # Classical (from memory); worked out independently, the prolate one checked to 2e-6 by a
    # boundary integral. Seven digits.
    value = half_spheroid_resistance(resistivity=100.0, radius=radius, depth=depth)
    assert_allclose(value, expected, rtol=3e-7)


@pytest.mark.parametrize("depth", [0.5 * (1 - 1e-9), 0.5, 0.5 * (1 + 1e-9)])
def test_half_spheroid_tends_to_the_hemisphere(depth):
    # R changes by a third of the relative change in depth, 1e-9 here.
    value = half_spheroid_resistance(resistivity=100.0, radius=0.5, depth=depth)
    assert_allclose(value, hemisphere_resistance(resistivity=100.0, radius=0.5), rtol=1e-9)


def test_flat_half_spheroid_tends_to_the_disc():
    # arctan(f/c) = pi/2 - c/f: relative change 2c / (pi a), 6.4e-9 here.
    flat = half_spheroid_resistance(resistivity=100.0, radius=1.0, depth=1e-8)
    disc = surface_disc_resistance(resistivity=100.0, radius=1.0)
    assert_allclose(flat, disc, rtol=1e-8)
    assert_allclose(disc, 25.0, rtol=1e-15)  # rho / 4a, textbook


def test_slender_half_spheroid_keeps_its_digits():
    # ln(2L/a) for a/L = 1e-9, where f/L rounds to 1 and artanh would be infinite.
    value = half_spheroid_resistance(resistivity=100.0, radius=1e-9, depth=1.0)
    assert_allclose(value, 100.0 / (2 * np.pi) * np.log(2e9), rtol=1e-14)


@pytest.mark.parametrize("depth", [0.02, 0.3, 0.499, 0.5, 0.501, 4.0, 400.0])
def test_spheroid_rise_is_its_potential_at_the_metal(depth):
    # One body, two formulas; the closest case loses 5 digits of f^2.
    size = {"resistivity": 30.0, "radius": 0.5, "depth": depth}
    metal = half_spheroid_surface_potential(0.5, current=2.0, **size)
    assert_allclose(metal, 2.0 * half_spheroid_resistance(**size), rtol=1e-12)


def test_prolate_potential_is_that_of_a_line_to_its_focus():
    distance = np.array([0.3, 1.0, 7.0])
    focus = np.sqrt(2.0**2 - 0.3**2)
    body = half_spheroid_surface_potential(
        distance, resistivity=80.0, radius=0.3, depth=2.0, current=3.0
    )
    line = driven_rod_surface_potential(distance, resistivity=80.0, length=focus, current=3.0)
    assert_allclose(body, line, rtol=1e-13)  # an identity; only rounding is left


def test_backfilled_hemisphere():
    # Shells in series, exact; worked out independently to six digits.
    shell = {"backfill_resistivity": 20.0, "backfill_radius": 0.6}
    value = backfilled_hemisphere_resistance(resistivity=100.0, radius=0.2, **shell)
    assert_allclose(value, 37.1362, rtol=SIX_DIGITS)


@pytest.mark.parametrize(
    "shell",
    [
        {"backfill_resistivity": 100.0, "backfill_radius": 0.9},
        {"backfill_resistivity": 5.0, "backfill_radius": 0.2},
    ],
)
def test_backfill_of_the_same_soil_or_no_thickness_is_none(shell):
    value = backfilled_hemisphere_resistance(resistivity=100.0, radius=0.2, **shell)
    assert_allclose(value, hemisphere_resistance(resistivity=100.0, radius=0.2), rtol=1e-14)


def test_deep_sphere():
    # Kelvin images worked out independently, 35.8020; a boundary integral gave 35.803.
    value = deep_sphere_resistance(resistivity=100.0, radius=0.25, depth=1.0)
    assert_allclose(value, 35.8020, rtol=SIX_DIGITS)


def test_deep_sphere_tends_to_the_handbook_form():
    # rho / (4 pi a) (1 + a/2c), 35.810 at a = 0.25, c = 1; the images differ from it in the
    # fourth power of a/2c.
    def simple(depth):
        return 100.0 / (4 * np.pi * 0.25) * (1 + 0.25 / (2 * depth))

    assert_allclose(simple(1.0), 35.810, atol=6e-4)
    depth = np.array([2.0, 4.0, 8.0])
    error = [
        simple(c) / deep_sphere_resistance(resistivity=100.0, radius=0.25, depth=c) - 1
        for c in depth
    ]
    order = np.log2(np.divide(error[:-1], error[1:]))
    # the next power, a/2c = 1/16 of it, keeps the order within 0.3 of 4
    assert_allclose(order, 4.0, atol=0.3)


def test_sphere_just_below_the_surface():
    # Two touching spheres have ln 2 in their capacitance (classical, from memory); at
    # c = 1.0001 a the distance to that limit is of the order of 1e-4.
    value = deep_sphere_resistance(resistivity=100.0, radius=1.0, depth=1.0001)
    assert_allclose(value, 100.0 / (4 * np.pi * np.log(2)), rtol=2e-4)


@pytest.mark.parametrize(
    ("radius", "depth", "expected"),
    [(0.5, 1.0, 28.8466), (0.3, 1.5, 44.3040), (0.5, 0.6, 31.1248)],
)
def test_horizontal_plate(radius, depth, expected):
    # Dwight 1936 as in IEEE Std 142-1991 Table 13, worked out independently.
    value = horizontal_plate_resistance(resistivity=100.0, radius=radius, depth=depth)
    assert_allclose(value, expected, rtol=SIX_DIGITS)


@pytest.mark.parametrize(
    ("radius", "depth", "exact", "tolerance"),
    # Boundary integral, computed independently; the series drifts as (a/s)^6.
    [(0.5, 1.0, 28.8276, 1e-3), (0.3, 1.5, 44.3019, 1e-4), (0.5, 0.6, 31.019, 4e-3)],
)
def test_horizontal_plate_against_the_field(radius, depth, exact, tolerance):
    value = horizontal_plate_resistance(resistivity=100.0, radius=radius, depth=depth)
    assert_allclose(value, exact, rtol=tolerance)


def test_vertical_plate():
    # Dwight 1936 as in IEEE Std 142-1991 Table 13, worked out independently.
    value = vertical_plate_resistance(resistivity=100.0, radius=0.5, depth=1.0)
    assert_allclose(value, 29.0562, rtol=SIX_DIGITS)


@pytest.mark.parametrize("plate", [horizontal_plate_resistance, vertical_plate_resistance])
def test_very_deep_plate_is_a_disc_with_two_faces(plate):
    # rho / 8a = 12.5 ohm; at 1e7 m the image adds rho / (4 pi s), 3e-8 of it.
    assert_allclose(plate(resistivity=100.0, radius=1.0, depth=1e7), 12.5, rtol=1e-7)


def test_bodies_scale_with_resistivity_and_size():
    # R is proportional to rho / size; exact but for rounding.
    for formula in (
        half_spheroid_resistance,
        deep_sphere_resistance,
        vertical_plate_resistance,
    ):
        small = formula(resistivity=100.0, radius=0.5, depth=0.9)
        large = formula(resistivity=300.0, radius=3.5, depth=6.3)
        assert_allclose(large, small * 3 / 7, rtol=1e-13)


SIZE = {"resistivity": 100.0, "radius": 0.5, "depth": 1.0}
SHELL = {
    "resistivity": 100.0,
    "radius": 0.2,
    "backfill_resistivity": 20.0,
    "backfill_radius": 0.6,
}


@pytest.mark.parametrize(
    ("formula", "arguments", "message"),
    [
        (hemisphere_resistance, {"resistivity": 1.0, "radius": 0.0}, "radius: got 0"),
        (surface_disc_resistance, {"resistivity": -1.0, "radius": 1.0}, "resistivity: got -1"),
        (half_spheroid_resistance, SIZE | {"depth": -1.0}, "half_spheroid_resistance: depth"),
        (deep_sphere_resistance, SIZE | {"radius": 0.0}, "sphere_resistance: radius: got 0"),
        (
            deep_sphere_resistance,
            SIZE | {"depth": 0.5},
            "depth / radius: got 1; must be at least 1.0001: the sphere lies below",
        ),
        (backfilled_hemisphere_resistance, SHELL | {"radius": 0.0}, "radius: got 0"),
        (
            backfilled_hemisphere_resistance,
            SHELL | {"backfill_radius": 0.1},
            "backfill_radius / radius: got 0.5; must be at least 1",
        ),
        (horizontal_plate_resistance, SIZE | {"resistivity": 0.0}, "resistivity: got 0"),
        (
            horizontal_plate_resistance,
            SIZE | {"depth": 0.55},
            "depth / radius: got 1.1; must be at least 1.2",
        ),
        (vertical_plate_resistance, SIZE | {"depth": 0.0}, "vertical_plate.*depth: got 0"),
        (vertical_plate_resistance, SIZE | {"depth": 0.5}, "vertical_plate.* got 1; must be"),
    ],
)
def test_bodies_refuse_what_they_do_not_hold_for(formula, arguments, message):
    with pytest.raises(CaseError, match=message):
        formula(**arguments)


@pytest.mark.parametrize(
    ("distance", "changed", "message"),
    [
        ([1.0, 0.4], {}, "distance: got 0.4; must be at least the radius of the metal, 0.5"),
        ([1.0, np.nan], {}, "distance: got nan; must be positive and finite"),
        (1.0, {"depth": 0.0}, "spheroid_surface_potential: depth: got 0"),
    ],
)
def test_spheroid_potential_refuses_what_it_does_not_hold_for(distance, changed, message):
    with pytest.raises(CaseError, match=message):
        half_spheroid_surface_potential(distance, current=1.0, **(SIZE | changed))
