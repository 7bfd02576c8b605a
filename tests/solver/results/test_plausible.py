"""The field at the metal, by hand for one rod in uniform soil."""

from dataclasses import replace
from types import SimpleNamespace

import field_layouts as lay
import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.circuit import Circuit, Supply
from ohmscape.solver.drives import Drive
from ohmscape.solver.model import Soil
from ohmscape.solver.results.plausible import (
    BREAKDOWN_FIELD,
    bounds_of,
    fault_current,
    field_at_metal,
)
from ohmscape.solver.solved_soil import Field
from ohmscape.solver.thin_wire import second_opinion


@pytest.mark.parametrize(("amperes", "can_be"), [(10.0, True), (600.0, False)])
def test_field_at_a_rod_is_that_of_its_mean_leakage(amperes, can_be):
    # 600 A into a rod of 2.4 m in 170 ohm*m: 170 x 250 / (2 pi 0.008) = 846 kV/m.
    solution = second_opinion(lay.rod(length=2.4, radius=0.008), soil=Soil((170.0,)))
    field = Field(solution, np.array([amperes / solution.current_matrix[0, 0]]))
    (found,) = field_at_metal(SimpleNamespace(field=field, solution=solution))
    assert_allclose(found, 170.0 * (amperes / 2.4) / (2 * np.pi * 0.008), rtol=1e-6)
    assert (found < BREAKDOWN_FIELD) == can_be


def bounds(metal, *, drives=(), circuit=None):
    return bounds_of(metal, soil=Soil((170.0,)), drives=drives, bonds=[], circuit=circuit)


PAIR = replace(
    lay.rods([[0.0, 0.0], [8.0, 0.0]], length=3.0, radius=0.01),
    group=np.array([0, 1]),
    group_names=("one", "other"),
)


def test_all_current_leaves_the_half_ball_round_the_metal():
    found = bounds(PAIR, drives=[Drive("current", 30.0), Drive("current", 50.0)])
    # From the middle, 4 m and 3 m to a tip, and the radius.
    assert_allclose(found.rise, 170.0 * 80.0 / (2 * np.pi * 5.01), rtol=1e-12)
    assert_allclose(found.current, [30.0, 50.0])


def test_nothing_is_known_of_a_rise_where_current_comes_back():
    drives = [Drive("current", 80.0), Drive("current", -80.0)]
    assert bounds(PAIR, drives=drives).rise == 0
    supply = Supply("one", current=80.0, returns_at="other")
    circuit = Circuit(50.0, supply, all_current_in_soil=True)
    found = bounds(PAIR, drives=[Drive("circuit")] * 2, circuit=circuit)
    assert found.rise == 0
    assert_allclose(found.current, [80.0, 0.0])


def test_a_split_factor_leaves_its_share_to_the_soil():
    circuit = Circuit(50.0, Supply("one", current=80.0), split_factor=0.6)
    found = bounds(PAIR, drives=[Drive("circuit"), Drive("floating")], circuit=circuit)
    assert_allclose(found.rise, 170.0 * 48.0 / (2 * np.pi * 5.01), rtol=1e-12)


def test_current_that_comes_back_is_driven_once():
    point = SimpleNamespace(current=np.array([80.0, -80.0, 15.0]))
    assert fault_current(SimpleNamespace(operation=None, operating=point)) == 95.0
    operation = SimpleNamespace(fault_current=120.0)
    assert fault_current(SimpleNamespace(operation=operation, operating=point)) == 120.0


LAYOUTS = {
    "wide apart": lay.rods([[0.0, 0.0], [40.0, 3.0]], length=3.0, radius=0.01),
    "deep": lay.rods([[1.0, 2.0]], length=6.0, radius=0.02, top=9.0),
    "fill": lay.encased_rod(length=2.0, radius=0.01, shell_radius=0.2, shell_resistivity=9.0),
}


@pytest.mark.parametrize("soil", [Soil((170.0,)), Soil((40.0, 900.0), (2.2,))])
@pytest.mark.parametrize("name", LAYOUTS)
def test_what_is_known_without_solving_is_never_too_much(name, soil):
    metal = LAYOUTS[name]
    solution = second_opinion(metal, soil=soil)
    bounds = bounds_of(
        metal, soil=soil, drives=[Drive("current", 70.0)], bonds=[], circuit=None
    )
    field = Field(solution, np.array([70.0 / solution.current_matrix[0, 0]]))
    assert 0 < bounds.rise < field.voltage[0]
    found = field_at_metal(SimpleNamespace(field=field, solution=solution))
    assert (bounds.field <= found * (1 + 1e-9)).all()
    # And not idle: in uniform soil a rod has some ten times as much as the half ball round it.
    assert soil.thickness or field.voltage[0] < 40 * bounds.rise
