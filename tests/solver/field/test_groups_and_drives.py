"""Several electrodes in one soil: reciprocity, superposition, floating and bonded metal."""

from dataclasses import replace

import field_layouts as lay
import numpy as np
import pytest
from measuring import resistance, solved
from numpy.testing import assert_allclose

from ohmscape.solver.drives import Drive, operating_point
from ohmscape.solver.errors import CaseError
from ohmscape.solver.model import Soil
from ohmscape.solver.solved_soil import Field

SOIL = Soil((120.0, 430.0), (1.7,))
# The linear systems are solved to a residual of 1e-8.
SOLVED = 1e-6


@pytest.fixture(scope="module")
def parts():
    long_rod = lay.rods([0.0, 0.0], length=3.7, radius=0.009, top=0.2)
    bent = lay.together(
        lay.moved(lay.wire(length=4.3, radius=0.005, depth=0.6), shift=(3.1, 1.2)),
        lay.rods([3.1, 1.2], length=1.3, radius=0.007, top=0.6),
    )
    return long_rod, bent


@pytest.fixture(scope="module")
def pair(parts):
    return solved(lay.in_groups(*parts), soil=SOIL)


def test_current_matrix_is_reciprocal(pair):
    y = pair.current_matrix
    assert_allclose(y[0, 1], y[1, 0], rtol=SOLVED)


def test_metal_at_zero_volts_draws_current_from_its_neighbour(pair):
    y = pair.current_matrix
    assert y[0, 1] < 0
    assert y[1, 1] > -y[0, 1]


def test_potential_is_the_sum_over_the_drives(pair):
    places = np.array([[1.1, 0.4, 0.0], [5.2, -3.3, -0.9], [-2.0, 7.1, -2.6]])
    both = operating_point(
        pair.current_matrix, drives=[Drive("current", 3.7), Drive("voltage", -41.0)]
    )
    alone = operating_point(
        pair.current_matrix, drives=[Drive("current", 3.7), Drive("voltage", 0.0)]
    )
    other = operating_point(
        pair.current_matrix, drives=[Drive("current", 0.0), Drive("voltage", -41.0)]
    )
    total = Field(pair, both.voltage).potential(places)
    added = [Field(pair, point.voltage).potential(places) for point in (alone, other)]
    assert_allclose(total, np.sum(added, axis=0), rtol=1e-12)
    assert_allclose(both.current[0], 3.7, rtol=1e-12)
    assert_allclose(both.voltage[1], -41.0, rtol=1e-12)


def test_floating_metal_carries_no_net_current(pair):
    point = operating_point(
        pair.current_matrix, drives=[Drive("current", 10.0), Drive("floating")]
    )
    field = Field(pair, point.voltage)
    assert_allclose(field.part_current(), [10.0, 0.0], atol=10 * SOLVED)
    # It takes current in on one side and gives it back on the other.
    leakage = field.leakage[pair.elements.group == 1]
    assert leakage.min() < -1e-3
    assert leakage.max() > 1e-3
    assert 0 < point.voltage[1] < point.voltage[0]


def test_small_floating_metal_takes_the_potential_of_the_soil():
    rod = lay.rod(length=3.0, radius=0.008)
    probe = lay.rods([6.0, 0.0], length=0.2, radius=0.004)
    with_probe = solved(lay.in_groups(rod, probe), soil=Soil((100.0,)))
    point = operating_point(
        with_probe.current_matrix, drives=[Drive("current", 1.0), Drive("floating")]
    )
    # Uniform-current law asinh(L / x), 0.3 % high at 6 m (check at 5 m: 0.4 %); the probe's
    # own length adds less.
    expected = 100.0 / (2 * np.pi * 3.0) * np.arcsinh(3.0 / 6.0)
    assert_allclose(point.voltage[1], expected, rtol=0.01)


def test_bonded_groups_are_one_group(parts, pair):
    bonded = operating_point(
        pair.current_matrix,
        drives=[Drive("current", 2.0), Drive("floating")],
        bonds=[(0, 1)],
    )
    whole = solved(lay.together(*parts), soil=SOIL)
    assert_allclose(bonded.resistance, [[resistance(whole)]], rtol=SOLVED)
    assert bonded.voltage[0] == bonded.voltage[1]
    assert_allclose(bonded.current.sum(), 2.0, rtol=1e-12)
    assert bonded.bonded_set.tolist() == [0, 0]


def test_power_is_the_sum_of_voltage_times_current(pair):
    point = operating_point(
        pair.current_matrix, drives=[Drive("voltage", 100.0), Drive("current", -2.0)]
    )
    v, i = point.voltage, point.current
    assert_allclose(point.power, v[0] * i[0] + v[1] * i[1], rtol=1e-12)
    assert point.power > 0


def test_part_currents_add_up_to_the_group(parts):
    conductors = lay.together(*parts)
    named = replace(
        conductors, part=np.array([0, 1, 2]), part_names=("rod", "wire", "short rod")
    )
    solution = solved(named, soil=SOIL)
    field = Field(solution, np.array([50.0]))
    by_part = field.part_current()
    assert by_part.shape == (3,)
    assert (by_part > 0).all()
    assert_allclose(by_part.sum(), 50.0 / resistance(solution), rtol=SOLVED)


MATRIX = np.array([[0.05, -0.01, -0.004], [-0.01, 0.08, -0.002], [-0.004, -0.002, 0.03]])
NAMES = ("mat", "fence", "pole")


def test_driven_by_voltage_and_by_current_is_refused():
    drives = [Drive("voltage", 5.0), Drive("current", 1.0), Drive("floating")]
    with pytest.raises(CaseError, match=r"'mat', 'fence' are driven by voltage and by current"):
        operating_point(MATRIX, drives=drives, bonds=[(0, 1)], names=NAMES)


def test_bonded_at_two_voltages_is_refused():
    drives = [Drive("voltage", 5.0), Drive("floating"), Drive("voltage", 6.0)]
    with pytest.raises(CaseError, match=r"'mat', 'pole' are given different voltages"):
        operating_point(MATRIX, drives=drives, bonds=[(0, 1), (1, 2)], names=NAMES)


def test_nothing_driven_is_refused():
    with pytest.raises(CaseError, match="no electrode is driven: group 0, group 1, group 2"):
        operating_point(MATRIX, drives=[Drive("floating")] * 3)


def test_bonded_at_one_voltage_is_accepted():
    drives = [Drive("voltage", 5.0), Drive("voltage", 5.0), Drive("floating")]
    point = operating_point(MATRIX, drives=drives, bonds=[(0, 1)], names=NAMES)
    assert point.voltage[:2].tolist() == [5.0, 5.0]
    assert_allclose(point.current[2], 0.0, atol=1e-15)


def test_bonded_currents_add_up():
    drives = [Drive("current", 5.0), Drive("floating"), Drive("current", -1.5)]
    point = operating_point(MATRIX, drives=drives, bonds=[(0, 2)], names=NAMES)
    assert_allclose(point.current[0] + point.current[2], 3.5, rtol=1e-12)
    assert_allclose(point.current[1], 0.0, atol=1e-12)


def test_resistance_of_a_set_is_its_rise_alone():
    # Set 0 is fed one ampere, the others float: its rise is the diagonal entry.
    drives = [Drive("current", 1.0), Drive("floating"), Drive("floating")]
    point = operating_point(MATRIX, drives=drives)
    assert_allclose(point.voltage, point.resistance[:, 0], rtol=1e-12)
