"""The plan of a mesh: how far, how fine, how many, and when it is refused."""

import field_layouts as lay
import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.meshes import build_mesh, mesh_plan
from ohmscape.meshes.plan import outer_radius, planned_size
from ohmscape.solver.bodies import Body, Film, Prism
from ohmscape.solver.errors import BudgetError, CaseError
from ohmscape.solver.model import Soil

UNIFORM = Soil((100.0,))
ROD = lay.rod(length=3.0, radius=0.008)
GRID = lay.grid(sides=(40.0, 30.0), lines=(5, 4), radius=0.005, depth=0.5)
LAYOUTS = {
    "rod": (ROD, UNIFORM, 1.0),
    "fine rod": (ROD, UNIFORM, 2.5),
    "coarse rod": (ROD, UNIFORM, 0.5),
    "rod under a crust": (ROD, Soil((1000.0, 100.0), (0.2,)), 1.0),
    "grid": (GRID, UNIFORM, 1.0),
    "grid over rock": (GRID, Soil((100.0, 2000.0), (3.0,)), 1.0),
    "twelve rods": (
        lay.rods(lay.square_places(12, spacing=5.0), length=3.0, radius=0.008),
        UNIFORM,
        1.0,
    ),
    "ring": (lay.ring(diameter=10.0, radius=0.005, depth=0.75), UNIFORM, 1.0),
    "star": (
        lay.star(arms=5, arm=12.0, radius=0.005, depth=0.6),
        Soil((80.0, 30.0), (1.0,)),
        1.0,
    ),
}


@pytest.mark.parametrize("name", LAYOUTS)
def test_as_many_elements_come_as_were_expected(name):
    conductors, soil, fineness = LAYOUTS[name]
    plan = mesh_plan(conductors, soil=soil, fineness=fineness)
    made = len(build_mesh(plan).tetrahedra)
    # The budget needs the order of magnitude; interface planes add elements of their own.
    assert plan.elements / made == pytest.approx(1.0, abs=0.5)


def test_the_half_ball_holds_the_electrode_many_times():
    shifted = lay.moved(GRID, shift=(105.0, -33.0))
    plan = mesh_plan(shifted, soil=UNIFORM)
    assert_allclose(plan.centre, (125.0, -18.0))
    reach = np.linalg.norm([20.0, 15.0, 0.5])
    assert_allclose(plan.outer_radius, 20.0 * reach)


def test_the_half_ball_grows_with_layers_that_carry_current_sideways():
    at = {"half_diagonal": 3.0}
    assert outer_radius(UNIFORM, **at) == 60.0
    # 20 times the larger of electrode and layers, and 40 of thickness times contrast.
    assert_allclose(outer_radius(Soil((100.0, 1000.0), (2.0,)), **at), 60.0 + 40 * 20.0)
    assert_allclose(outer_radius(Soil((100.0, 10.0), (8.0,)), **at), 160.0 + 40 * 0.8)


def test_the_half_ball_goes_along_better_bodies_as_far_as_current_keeps_to_them():
    def radius(low, high, resistivity, film=None):
        (a, b, top), (c, d, bottom) = low, high
        outline = ((a, b), (c, b), (c, d), (a, d))
        body = Body("body", Prism(outline, top, bottom), resistivity, film=film)
        return mesh_plan(ROD, soil=Soil((100.0,), bodies=(body,))).outer_radius

    wall = {"low": (1.0, -400.0, 0.0), "high": (3.0, 400.0, 400.0)}
    assert_allclose(radius(**wall, resistivity=20.0), 60.0 + 10 * 2.0 * 5)
    # Never beyond what takes it all in, along which a film may lead current.
    assert_allclose(radius(**wall, resistivity=0.1), 1.5 * 400.0)
    assert_allclose(radius(**wall, resistivity=20.0, film=Film(50.0)), 1.5 * 400.0)
    assert_allclose(radius(**wall, resistivity=500.0), 60.0)
    # A slab in the surface leaks downwards alone, as a layer does.
    slab = {"low": (-300.0, -300.0, 0.0), "high": (300.0, 300.0, 0.5)}
    assert_allclose(radius(**slab, resistivity=10.0), 60.0 + 40 * 0.5 * 10)


def test_interface_planes_go_beyond_the_electrode_by_thickness():
    plan = mesh_plan(ROD, soil=Soil((100.0, 700.0, 50.0), (2.0, 0.5)))
    (first, near), (second, far) = plan.planes
    assert (first, second) == (2.0, 2.5)
    # Electrode 3 m. The lower plane has more contrast: ten depths of it; the upper one twenty
    # times its distance from that. Three lengths of leakage through the poor layer are less.
    assert_allclose([near, far], [3.0 + 20 * 0.5, 3.0 + 10 * 2.5])
    leak = np.sqrt(2.0 / 100.0 * 0.5 * 700.0)
    assert near > 3.0 + 3 * leak
    plan = mesh_plan(ROD, soil=Soil((100.0, 70.0, 50.0), (2.0, 0.5)))  # the upper one has more
    assert_allclose([radius for _, radius in plan.planes], [3.0 + 10 * 2.0, 3.0 + 20 * 0.5])


def test_a_thin_poor_layer_is_meshed_as_far_as_current_leaks_through_it():
    soil = Soil((10.0, 5000.0, 9.0), (2.0, 0.1))
    (_, near), (_, far) = mesh_plan(ROD, soil=soil).planes
    leak = np.sqrt(2.0 / 10.0 * 0.1 * 5000.0)  # 10 m; 20 times the thickness are 2 m
    assert_allclose(min(near, far), 3.0 + 3 * leak)


def test_one_size_can_be_given():
    plan = mesh_plan(GRID, soil=UNIFORM, size=0.9)
    assert_allclose(plan.element_size, 0.9)


def test_more_than_the_limit_is_refused_in_the_plan():
    with pytest.raises(BudgetError, match=r"need more than 1,000 elements \(smallest 0\.3 m\)"):
        mesh_plan(ROD, soil=UNIFORM, element_limit=1000)


@pytest.mark.slow
@pytest.mark.parametrize("size", [1e-3, 1e-9], ids=["octree", "count along the metal"])
def test_a_millimetre_mesh_of_a_grid_is_refused(size):
    with pytest.raises(
        BudgetError, match="ask for larger elements or a smaller model"
    ) as error:
        mesh_plan(GRID, soil=UNIFORM, size=size)
    assert isinstance(error.value, CaseError)
    assert "3,000,000 elements" in str(error.value)


def test_the_limit_can_be_raised():
    plan = mesh_plan(ROD, soil=UNIFORM, fineness=3.0, element_limit=400_000)
    with pytest.raises(BudgetError, match=r"raise numerics\.element_limit"):
        mesh_plan(ROD, soil=UNIFORM, fineness=3.0, element_limit=plan.elements // 2)


def test_memory_grows_with_elements():
    small, large = (mesh_plan(ROD, soil=UNIFORM, fineness=f) for f in (1.0, 2.0))
    assert large.elements > 5 * small.elements
    assert large.memory > small.memory > 0


def test_planes_inside_a_stack_end_where_elements_are_wider_than_it():
    rod = lay.rod(length=2.4, radius=0.008)
    thin = mesh_plan(rod, soil=Soil((3000.0, 30.0) * 5, (0.05,) * 9))
    radius = [far for _, far in thin.planes]
    # Elements of 0.125 m hold five planes, 0.2 m apart, from 0.31 m on; three of them are more.
    assert_allclose(radius[1:-1], 3 * 0.125)
    assert min(radius[0], radius[-1]) > 2.4
    # As few planes as an element may hold go as far as they did.
    few = mesh_plan(rod, soil=Soil((3000.0, 30.0, 3000.0, 30.0, 3000.0), (0.05,) * 4))
    assert min(far for _, far in few.planes) > 2.4
    # Elements that are wide all over still find the layers that the metal lies in.
    wide = mesh_plan(rod, soil=Soil((3000.0, 30.0) * 5, (0.05,) * 9), size=0.3)
    assert_allclose([far for _, far in wide.planes[1:-1]], 3 * 0.3)


def test_planes_far_closer_than_elements_are_wide_are_one_stack():
    layers = Soil((100.0, 3000.0, 30.0, 100.0), (1.5, 0.03, 0.04))
    stack = next(item for item in mesh_plan(ROD, soil=layers).stacks if len(item.planes) > 1)
    assert_allclose([depth for depth, _ in stack.planes], [1.5, 1.53, 1.57])
    assert mesh_plan(ROD, soil=layers).flat == stack.flat < 0.2
    # A thin uppermost layer is one with the surface; thick ones are nobody's.
    crust = mesh_plan(ROD, soil=Soil((1000.0, 100.0), (0.01,)), size=0.3).stacks[0]
    assert [depth for depth, _ in crust.planes] == [0.0, 0.01]
    assert mesh_plan(ROD, soil=Soil((1000.0, 100.0), (1.5,))).flat == np.inf


def test_planes_are_as_flat_as_the_elements_within_a_wide_loop():
    loop = lay.grid(sides=(310.0, 270.0), lines=(2, 2), radius=0.006, depth=0.8)
    plan = mesh_plan(loop, soil=Soil((470.0, 7.0, 2200.0), (0.25, 0.8)), fineness=0.8)
    # Planes end 8 m from the loop, where elements are 4 m wide; its middle is 135 m from metal.
    (middle,) = planned_size(plan, np.array([[*plan.centre, 0.0]]))
    assert middle > 30.0
    assert [len(stack.planes) for stack in plan.stacks] == [3]
    assert plan.flat == pytest.approx(0.25 / middle, rel=0.05)
