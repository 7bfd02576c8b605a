"""What stands beside plates in a case: tests of them, far levels, draws."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.loading import load_case_text
from ohmscape.jobs.earth_tests import predict_tests
from ohmscape.jobs.trying import Trials
from ohmscape.solver.distances.wide import WideField
from ohmscape.solver.earth_tests import Pin, with_pin
from ohmscape.solver.errors import CaseError
from ohmscape.solver.solved_soil import Field
from ohmscape.solver.thin_wire import second_opinion

CASE = """
ohmscape: 1
title: An earth plate
soil: {layers: [{resistivity: 100 ohm*m}]}
electrodes:
  - name: earth
    drive: {current: 10 A}
    parts:
      - {kind: plate, name: earth plate, centre: [0 m, 0 m], size: [1 m, 1 m], depth: 0.6 m}
"""
TEST = """
earth_tests:
  - name: moved
    method: fall of potential
    electrode: earth
    current_probe: {distance: 50 m, azimuth: 0 deg, depth: 0.5 m, diameter: 16 mm}
    potential_probe: {count: 20}
"""


@pytest.fixture(scope="module")
def case():
    return load_case_text(CASE)


def test_a_tester_reads_the_plate_at_the_usual_place():
    (found,) = predict_tests(load_case_text(CASE + TEST))
    assert found.method == "thin conductors"
    # Boundary elements made without this code: 27.540; at 61.8 % a point reads what is there.
    assert_allclose(found.found.usual_reading, 27.540, rtol=0.01)
    assert_allclose(found.extent, np.sqrt(2.0), rtol=1e-6)


def test_a_pin_keeps_off_a_plate_by_its_edge(case):
    pinned = with_pin(case.conductors, Pin((1.2, 0.3), 0.5, 0.008), name="pin")
    assert pinned.flat.sum() == len(case.conductors.start)
    assert not pinned.flat[-1]
    with pytest.raises(CaseError, match=r"is 0\.4 m from the metal"):
        with_pin(case.conductors, Pin((0.9, 0.3), 0.5, 0.008), name="pin")


def test_far_from_a_plate_only_its_current_matters(case):
    field = Field(second_opinion(case.conductors, soil=case.soil), np.array([275.4]))
    wide = WideField(field)
    far = np.array([[30.0, 40.0], [300.0, 0.0]])
    current = field.group_current()[0]
    # rho I / 2 pi r; depth and width of the plate are (1 / 50)² of that.
    point = 100 * current / (2 * np.pi * np.array([50.0, 300.0]))
    assert_allclose(wide.surface(far), point, rtol=5e-4)


def test_draws_are_tried_with_plates(case):
    (condition,) = Trials().evaluation(case).conditions
    assert_allclose(condition.resistance, 27.540, rtol=0.002)
    assert condition.resistance_error < 0.01
