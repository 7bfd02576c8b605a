"""Elements counted before a mesh is made, and what is made."""

import field_layouts as lay
import numpy as np
import pytest

from ohmscape.meshes import build_mesh, mesh_plan
from ohmscape.meshes.sizing import SizeField
from ohmscape.solver.model import Soil

# Drawn once at random, in soils that were not looked at before.
DRAWN = {
    "rod": (lay.rod(length=5.3, radius=0.007), 0.9),
    "ring": (lay.ring(diameter=11.0, radius=0.005, depth=0.7), 0.6),
    "grid": (lay.grid(sides=(19.0, 13.0), lines=(4, 3), radius=0.005, depth=0.5), 0.5),
    "rods": (lay.rods(lay.square_places(9, spacing=4.1), length=3.7, radius=0.008), 0.6),
    "star": (lay.star(arms=3, arm=9.0, radius=0.005, depth=0.6), 0.7),
}


@pytest.mark.parametrize("name", DRAWN)
@pytest.mark.parametrize("layers", [1, 2, 4, 7])
def test_a_count_is_within_a_factor_of_one_and_a_half(name, layers):
    random = np.random.default_rng([layers, *name.encode()])
    resistivity = np.exp(random.uniform(np.log(10.0), np.log(3000.0), layers))
    thickness = np.exp(random.uniform(np.log(0.1), np.log(5.0), layers - 1))
    conductors, fineness = DRAWN[name]
    soil = Soil(tuple(resistivity.tolist()), tuple(thickness.tolist()))
    plan = mesh_plan(conductors, soil=soil, fineness=fineness)
    made = len(build_mesh(plan).tetrahedra)
    assert 1 / 1.5 < made / plan.elements < 1.5


@pytest.mark.slow
@pytest.mark.parametrize(
    ("upper", "lower", "count", "fineness"),
    [(3000.0, 30.0, 4, 0.8), (30.0, 3000.0, 10, 0.5)],
    ids=["four", "ten"],
)
def test_planes_five_centimetres_apart_are_counted(upper, lower, count, fineness):
    grid = lay.grid(sides=(21.0, 14.0), lines=(4, 3), radius=0.005, depth=0.5)
    soil = Soil((upper, lower) * (count // 2), (0.05,) * (count - 1))
    plan = mesh_plan(grid, soil=soil, fineness=fineness)
    made = len(build_mesh(plan).tetrahedra)
    # The planes make more elements than all else, which is what presets go by.
    assert made > 1.5 * plan.asked
    assert 1 / 1.5 < made / plan.elements < 1.5


def test_planes_meshed_alike_have_the_triangles_of_the_first_however_deep_they_are():
    grid = lay.grid(sides=(9.0, 9.0), lines=(5, 5), radius=0.006, depth=0.48)
    soil = Soil((7.0, 320.0, 2500.0, 1270.0, 1740.0), (2.31, 2.11, 1.51, 0.379))
    plan = mesh_plan(grid, soil=soil, fineness=0.6)
    # Elements as large as asked for at each plane would be half of those that are made.
    assert [len(stack.planes) for stack in plan.stacks] == [5]
    made = len(build_mesh(plan).tetrahedra)
    assert made == pytest.approx(plan.elements, rel=0.25)


def test_metal_closer_together_than_elements_makes_more_of_them():
    def counted(spacing):
        places = spacing * np.stack(np.mgrid[:10, :10], axis=-1).reshape(-1, 2)
        rods = lay.rods(places, length=9.0, radius=0.008)
        plan = mesh_plan(rods, soil=Soil((100.0,)), size=3.0)
        return plan.elements / plan.asked, len(build_mesh(plan).tetrahedra) / plan.elements

    (dense, made), (sparse, usual) = counted(2.2), counted(9.0)
    assert dense > 1.15 * sparse
    assert [made, usual] == pytest.approx([1.0, 1.0], abs=0.2)


def test_a_size_is_that_of_the_nearest_metal_and_grows_away_from_it():
    field = SizeField(np.array([[0.0, 0, -1], [50.0, 0, -1]]), np.array([0.2, 1.0]), 0.4)
    at_metal, beside, other = field(np.array([[0.0, 0, -1], [0.7, 0, -1], [50.0, 0, -1]]))
    assert (at_metal, other) == pytest.approx((0.2, 1.0))
    # As asked for one element, then 0.4 m more for each metre.
    assert beside == pytest.approx(0.2 + 0.4 * 0.5)
