"""Fall of potential against values from outside, and what must be true."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.circuit.model import REMOTE_EARTH, Path
from ohmscape.solver.earth_tests import (
    Leads,
    Pin,
    clearance,
    fall_of_potential,
    golden,
    with_pin,
)
from ohmscape.solver.errors import CaseError
from ohmscape.solver.model import Conductors, Soil
from ohmscape.solver.thin_wire import second_opinion

ROD = Conductors.bare([0.0, 0.0, 0.0], end=[0.0, 0.0, -3.0], radius=0.008)
EVEN = Soil((130.0,))
STUB = Conductors.bare([0.0, 0.0, 0.0], end=[0.0, 0.0, -0.2], radius=0.01)


def measured(metal=ROD, *, soil=EVEN, distance=30.0, angle=0.0, at=(), paths=(), depth=0.5):
    leads = Leads((0.0, 0.0), 0.3, distance, angle)
    pin = Pin(leads.current_place, depth, 0.008)
    solved = second_opinion(with_pin(metal, pin, name="probe"), soil=soil)
    return fall_of_potential(
        solved, electrode="group 0", probe="probe", leads=leads, distance=at, paths=paths
    )


# Rod of 3 m by 16 mm, current probe of 0.5 m by 16 mm, any uniform soil: computed
# independently. Error in % at shares of the distance; place of the true reading.
SHARES = np.array([0.50, 0.55, 0.60, 0.618, 0.65, 0.70])
COMPUTED = {
    15.0: (0.6145, (-3.00, -1.76, -0.42, 0.10, 1.11, 2.95)),
    30.0: (0.6171, (-1.57, -0.93, -0.25, 0.01, 0.52, 1.45)),
    60.0: (0.6178, (-0.80, -0.47, -0.13, 0.00, 0.26, 0.72)),
}


@pytest.mark.parametrize("distance", COMPUTED)
def test_errors_and_best_place_of_a_rod_are_the_computed_ones(distance):
    best, error = COMPUTED[distance]
    found = measured(distance=distance, at=SHARES * distance)
    # Digits given.
    assert_allclose(100 * found.error, error, atol=0.02)
    assert_allclose(np.array(found.best) / distance, [best], atol=2e-4)


def test_small_electrodes_read_true_at_the_golden_section():
    found = measured(STUB, distance=80.0, depth=0.2)
    # Size over distance of 1/400 enters squared.
    assert_allclose(found.best[0] / 80.0, golden, rtol=1e-5)
    assert abs(found.usual_error) < 1e-5


def test_small_electrodes_read_true_at_equal_distances_29_degrees_apart():
    # 1/|PC| = 2/D: |PC| = D/2, and half the angle has the sine 1/4.
    found = measured(STUB, distance=80.0, angle=2 * np.arcsin(0.25), at=[80.0], depth=0.2)
    assert_allclose(found.error, 0.0, atol=1e-5)


@pytest.mark.parametrize("angle", [np.pi / 2, 2.0, np.pi])
def test_away_from_the_current_probe_every_reading_is_low(angle):
    found = measured(distance=25.0, angle=angle, at=[5.0, 25.0, 37.0])
    assert (found.error < 0).all()
    assert found.best == ()
    assert found.slope is None


@pytest.mark.parametrize("soil", [Soil((130.0,)), Soil((50.0, 700.0), (2.7,))])
def test_a_reading_is_the_truth_less_what_its_parts_take_off(soil):
    found = measured(soil=soil)
    parts = found.true_resistance - found.taken_off - found.raised + found.lowered
    # At the first point, inside the rod, there is nothing but round-off.
    assert_allclose(found.curve, parts, rtol=1e-12, atol=1e-12)


def test_errors_do_not_depend_on_the_resistivity_of_uniform_soil():
    one, other = (
        measured(soil=Soil((rho,)), distance=20.0, at=[7.0, 13.0]) for rho in (37.0, 4300.0)
    )
    assert_allclose(one.error, other.error, rtol=1e-9)


def test_reciprocity_what_the_probe_takes_off_the_rod_is_what_the_rod_puts_on_the_probe():
    soil = Soil((300.0, 40.0), (1.3,))
    leads = Leads((0.0, 0.0), 0.0, 11.0)
    pin = Pin(leads.current_place, 0.05, 0.002)
    solved = second_opinion(with_pin(ROD, pin, name="probe"), soil=soil)
    found = fall_of_potential(
        solved, electrode="group 0", probe="probe", leads=leads, distance=[11.0]
    )
    alone = second_opinion(ROD, soil=soil)
    current = 1.0 / alone.resistance[0, 0]
    middle = np.array([[11.0, 0.0, -0.025]])
    there = alone.potential(middle, voltage=np.ones(1))[0] / current
    # The pin is short: 5 cm in a field that changes over metres.
    assert_allclose(found.taken_off, there, rtol=1e-4)


def test_good_soil_on_rock_leaves_no_plateau_and_reads_low():
    even = measured(distance=60.0)
    rock = measured(soil=Soil((50.0, 1000.0), (4.0,)), distance=60.0)
    assert abs(even.usual_error) < 1e-3
    assert rock.usual_error < -0.02
    assert rock.change > 3 * even.change


def test_far_enough_away_even_rock_below_is_read_truly():
    soil = Soil((50.0, 1000.0), (4.0,))
    errors = [abs(measured(soil=soil, distance=d).usual_error) for d in (60.0, 240.0, 4000.0)]
    assert errors[0] > errors[1] > errors[2]
    assert errors[2] < 1e-3


def test_a_path_that_stays_connected_is_read_with_the_electrode():
    path = Path("neutral", ("group 0", REMOTE_EARTH), impedance=2.5 + 0j)
    alone = measured(distance=400.0)
    found = measured(distance=4000.0, paths=[path])
    both = 1 / (1 / alone.true_resistance + 1 / 2.5)
    assert_allclose(found.true_resistance, both, rtol=1e-9)
    # Only a share of the current enters the soil at the rod, all of it leaves by the probe:
    # 61.8 % is no longer the place. Points far apart, by hand.
    share, p = both / alone.true_resistance, 4000.0 * golden
    left = 130.0 / (2 * np.pi) * (1 / (4000.0 - p) - share / p - share / 4000.0)
    assert_allclose(found.usual_reading - both, left, rtol=0.003)


def test_reactance_of_a_path_counts_by_the_size_of_the_impedance():
    path = Path("neutral", ("group 0", REMOTE_EARTH), impedance=2.0 + 3.0j)
    found = measured(distance=4000.0, paths=[path])
    alone = measured(distance=4000.0).true_resistance
    both = 1 / (1 / alone + 1 / (2.0 + 3.0j))
    assert_allclose(found.true_resistance, abs(both), rtol=1e-9)


def test_a_second_electrode_that_floats_is_not_in_the_reading_and_one_bonded_is():
    metal = Conductors.bare(
        [[0, 0, 0], [0, 40.0, 0]],
        end=[[0, 0, -3.0], [0, 40.0, -1.7]],
        radius=0.008,
        group=[0, 1],
    )
    leads = Leads((0.0, 0.0), 0.0, 500.0)
    pin = Pin(leads.current_place, 0.5, 0.008)
    solved = second_opinion(with_pin(metal, pin, name="probe"), soil=Soil((90.0,)))

    def true(bonds):
        return fall_of_potential(
            solved, electrode="group 0", probe="probe", leads=leads, distance=[], bonds=bonds
        ).true_resistance

    r = solved.resistance
    assert_allclose(true([]), r[0, 0], rtol=1e-12)
    # Two resistances in parallel with a mutual one.
    both = (r[0, 0] * r[1, 1] - r[0, 1] ** 2) / (r[0, 0] + r[1, 1] - 2 * r[0, 1])
    assert_allclose(true([("group 0", "group 1")]), both, rtol=1e-4)


def test_clearance_is_measured_in_plan_to_the_face():
    metal = Conductors.bare([0.0, 0.0, -0.5], end=[4.0, 0.0, -0.5], radius=0.01)
    assert_allclose(clearance(metal, Pin((7.0, 4.0), 0.5, 0.01)), 4.99)
    assert_allclose(clearance(metal, Pin((2.0, 3.0), 0.5, 0.01)), 2.99)


def test_probes_that_cannot_be_are_refused():
    with pytest.raises(CaseError, match="depth at least 5 radii"):
        Pin((1.0, 0.0), 0.03, 0.008)
    with pytest.raises(CaseError, match=r"0\.392 m from the metal of the case and 0.5 m deep"):
        with_pin(ROD, Pin((0.4, 0.0), 0.5, 0.008), name="probe")
    with pytest.raises(CaseError, match="an electrode is called 'group 0'"):
        with_pin(ROD, Pin((9.0, 0.0), 0.5, 0.008), name="group 0")
    with pytest.raises(CaseError, match="-3 m away; give a distance above 0"):
        Leads((0.0, 0.0), 0.0, -3.0)
