"""Four pins on layered soil: tables, image series, limits, reciprocity, other code."""

import by_empymod
import numpy as np
import pytest
import sounding_references as ref
from numpy.testing import assert_allclose

from ohmscape.solver.errors import CaseError
from ohmscape.solver.model import Soil
from ohmscape.solver.soil_survey import (
    FourPinReadings,
    apparent_resistivity,
    four_pin_resistance,
    schlumberger_resistivity,
    wenner_resistivity,
)

FOUR_LAYERS = Soil((200.0, 40.0, 800.0, 100.0), (1.0, 5.0, 12.0))


def two_layer_images(pins, *, soil, pin_depth=0.0):
    """Exact image series of points at one depth in the first of two layers."""
    (upper, lower), h = soil.resistivity, soil.thickness[0]
    K = (lower - upper) / (lower + upper)
    count = int(np.log(1e-16) / np.log(abs(K))) + 1
    n = np.arange(-count, count + 1)
    power = K ** np.abs(n)

    def point(r):
        direct = power / np.sqrt(r**2 + (2 * n * h) ** 2)
        above = power / np.sqrt(r**2 + (2 * n * h + 2 * pin_depth) ** 2)
        return upper / (4 * np.pi) * (direct + above).sum()

    c1, p1, p2, c2 = pins
    near = point(abs(c1 - p1)) - point(abs(c1 - p2))
    return near - point(abs(c2 - p1)) + point(abs(c2 - p2))


@pytest.mark.parametrize("K", ref.RATIO_CURVES)
def test_table_of_two_layers(K):
    # 1e9 instead of an infinite contrast: half a unit in the last place at most.
    ratio = (1 + K) / (1 - K) if abs(K) < 1 else 10.0 ** (9 * K)
    found = wenner_resistivity(ref.RATIO_SPACINGS, soil=Soil((1.0, ratio), (1.0,)))
    # Five decimals are given.
    assert_allclose(found, ref.RATIO_CURVES[K], rtol=0, atol=6e-6)


@pytest.mark.parametrize(("resistivity", "thickness", "values"), ref.CURVES)
def test_curves_of_two_and_three_layers(resistivity, thickness, values):
    found = wenner_resistivity(ref.CURVE_SPACINGS, soil=Soil(resistivity, thickness))
    # Five or six digits are given.
    assert_allclose(found, values, rtol=1e-5)


@pytest.mark.parametrize("lower", [1e-3, 1e-2, 0.3, 1.5, 40.0, 1e3])
def test_any_contrast_at_any_spacing(lower):
    soil = Soil((1.0, lower), (1.0,))
    a = 10.0 ** np.arange(-2.0, 3.01, 0.25)
    pins = a[:, None] * np.array([0.0, 1.0, 2.0, 3.0])
    exact = [two_layer_images(row, soil=soil) for row in pins]
    # Measured 8e-8 at 1000:1, where all but a thousandth of two terms cancels.
    assert_allclose(four_pin_resistance(pins, soil=soil), exact, rtol=5e-7)


@pytest.mark.parametrize("depth", [0.2, 0.9, 1.29])
def test_buried_pins_in_the_top_layer(depth):
    soil = Soil((100.0, 700.0), (1.3,))
    pins = np.array([[0.0, 0.7, 1.4, 2.1], [3.0, 7.0, 11.0, 19.0]])
    exact = [two_layer_images(row, soil=soil, pin_depth=depth) for row in pins]
    found = four_pin_resistance(pins, soil=soil, pin_depth=depth)
    # As above; 0.01 m from the plane the kernel hardly decays.
    assert_allclose(found, exact, rtol=5e-7)


def test_nothing_jumps_when_pins_pass_a_plane():
    pins = [[0.0, 2.0, 4.5, 6.0]]
    above = four_pin_resistance(pins, soil=FOUR_LAYERS, pin_depth=1.0 - 1e-9)
    below = four_pin_resistance(pins, soil=FOUR_LAYERS, pin_depth=1.0 + 1e-9)
    # 2e-9 m is 1e-9 of the spacing.
    assert_allclose(above, below, rtol=1e-7)


@pytest.mark.parametrize("depth", [0.0, 0.4, 1.7, 30.0])
def test_layers_that_are_alike_are_uniform_soil(depth):
    soil = Soil((70.0, 70.0, 70.0), (1.1, 2.3))
    pins = np.array([[0.0, 1.0, 2.0, 3.0], [0.0, 4.0, 7.0, 30.0]])
    found = apparent_resistivity(pins, soil=soil, pin_depth=depth)
    # Closed form but for the sum over a kernel of rounding errors.
    assert_allclose(found, 70.0, rtol=1e-10)


def test_a_vanishing_top_layer_leaves_the_lower_soil():
    found = wenner_resistivity([1.0, 10.0], soil=Soil((100.0, 30.0), (1e-6,)))
    # What the layer conducts sideways: h / a × 30 / 100, below 1e-6.
    assert_allclose(found, 30.0, rtol=3e-6)


def test_an_endless_top_layer_hides_the_lower_soil():
    found = wenner_resistivity([1.0, 10.0], soil=Soil((100.0, 30.0), (1e4,)))
    # Falls as (a / 2 h)³.
    assert_allclose(found, 100.0, rtol=1e-8)


def test_reading_stays_when_current_and_potential_pins_swap():
    pins = np.array([[0.0, 3.0, 4.0, 11.0], [5.0, -2.0, -9.0, 20.0]])
    swapped = pins[:, [1, 0, 3, 2]]
    for depth in (0.0, 0.3, 3.0):
        assert_allclose(
            four_pin_resistance(pins, soil=FOUR_LAYERS, pin_depth=depth),
            four_pin_resistance(swapped, soil=FOUR_LAYERS, pin_depth=depth),
            # The same distances in another order.
            rtol=1e-12,
        )


def test_four_pins_are_the_sum_of_two_narrower_layouts():
    outer = [[0.0, 1.0, 5.0, 9.0]]
    inner = [[0.0, 1.0, 3.0, 9.0], [0.0, 3.0, 5.0, 9.0]]
    # Superposition; both use their own lattice, exact to 1e-10.
    assert_allclose(
        four_pin_resistance(inner, soil=FOUR_LAYERS).sum(),
        four_pin_resistance(outer, soil=FOUR_LAYERS)[0],
        rtol=1e-9,
    )


def test_schlumberger_with_pins_at_equal_distances_is_wenner():
    found = schlumberger_resistivity([7.5], half_potential_spacing=2.5, soil=FOUR_LAYERS)
    assert_allclose(found, wenner_resistivity([5.0], soil=FOUR_LAYERS), rtol=1e-12)


def test_narrow_potential_pins_read_the_gradient():
    wide, narrow = (
        schlumberger_resistivity([10.0], half_potential_spacing=b, soil=FOUR_LAYERS)
        for b in (0.02, 0.01)
    )
    # The finite distance counts as (b / L)² = 4e-6; cancellation takes 4 digits of 11.
    assert_allclose(wide, narrow, rtol=1e-5)


def test_agrees_with_empymod():
    cases = [
        (np.array([[-4.5, -1.5, 1.5, 4.5], [-45.0, -15.0, 15.0, 45.0]]), 0.001),
        (np.array([[0.0, 3.0, 4.0, 11.0], [5.0, -2.0, -9.0, 20.0]]), 0.001),
        (np.array([[-6.0, -2.0, 2.0, 6.0]]), 0.3),
        (np.array([[-6.0, -2.0, 2.0, 6.0]]), 1.7),
        (np.array([[-30.0, -10.0, 10.0, 30.0]]), 8.0),
    ]
    for pins, depth in cases:
        theirs = by_empymod.four_pin_resistance(pins, soil=FOUR_LAYERS, pin_depth=depth)
        ours = four_pin_resistance(pins, soil=FOUR_LAYERS, pin_depth=depth)
        # Measured 3.1e-5: its filters near the source, at less than a ten-thousandth of the
        # skin depth.
        assert_allclose(ours, theirs, rtol=5e-5)


def test_pins_in_one_place_are_refused():
    with pytest.raises(CaseError, match="four different places"):
        four_pin_resistance([[0.0, 1.0, 1.0, 0.0]], soil=FOUR_LAYERS)
    with pytest.raises(CaseError, match="depth of 0 or more"):
        four_pin_resistance([[0.0, 1.0, 2.0, 3.0]], soil=FOUR_LAYERS, pin_depth=-0.1)


def test_readings_come_back_as_the_resistivity_that_made_them():
    a = np.array([0.5, 3.0])
    readings = FourPinReadings.wenner(
        a,
        resistance=four_pin_resistance(
            a[:, None] * [0.0, 1.0, 2.0, 3.0], soil=Soil((123.0,)), pin_depth=0.2
        ),
        pin_depth=0.2,
    )
    assert_allclose(readings.apparent_resistivity, 123.0, rtol=1e-12)
