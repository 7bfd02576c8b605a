"""A result beside its second opinion: same places, same drives, differences."""

from dataclasses import replace

import field_layouts as lay
import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.drives import Drive, operating_point
from ohmscape.solver.exposure.worst import WorstVoltage
from ohmscape.solver.model import Soil
from ohmscape.solver.thin_wire import agreement, second_opinion

GROUPS = {"cabinet": 0, "fence": 1}


@pytest.fixture(scope="module")
def opinion():
    metal = lay.in_groups(
        lay.rod(length=3.0, radius=0.008),
        lay.wire(length=9.0, radius=0.004, depth=1.1),
    )
    return second_opinion(metal, soil=Soil((100.0, 30.0), (1.5,)))


def point_of(opinion):
    drives = (Drive("current", 20.0), Drive("floating"))
    return operating_point(opinion.current_matrix, drives=drives)


def worst_of(opinion, point):
    """Worst voltages as a result would hold them, from the opinion's own surface."""
    feet = np.array([[1.0, 0.0, 0.0], [4.0, 1.0, 0.0], [0.2, 0.0, 0.0], [-0.8, 0.0, 0.0]])
    ground = opinion.potential(feet, voltage=point.voltage)
    return (
        WorstVoltage("touch", "cabinet", float(point.voltage[0] - ground[0]), (1.0, 0.0)),
        WorstVoltage("touch", "fence", float(abs(point.voltage[1] - ground[1])), (4.0, 1.0)),
        WorstVoltage("step", "", float(ground[2] - ground[3]), (0.2, 0.0), (-0.8, 0.0)),
    )


def compared(opinion, *, point=None, worst=None):
    other = point_of(opinion)
    return agreement(
        point or other,
        worst=worst_of(opinion, other) if worst is None else worst,
        metal_groups=GROUPS,
        opinion=opinion,
        other=other,
    )


def test_a_result_equal_to_its_second_opinion_differs_by_nothing(opinion):
    found = compared(opinion)
    assert found.resistance_difference == 0
    assert found.voltage_difference < 1e-12
    assert_allclose(found.resistance, opinion.resistance.diagonal())
    assert_allclose(found.worst, [w.voltage for w in worst_of(opinion, point_of(opinion))])
    assert found.wires == len(opinion.wires)
    assert found.agrees(resistance_error=0.0, voltage_error=0.0)


def test_differences_are_found_and_judged_by_the_errors_of_both(opinion):
    own = point_of(opinion)
    higher = replace(own, resistance=1.03 * own.resistance)
    found = compared(opinion, point=higher)
    assert found.resistance_difference == pytest.approx(0.03)
    gap = 0.03 - opinion.resistance_error
    assert found.agrees(resistance_error=1.01 * gap, voltage_error=0.0)
    assert not found.agrees(resistance_error=0.99 * gap, voltage_error=1.0)


def test_a_touch_voltage_that_differs_counts_in_terms_of_the_rise(opinion):
    own = point_of(opinion)
    rise = own.voltage.max()
    first, *others = worst_of(opinion, own)
    moved = replace(first, voltage=first.voltage - 0.04 * rise)
    found = compared(opinion, worst=(moved, *others))
    assert found.voltage_difference == pytest.approx(0.04)
    assert not found.agrees(resistance_error=1.0, voltage_error=0.0)


def test_a_case_without_places_still_compares_the_rise(opinion):
    own = point_of(opinion)
    found = compared(opinion, point=replace(own, voltage=1.02 * own.voltage), worst=())
    assert found.worst == ()
    assert found.voltage_difference == pytest.approx(0.02 / 1.02)


def test_voltages_out_of_phase_are_compared_in_size(opinion):
    own = point_of(opinion)
    turned = replace(own, voltage=own.voltage * np.exp(0.8j))
    found = agreement(
        turned,
        worst=worst_of(opinion, own),
        metal_groups=GROUPS,
        opinion=opinion,
        other=turned,
    )
    assert found.voltage_difference < 1e-12
