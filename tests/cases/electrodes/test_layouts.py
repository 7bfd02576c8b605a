import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.errors import CaseError

RODS = {"kind": "rods", "name": "rods", "length": "3 m", "diameter": "16 mm"}
LOOSE = RODS | {"top_depth": "0.25 m"}
GRID = {
    "kind": "grid",
    "name": "grid",
    "corner": ["0 m", "0 m"],
    "size": ["40 m", "30 m"],
    "meshes": [4, 6],
    "depth": "0.5 m",
    "diameter": "10 mm",
}
RING = {
    "kind": "ring",
    "name": "ring",
    "centre": ["0 m", "0 m"],
    "ring_radius": "3 m",
    "depth": "0.6 m",
    "diameter": "10 mm",
}


def rod_tops(case):
    c = case.conductors
    part = c.part_names.index("rods")
    return c.start[c.part == part]


def test_rods_on_a_line_are_equally_spaced_with_both_ends(case_with):
    line = {"start": ["1 m", "2 m"], "end": ["7 m", "10 m"], "count": 6}
    tops = rod_tops(case_with(LOOSE | {"line": line}))
    assert_allclose(np.diff(tops, axis=0), np.tile([1.2, 1.6, 0], (5, 1)), rtol=1e-12)
    assert_allclose(tops[0], [1, 2, -0.25])
    assert_allclose(tops[-1], [7, 10, -0.25])


def test_three_rods_on_a_circle_are_an_equilateral_triangle(case_with):
    circle = {"centre": ["1 m", "2 m"], "circle_radius": "2 m", "count": 3}
    tops = rod_tops(case_with(LOOSE | {"circle": circle | {"first_azimuth": "10 deg"}}))
    sides = np.linalg.norm(tops - np.roll(tops, 1, axis=0), axis=1)
    assert_allclose(sides, 2 * np.sqrt(3), rtol=1e-13)
    assert_allclose(tops[0], [1 + 2 * np.cos(np.pi / 18), 2 + 2 * np.sin(np.pi / 18), -0.25])


@pytest.mark.parametrize(("filled", "count"), [(False, 2 * (5 + 3) - 4), (True, 15)])
def test_rods_stand_round_a_rectangle_or_fill_it(case_with, filled, count):
    rectangle = {"corner": ["1 m", "2 m"], "size": ["8 m", "6 m"], "per_side": [5, 3]}
    tops = rod_tops(case_with(LOOSE | {"rectangle": rectangle | {"filled": filled}}))
    assert len(tops) == len(np.unique(tops, axis=0)) == count
    assert_allclose(tops.min(axis=0)[:2], [1, 2])
    assert_allclose(tops.max(axis=0)[:2], [9, 8])


def test_a_rectangle_about_its_centre_turns_about_it(case_with):
    rectangle = {"centre": ["1 m", "2 m"], "size": ["8 m", "6 m"], "per_side": [2, 2]}
    tops = rod_tops(case_with(LOOSE | {"rectangle": rectangle | {"rotation": "37 deg"}}))
    assert_allclose(tops.mean(axis=0), [1, 2, -0.25], rtol=1e-13)
    assert_allclose(np.linalg.norm(tops - tops.mean(axis=0), axis=1), 5, rtol=1e-13)


def test_listed_rods_stand_where_the_list_says(case_with):
    tops = rod_tops(case_with(LOOSE | {"points": [["0 m", "1 m"], ["3 ft", "1 m"]]}))
    assert_allclose(tops[:, :2], [[0, 1], [0.9144, 1]])


def test_every_second_node_of_the_edge_carries_a_rod(case_with):
    made = case_with(GRID, RODS | {"along": {"part": "grid", "every": 2}})
    tops = rod_tops(made)
    assert len(tops) == 10  # half of 2 (4 + 6) nodes
    on_edge = np.isin(tops[:, 0], [0, 40]) | np.isin(tops[:, 1], [0, 30])
    assert on_edge.all()
    assert (tops[:, 2] == -0.5).all()
    # They are joined to the grid: no new joints, no split pieces.
    assert made.joints == 5 * 7


def test_hanging_rods_share_their_top_with_the_grid_to_the_last_digit(case_with):
    turned = GRID | {"rotation": "27 deg", "corner": ["3.7 m", "-4.3 m"]}
    made = case_with(turned, RODS | {"nodes": {"part": "grid"}})
    c = made.conductors
    grid = {tuple(p) for p in np.vstack([c.start[c.part == 0], c.end[c.part == 0]])}
    tops = rod_tops(made)
    assert len(tops) == 5 * 7
    # Both are the same place within round-off of 1e-14 m; joints are found within 1e-6 m.
    nearest = min(max(float(np.abs(np.array(p) - top).max()) for top in tops[:1]) for p in grid)
    assert nearest < 1e-13
    assert made.joints == 35


@pytest.mark.parametrize(("every", "count"), [(1, 35), (2, 3 * 4), (3, 2 * 3), (4, 2 * 2)])
def test_every_nth_node_in_both_directions_carries_a_rod(case_with, every, count):
    made = case_with(GRID, RODS | {"nodes": {"part": "grid", "every": every}})
    assert len(rod_tops(made)) == count


def test_rods_at_nodes_of_an_outline_stay_inside_it(case_with):
    ell = [
        ["0 m", "0 m"],
        ["6 m", "0 m"],
        ["6 m", "2 m"],
        ["3 m", "2 m"],
        ["3 m", "4 m"],
        ["0 m", "4 m"],
    ]
    grid = {k: v for k, v in GRID.items() if k not in ("corner", "size")}
    made = case_with(
        grid | {"outline": ell, "meshes": [2, 2]}, RODS | {"nodes": {"part": "grid"}}
    )
    # Of the nine nodes of the lattice the L lacks one, its missing corner.
    assert len(rod_tops(made)) == 8


def test_rods_counted_along_a_ring_stand_on_it_at_equal_steps(case_with):
    made = case_with(RING, RODS | {"along": {"part": "ring", "count": 5}})
    tops = rod_tops(made)
    assert len(tops) == 5
    angle = np.degrees(np.arctan2(tops[:, 1], tops[:, 0])) % 360
    # The polygon's sides are straight: within 0.1 degree of the circle's fifths.
    assert_allclose(angle, 72 * np.arange(5), atol=0.1)
    # Four of the five split a side of the 48; each rod is one more joint but the first.
    assert made.joints == 48 + 4
    assert len(made.conductors.start) == 48 + 4 + 5


def test_rods_along_a_sloping_conductor_start_at_its_depth(case_with):
    run = {
        "kind": "conductor",
        "name": "run",
        "points": [["0 m", "0 m", "0.5 m"], ["8 m", "0 m", "2.5 m"]],
        "diameter": "10 mm",
    }
    tops = rod_tops(case_with(run, RODS | {"along": {"part": "run", "count": 5}}))
    assert_allclose(tops[:, 0], [0, 2, 4, 6, 8], atol=1e-12)
    assert_allclose(tops[:, 2], [-0.5, -1, -1.5, -2, -2.5], rtol=1e-12)


def test_rods_may_be_listed_before_the_part_they_hang_from(case_with):
    made = case_with(RODS | {"along": {"part": "ring", "every": 12}}, RING)
    assert len(rod_tops(made)) == 4


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"along": {"part": "ring"}}, "one of count, every; got none"),
        (
            {"along": {"part": "rng", "count": 3}},
            "no part of this electrode to hang from 'rng'; did",
        ),
        (
            {"along": {"part": "rods", "count": 3}},
            "no part of this electrode to hang from 'rods'",
        ),
        ({"nodes": {"part": "ring"}}, "nodes: 'ring' is no grid; name a grid"),
        ({"along": {"part": "ring", "count": 3}, "top_depth": "1 m"}, "leave 'top_depth' out"),
        ({"points": [["9 m", "9 m"]]}, "'top_depth' is missing"),
        ({"points": []}, "needs 1 or more entries"),
        ({}, "exactly one of points, line, circle, rectangle, along, nodes; got none"),
    ],
)
def test_rods_that_hang_from_nothing_are_refused(case_with, change, why):
    with pytest.raises(CaseError, match=why):
        case_with(RING, RODS | change)


def test_rods_cannot_hang_from_a_part_of_another_electrode(content):
    from ohmscape.cases.loading import case_from

    hanging = RODS | {"along": {"part": "ring", "count": 3}}
    both = content(RING)
    both["electrodes"].append({"name": "b", "drive": {"floating": True}, "parts": [hanging]})
    with pytest.raises(
        CaseError, match="no part of this electrode to hang from 'ring'; there are none"
    ):
        case_from(both)
