"""Plans made finer element by element."""

import field_layouts as lay
import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.meshes import build_mesh, mesh_plan, refined_plan
from ohmscape.meshes.plan import planned_size
from ohmscape.solver.errors import BudgetError
from ohmscape.solver.field.space import Space
from ohmscape.solver.model import Soil

UNIFORM = Soil((100.0,))
ROD = lay.rod(length=3.0, radius=0.008)


@pytest.fixture(scope="module")
def plan():
    return mesh_plan(ROD, soil=UNIFORM)


@pytest.fixture(scope="module")
def space(plan):
    return Space(build_mesh(plan))


def _refined(plan, space, ratio, **limits):
    return refined_plan(
        plan, space=space, ratio=ratio, **{"element_limit": 1_000_000, **limits}
    )


def test_a_mesh_that_is_fine_enough_stays_as_it_is(plan, space):
    same = _refined(plan, space, np.ones(len(space.origin)))
    assert_allclose(same.background.size, planned_size(plan, space.mesh.points), rtol=0.01)
    assert_allclose(same.element_size, plan.element_size, rtol=0.2)
    made = len(build_mesh(same).tetrahedra)
    assert made == pytest.approx(len(space.origin), rel=0.15)


def test_elements_become_smaller_where_they_should_and_only_there(plan, space):
    spot = np.linalg.norm(space.centroids - [0, 0, -3.0], axis=1) < 1.0
    finer = Space(build_mesh(_refined(plan, space, np.where(spot, 0.5, 1.0))))

    def within(each, *, low, high):
        gap = np.linalg.norm(each.centroids - [0, 0, -3.0], axis=1)
        return int(((gap >= low) & (gap < high)).sum())

    before, after = (within(each, low=0, high=0.8) for each in (space, finer))
    assert 5 * before < after < 12 * before
    before, after = (within(each, low=10, high=30) for each in (space, finer))
    assert after == pytest.approx(before, rel=0.25)


def test_metal_is_cut_finer_and_smeared_as_before(plan, space):
    finer = _refined(plan, space, np.full(len(space.origin), 0.5))
    assert_allclose(finer.element_size, 0.5 * plan.element_size, rtol=0.25)
    assert_allclose(finer.spread, plan.spread)
    assert_allclose(build_mesh(finer).spread, plan.spread)


def test_neighbours_sizes_differ_by_no_more_than_gmsh_can_follow(plan, space):
    spot = np.linalg.norm(space.centroids - [0, 0, -3.0], axis=1) < 0.5
    size = _refined(plan, space, np.where(spot, 0.1, 1.0)).background.size
    first, second = space.topology.edges
    gap = np.linalg.norm(space.mesh.points[first] - space.mesh.points[second], axis=1)
    assert (np.abs(size[first] - size[second]) <= 0.46 * gap).all()


def test_a_second_round_starts_from_the_first(plan, space):
    half = np.full(len(space.origin), 0.7)
    once = _refined(plan, space, half)
    finer = Space(build_mesh(once))
    twice = _refined(once, finer, np.full(len(finer.origin), 0.7))
    far = np.linalg.norm(finer.mesh.points, axis=1) > 5.0
    wanted = 0.49 * planned_size(plan, finer.mesh.points)[far]
    assert np.median(twice.background.size[far] / wanted) == pytest.approx(1.0, abs=0.05)


def test_a_finer_mesh_beyond_the_limits_is_refused(plan, space):
    ratio = np.full(len(space.origin), 0.25)
    with pytest.raises(BudgetError, match="need more than 20,000 elements"):
        _refined(plan, space, ratio, element_limit=20_000)
    with pytest.raises(BudgetError, match="GB of memory"):
        _refined(plan, space, ratio, memory_limit=1e9)
