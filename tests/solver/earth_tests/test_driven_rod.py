"""Driven-rod test: the reading falls as the rod reaches better soil."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.earth_tests import Leads, Pin, driven_rod_test
from ohmscape.solver.errors import CaseError
from ohmscape.solver.model import Soil
from ohmscape.solver.soil_survey.rod_model import layered_rod_resistance

LENGTHS = [0.7, 1.3, 2.1, 3.4]


def driven(soil, *, distance=30.0, lengths=LENGTHS, **keys):
    leads = Leads((1.0, 2.0), 0.7, distance)
    pin = Pin(leads.current_place, 0.4, 0.008)
    return driven_rod_test(
        soil, driven_length=lengths, radius=0.008, leads=leads, probe=pin, **keys
    )


def test_true_resistances_are_those_of_the_other_rod_model():
    soil = Soil((300.0, 40.0), (1.8,))
    found = driven(soil)
    expected = layered_rod_resistance(LENGTHS, radius=0.008, soil=soil)
    # Even wires beside steps of field that do not know the plane: 0.5 % where the tip has
    # just passed it, less elsewhere.
    assert_allclose(found.true_resistance, expected, rtol=0.005)


def test_uniform_soil_is_found_again_by_a_far_current_probe():
    found = driven(Soil((170.0,)), distance=300.0)
    # 0.2 % of both models, and the error of the reading.
    assert_allclose(found.apparent_resistivity, 170.0, rtol=0.003)


def test_the_longest_rod_suffers_most_from_a_near_current_probe():
    error = np.abs(driven(Soil((170.0,)), distance=8.0, lengths=[0.5, 2.0, 6.0]).error)
    assert error[0] < error[1] < error[2]
    assert error[2] > 0.005


def test_the_potential_probe_goes_where_it_is_asked():
    near = driven(Soil((170.0,)), potential_distance=10.0)
    assert near.potential_distance == 10.0
    assert (near.error < -0.005).all()


def test_a_stump_is_refused():
    with pytest.raises(CaseError, match="depth at least 5 radii"):
        driven(Soil((170.0,)), lengths=[0.03])
