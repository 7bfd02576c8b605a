"""Slope method against its own assumption and what is remembered of its table."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.earth_tests import (
    Leads,
    Pin,
    fall_of_potential,
    golden,
    slope_coefficient,
    slope_place,
    with_pin,
)
from ohmscape.solver.errors import CaseError
from ohmscape.solver.model import Conductors, Soil
from ohmscape.solver.thin_wire import second_opinion


def test_first_entry_of_the_published_table():
    # Tagg 1970, from memory: 0.643 at a coefficient of 0.40.
    assert_allclose(slope_place(0.40), 0.643, atol=5e-4)


def test_a_hemisphere_measured_from_its_centre_is_read_at_the_golden_section():
    readings = tuple(1 / (1 - p) - 1 / p for p in (0.2, 0.4, 0.6))
    # By hand: (0.8333 + 0.8333) / (3.75 - 0.8333).
    assert_allclose(slope_coefficient(readings), 4 / 7)
    assert_allclose(slope_place(4 / 7), golden, rtol=1e-9)


@pytest.mark.parametrize("offset", [-4.0, 7.0, 15.0])
def test_a_small_electrode_off_the_start_of_the_leads_is_read_truly(offset):
    metal = Conductors.bare([-offset, 0.0, 0.0], end=[-offset, 0.0, -0.2], radius=0.01)
    leads = Leads((0.0, 0.0), 0.0, 100.0)
    pin = Pin(leads.current_place, 0.2, 0.01)
    solved = second_opinion(with_pin(metal, pin, name="probe"), soil=Soil((70.0,)))
    test = fall_of_potential(
        solved, electrode="group 0", probe="probe", leads=leads, distance=[]
    )
    # The very electrode the method assumes, of 0.2 m in 100 m.
    assert_allclose(test.slope_error, 0.0, atol=1e-5)
    # The rule of 61.8 % of the distance from there does not hold.
    assert abs(test.usual_error) > 20 * abs(test.slope_error)


def test_the_place_falls_as_the_coefficient_rises():
    places = [slope_place(value) for value in np.linspace(0.40, 1.59, 30)]
    assert (np.diff(places) < 0).all()


@pytest.mark.parametrize("value", [0.39, 1.6, float("nan"), float("inf")])
def test_out_of_range_coefficients_are_refused(value):
    with pytest.raises(CaseError, match="move the current probe farther away"):
        slope_place(value)


def test_a_current_probe_too_near_leaves_the_method_without_a_result():
    metal = Conductors.bare([-9.0, 0.0, -0.5], end=[9.0, 0.0, -0.5], radius=0.01)
    leads = Leads((0.0, 0.0), 0.0, 14.0)
    pin = Pin(leads.current_place, 0.5, 0.01)
    solved = second_opinion(with_pin(metal, pin, name="probe"), soil=Soil((70.0,)))
    test = fall_of_potential(
        solved, electrode="group 0", probe="probe", leads=leads, distance=[]
    )
    assert test.slope.coefficient > 1.59
    assert test.slope.place is None
    assert test.slope_error is None
