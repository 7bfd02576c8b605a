"""Feet as discs on a solved soil: closed forms, series, and what must always be true."""

import field_layouts as lay
import numpy as np
import pytest
from disc_feet import feet_in_parallel, feet_in_series, foot_resistance
from measuring import solved
from numpy.testing import assert_allclose

from ohmscape.meshes import build_mesh, mesh_plan
from ohmscape.solver.bodies import Body, HalfSpace, Prism
from ohmscape.solver.errors import CaseError, TrustError
from ohmscape.solver.field.feet import Ground
from ohmscape.solver.field.solution import solve
from ohmscape.solver.limits import Standing, disc_layer_factor, surface_layer_factor
from ohmscape.solver.model import Conductors, Soil

ROD = lay.rod(length=3.0, radius=0.008)
SQUARE = ((-4.0, -4.0), (4.0, -4.0), (4.0, 4.0), (-4.0, 4.0))
PAD = Body("pad", Prism(SQUARE, 0.0, 0.15), 3000.0)


def without_metal(feet, solution):
    """The feet's matrix where the metal floats: 10 m off it is hardly there."""
    resistance = np.linalg.inv(solution.current_matrix)
    return feet.own + feet.open @ resistance @ feet.open.T


@pytest.fixture(scope="module")
def plain():
    return solved(ROD, soil=Soil((73.0,)))


@pytest.fixture(scope="module")
def yard():
    """A grid of 6 x 6 m, 2 x 2 meshes, 0.4 m deep in 100 ohm m, under a pad of 8 x 8 m."""
    lines = np.array([-3.0, 0.0, 3.0])
    one = np.concatenate([[[x, -3, -0.4] for x in lines], [[-3, y, -0.4] for y in lines]])
    other = np.concatenate([[[x, 3, -0.4] for x in lines], [[3, y, -0.4] for y in lines]])
    metal, soil = Conductors.bare(one, end=other, radius=0.005), Soil((100.0,), bodies=(PAD,))
    plan = mesh_plan(metal, soil=soil, fineness=1.0, growth_limit=0.4)
    return solve(build_mesh(plan), soil=soil, conductors=metal)


def test_a_foot_on_uniform_ground_is_a_disc(plain):
    for radius in (0.08, 0.03):
        found = Ground(plain).feet(np.array([[10.0, 0.0]]), radius=radius)
        # rho / 4b (classical), and so however wide the elements are there.
        exact = foot_resistance(73.0, radius=radius)
        assert_allclose(without_metal(found, plain)[0, 0], exact, rtol=1e-4)


@pytest.mark.parametrize("apart", [0.3, 1.0])
def test_two_feet_act_on_each_other_as_discs(plain, apart):
    found = Ground(plain).feet(np.array([[10.0, 0.0], [10.0, apart]]))
    own = without_metal(found, plain)
    # rho / 2 pi d of points; of discs more by b^2 / 3 d^2, 2 % at 0.3 m.
    points = 73.0 / (2 * np.pi * apart)
    assert_allclose(own[0, 1], points * (1 + 0.08**2 / (3 * apart**2)), rtol=3e-3)
    parallel = 1 / np.linalg.inv(own).sum()
    series = own[0, 0] + own[1, 1] - 2 * own[0, 1]
    assert_allclose(parallel, feet_in_parallel(73.0, apart=apart), rtol=4e-3)
    assert_allclose(series, feet_in_series(73.0, apart=apart), rtol=6e-3)


@pytest.mark.parametrize(
    ("top", "thickness", "below"),
    [(3000.0, 0.1, 100.0), (300.0, 0.15, 50.0), (50.0, 0.5, 400.0)],
)
def test_a_foot_on_a_layer_has_the_derating_of_its_exact_field(top, thickness, below):
    soil = Soil((top, below), (thickness,))
    solution = solved(ROD, soil=soil)
    found = without_metal(Ground(solution).feet(np.array([[6.0, 0.0]])), solution)[0, 0]
    standing = Standing(below, top, thickness)
    exact = disc_layer_factor(standing) * foot_resistance(top)
    assert_allclose(found, exact, rtol=1e-3)
    if top > below:  # IEEE Std 80 equation 27 (from memory), within 3 % of it
        formula = surface_layer_factor(standing) * foot_resistance(top)
        assert_allclose(formula, found, rtol=0.03)


@pytest.mark.parametrize(("beyond", "gaps"), [(400.0, (0.5, 0.2)), (25.0, (1.0, 0.5))])
def test_a_foot_beside_a_contact_sees_its_mirror(beyond, gaps):
    soil = Soil((100.0,), bodies=(Body("rock", HalfSpace((1.0, 0.0), (1.0, 0.0)), beyond),))
    metal = lay.rods([[-5.0, 0.0]], length=1.0, radius=0.008)
    plan = mesh_plan(metal, soil=soil, fineness=1.0, growth_limit=0.4)
    solution = solve(build_mesh(plan), soil=soil, conductors=metal)
    for gap in gaps:
        feet = Ground(solution).feet(np.array([[1.0 - gap, 0.0]]))
        k = (beyond - 100.0) / (beyond + 100.0)
        exact = foot_resistance(100.0) + k * 100.0 / (2 * np.pi * 2 * gap)
        assert_allclose(without_metal(feet, solution)[0, 0], exact, rtol=0.01)


@pytest.mark.slow
def test_a_foot_in_the_middle_of_a_pad_stands_on_a_layer_but_for_the_grid(yard):
    found = Ground(yard).feet(np.array([[1.5, 1.5], [1.5, 1.8]]))
    exact = disc_layer_factor(Standing(100.0, 3000.0, 0.15)) * foot_resistance(3000.0)
    assert (found.own.diagonal() < exact).all()  # metal at 0 V takes some off
    assert_allclose(found.own.diagonal(), exact, rtol=0.01)


@pytest.mark.slow
def test_a_pad_pays_by_the_feet_and_not_by_the_prospective_voltage(yard):
    resistance = 1 / yard.current_matrix[0, 0]
    feet = Ground(yard).feet(np.array([[1.35, 1.5], [1.65, 1.5]]))
    touch = resistance * (1 - feet.open[:, 0].mean())
    # Charges on the faces of the pad, refined: 7.833 - 5.568 V/A; without a pad 2.09.
    assert_allclose(touch, 2.265, rtol=0.01)
    pair = 1 / np.linalg.inv(feet.own).sum()
    with_pad, without = touch / (1000 + pair), 2.09 / (1000 + 1.5 * 100.0)
    assert with_pad < 0.3 * without


@pytest.mark.slow
def test_current_drawn_by_a_foot_is_its_open_voltage(yard):
    feet = Ground(yard).feet(np.array([[1.5, 1.5], [2.5, 1.0], [6.0, 0.0]]))
    assert_allclose(-feet.drawn, feet.open, rtol=2e-3)
    points = np.column_stack([feet.place, np.zeros(3)])
    assert_allclose(feet.open[:, 0], yard.potential(points, voltage=np.ones(1)), rtol=1e-12)


@pytest.mark.slow
def test_joint_matrix_gives_a_loaded_circuit_that_balances(yard):
    feet = Ground(yard).feet(np.array([[1.35, 1.5], [1.65, 1.5]]))
    joint = feet.current_matrix(yard.current_matrix)
    assert_allclose(joint, joint.T, rtol=1e-12)
    assert np.linalg.eigvalsh(joint).min() > 0
    # 1 V on the grid, a body of 1000 ohm from it to both feet.
    body = 1000.0
    member = np.array([[1.0, 0], [0, 1], [0, 1]])
    grid_to_feet = member.T @ joint @ member + np.array([[1, -1], [-1, 1]]) / body
    foot = -grid_to_feet[1, 0] / grid_to_feet[1, 1]
    current = (1 - foot) / body
    voltage = np.array([1.0, foot])
    power = voltage @ (member.T @ joint @ member) @ voltage + current**2 * body
    assert_allclose(grid_to_feet[0] @ voltage, power, rtol=1e-10)  # all from the grid
    # Thevenin: the open voltage behind the feet.
    behind = 1 / np.linalg.inv(feet.own).sum()
    share = np.linalg.inv(feet.own).sum(axis=0) * behind
    open_voltage = 1 - share @ feet.open[:, 0]
    assert_allclose(current, open_voltage / (body + behind), rtol=1e-10)


@pytest.mark.slow
def test_feet_that_cannot_be_solved_are_refused(yard):
    ground = Ground(yard)
    with pytest.raises(CaseError, match=r"feet 0\.1 m apart .* need 0\.16 m"):
        ground.feet(np.array([[1.5, 1.5], [1.6, 1.5]]))
    with pytest.raises(TrustError, match=r"too near to the edge .* farther from the edge"):
        ground.feet(np.array([[3.9, 0.0]]))
    ground.feet(np.array([[3.5, 0.0], [4.3, 0.0]]))  # either side of it
