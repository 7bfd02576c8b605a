"""Metal that touches is joined, with the same end point to the last digit."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.electrodes.joints import count_joints, split_at_joints
from ohmscape.cases.electrodes.proximity import approaches


def split(ends, *, diameter=0.01):
    start, end = np.array(ends, dtype=float).swapaxes(0, 1)
    wide = np.full(len(start), diameter)
    near = approaches(start, end=end, reach=wide)
    return split_at_joints(start, end=end, diameter=wide, near=near)


def test_two_conductors_that_cross_are_cut_where_they_cross():
    found = split([[[-3, 0, -1], [5, 0, -1]], [[1, -2, -1], [1, 7, -1]]])
    assert found.origin.tolist() == [0, 0, 1, 1]
    assert_allclose(found.end[0], [1, 0, -1])
    # One point, not two that differ by round-off: the solver looks for equal ones.
    for k in (1, 3):
        assert found.start[k].tolist() == found.end[0].tolist()
    assert found.end[2].tolist() == found.end[0].tolist()
    assert count_joints(found.start, end=found.end) == 1


def test_an_end_on_a_conductor_keeps_the_end_the_user_gave():
    # 1/3 and 0.1 have no exact binary form; projecting would move the end.
    tip = [0.1 + 1 / 3, 0.0, -0.7]
    found = split([[[0, 0, -0.7], [1, 0, -0.7]], [tip, [tip[0], 2, -0.7]]])
    assert found.origin.tolist() == [0, 0, 1]
    assert found.end[0].tolist() == tip
    assert found.start[1].tolist() == tip


def test_total_length_is_kept():
    rng = np.random.default_rng(7)
    ends = rng.uniform(-5, 5, size=(40, 2, 3)) * [1, 1, 0] - [0, 0, 1]
    found = split(ends.tolist())
    before = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
    after = np.linalg.norm(found.end - found.start, axis=1)
    # Forty random lines in a plane cross some hundred times.
    assert len(after) > 150
    # Cuts are off the axis by round-off only, far below the joint distance of 1e-6 m.
    assert_allclose(np.bincount(found.origin, weights=after), before, rtol=1e-9)


def test_no_piece_is_cut_shorter_than_its_diameter():
    ends = [[[0, 0, -1], [1, 0, -1]]]
    ends += [[[x, 0, -1], [x, 0, -2]] for x in (0.004, 0.5, 0.506, 0.512, 0.995)]
    found = split(ends)
    kept = np.linalg.norm(found.end - found.start, axis=1)[found.origin == 0]
    # Cut at 0.5 and at 0.512, two diameters from either end and 12 mm apart.
    assert_allclose(kept, [0.5, 0.012, 0.488])


def test_metal_that_passes_at_a_distance_is_not_joined():
    found = split([[[-1, 0, -1], [1, 0, -1]], [[0, -1, -1.005], [0, 1, -1.005]]])
    assert found.origin.tolist() == [0, 1]
    assert count_joints(found.start, end=found.end) == 0


def test_a_joint_of_many_pieces_counts_once(case_with):
    star = {
        "kind": "star",
        "centre": ["1 m", "2 m"],
        "arms": 5,
        "arm_length": "4 m",
        "depth": "0.5 m",
        "diameter": "8 mm",
    }
    assert case_with(star).joints == 1


def test_rods_at_the_nodes_of_a_grid_share_its_end_points_exactly(case_with):
    grid = {
        "kind": "grid",
        "name": "grid",
        "corner": ["0.1 m", "0.3 m"],
        "size": ["7 m", "11 m"],
        "meshes": [3, 7],
        "rotation": "17 deg",
        "depth": "0.7 m",
        "diameter": "8 mm",
    }
    rods = {
        "kind": "rods",
        "nodes": {"part": "grid"},
        "length": "2 m",
        "diameter": "16 mm",
    }
    c = case_with(grid, rods).conductors
    of_rods = c.part == 1
    assert of_rods.sum() == 4 * 8
    grid_ends = {tuple(p) for p in np.vstack([c.start, c.end])[np.tile(~of_rods, 2)]}
    assert {tuple(p) for p in c.start[of_rods]} == grid_ends


def test_a_polyline_is_joined_to_a_loop_it_starts_on(case_with):
    loop = {
        "kind": "loop",
        "points": [["0 m", "0 m"], ["6 m", "0 m"], ["6 m", "4 m"], ["0 m", "4 m"]],
        "depth": "0.5 m",
        "diameter": "8 mm",
    }
    tail = {
        "kind": "conductor",
        "points": [["6 m", "1 m", "0.5 m"], ["9 m", "1 m", "0.5 m"], ["9 m", "3 m", "1 m"]],
        "diameter": "8 mm",
    }
    case = case_with(loop, tail)
    # Four corners, the place where the tail leaves, its bend.
    assert case.joints == 6
    assert len(case.conductors.start) == 4 + 1 + 2


def test_two_electrodes_are_never_joined(case_with, two_electrodes, rod):
    # 17 mm apart where 16 mm would touch.
    other = rod | {"at": ["17 mm", "0 m"]}
    case = case_with(electrodes=two_electrodes([rod], [other]))
    assert case.joints == 0
    assert len(case.conductors.start) == 2


@pytest.mark.parametrize("count", [2, 3, 17])
def test_conductors_end_to_end_join_without_cuts(count, case_with):
    runs = [
        {
            "kind": "conductor",
            "points": [[f"{k} m", "0 m"], [f"{k + 1} m", "0 m"]],
            "depth": "1 m",
            "diameter": "10 mm",
        }
        for k in range(count)
    ]
    case = case_with(*runs)
    assert case.joints == count - 1
    assert len(case.conductors.start) == count
