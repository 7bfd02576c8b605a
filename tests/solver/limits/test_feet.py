"""Feet on the ground, and the layer between."""

import itertools

import numpy as np
import pytest
from disc_feet import feet_in_parallel, feet_in_series, foot_resistance
from numpy.testing import assert_allclose

from ohmscape.solver.limits import (
    Standing,
    disc_layer_factor,
    feet_resistance,
    surface_layer_factor,
)


def test_one_foot_is_a_disc_on_the_surface():
    # rho / 4b (classical): 100 ohm m, 0.08 m.
    assert foot_resistance(100.0) == 312.5
    assert foot_resistance(100.0, radius=0.04) == 625.0


def test_feet_far_apart_are_single_feet():
    one = foot_resistance(37.0)
    assert feet_in_parallel(37.0) == one / 2
    assert feet_in_series(37.0) == 2 * one
    # At 100 m the mutual resistance of two points is rho / 628 m.
    assert_allclose(feet_in_parallel(37.0, apart=100.0), one / 2, rtol=1e-3)
    assert_allclose(feet_in_series(37.0, apart=100.0), 2 * one, rtol=1e-3)


@pytest.mark.parametrize("apart", [0.16, 0.3, 1.0])
def test_what_one_foot_does_to_the_other_helps_one_pair_and_hinders_the_other(apart):
    pair = {"radius": 0.08, "apart": apart}
    parallel, series = feet_in_parallel(43.0, **pair), feet_in_series(43.0, **pair)
    # (R + Rm)/2 and 2(R - Rm): a quarter of the second and the first are one foot.
    assert_allclose(parallel + series / 4, foot_resistance(43.0), rtol=1e-14)
    assert parallel > feet_in_parallel(43.0)
    assert series < feet_in_series(43.0)


@pytest.mark.parametrize(("exposure", "discs"), [("touch", 0.5), ("step", 2.0)])
def test_factors_of_the_trade_are_below_the_discs(exposure, discs):
    found = feet_resistance(exposure, standing=Standing(73.0))
    # 3 in place of 1/(4 x 0.08) = 3.125: 4 % lower, on the safe side.
    assert_allclose(found, 0.96 * discs * foot_resistance(73.0), rtol=1e-12)


def test_hands_meet_no_soil():
    assert feet_resistance("hands", standing=Standing(73.0, 3000.0, 0.1)) == 0.0


@pytest.mark.parametrize("factor", [surface_layer_factor, disc_layer_factor])
def test_no_layer_and_a_layer_like_the_soil_change_nothing(factor):
    assert factor(Standing(73.0)) == 1.0
    assert factor(Standing(73.0, 73.0, 0.1)) == 1.0


@pytest.mark.parametrize("factor", [surface_layer_factor, disc_layer_factor])
def test_ground_resists_more_with_a_thicker_and_with_a_worse_layer(factor):
    thicknesses = [0.05, 0.08, 0.13, 0.3, 0.5]
    found = [factor(Standing(90.0, 2700.0, h)) for h in thicknesses]
    assert (np.diff(found) > 0).all()
    assert found[0] > 90 / 2700
    assert found[-1] < 1
    resistivities = [90.0, 130.0, 700.0, 2700.0, 9000.0]
    ground = [rho * factor(Standing(90.0, rho, 0.1)) for rho in resistivities]
    assert (np.diff(ground) > 0).all()


def test_layer_factor_of_the_disc_knows_ratios_only():
    thin = disc_layer_factor(Standing(90.0, 2700.0, 0.1))
    assert_allclose(disc_layer_factor(Standing(9.0, 270.0, 0.1)), thin, rtol=1e-12)
    larger = disc_layer_factor(Standing(90.0, 2700.0, 0.3), radius=0.24)
    assert_allclose(larger, thin, rtol=1e-12)


def test_layer_factor_of_the_disc_tends_to_the_layer_and_to_the_soil():
    # Deep: one image of the disc at twice the thickness, 1 - Cs ~ (2b/pi) ln 2 / h.
    deep = disc_layer_factor(Standing(1.0, 1000.0, 8.0))
    assert_allclose(1 - deep, 2 * 0.08 / np.pi * np.log(2) / 8.0, rtol=0.01)
    # Shallow, an eighth of the radius: between soil alone and layer in series with it.
    shallow = disc_layer_factor(Standing(100.0, 150.0, 0.01))
    series = 0.01 / (np.pi * 0.08**2) / foot_resistance(1.0)
    assert 100 / 150 < shallow < 100 / 150 + series


def test_layer_that_conducts_better_lowers_the_resistance_of_the_ground():
    factor = disc_layer_factor(Standing(500.0, 100.0, 0.1))
    assert 1 < factor < 5


@pytest.mark.parametrize(
    ("thicknesses", "most"),
    # What the docstring of surface_layer_factor says.
    [((0.1, 0.2, 0.5), 0.03), ((0.05,), 0.07)],
)
def test_how_far_equation_27_is_from_the_disc(thicknesses, most):
    for contrast, thickness in itertools.product((3.0, 30.0, 1000.0), thicknesses):
        standing = Standing(10.0, 10.0 * contrast, thickness)
        ratio = surface_layer_factor(standing) / disc_layer_factor(standing)
        assert abs(ratio - 1) < most
