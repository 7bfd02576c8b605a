import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.electrodes.grids import spacing_weights
from ohmscape.solver.errors import CaseError

GRID = {"kind": "grid", "name": "grid", "depth": "0.5 m", "diameter": "10 mm"}
SQUARE = GRID | {"corner": ["0 m", "0 m"], "size": ["70 m", "70 m"], "meshes": [10, 10]}
# An L of 6 m by 4 m without its upper right 3 m by 2 m: area 18 m², girth 20 m.
ELL = [
    ["0 m", "0 m"],
    ["6 m", "0 m"],
    ["6 m", "2 m"],
    ["3 m", "2 m"],
    ["3 m", "4 m"],
    ["0 m", "4 m"],
]


def total(case):
    return float(case.conductors.length.sum())


def test_equal_meshes_have_all_their_lines_split_at_all_their_nodes(case_with):
    made = case_with(SQUARE)
    assert_allclose(total(made), 2 * 11 * 70, rtol=1e-13)
    assert len(made.conductors.length) == 2 * 10 * 11
    assert_allclose(made.conductors.length, 7.0, rtol=1e-12)
    # The corners are joints of two pieces, the rest of three or four.
    assert made.joints == 121


def test_pieces_of_a_node_share_their_end_point_to_the_last_digit(case_with):
    turned = SQUARE | {"rotation": "33 deg", "meshes": [7, 9]}
    c = case_with(turned).conductors
    ends = np.vstack([c.start, c.end])
    assert len(np.unique(ends, axis=0)) == 8 * 10


def test_a_grid_may_have_its_corner_or_its_centre_given(case_with):
    by_corner = case_with(SQUARE | {"corner": ["-35 m", "-35 m"], "rotation": "90 deg"})
    by_centre = case_with(
        {k: v for k, v in SQUARE.items() if k != "corner"} | {"centre": ["0 m"] * 2}
    )
    low = by_centre.conductors.start[:, :2].min(axis=0)
    assert_allclose(low, [-35, -35])
    # Turned by a right angle about its corner, the square lies on the other side of it.
    assert_allclose(by_corner.conductors.end[:, 0].min(), -105, rtol=1e-13)


def test_listed_spacings_put_the_lines_where_they_say(case_with):
    spacings = {"x": ["1 m", "2 m", "4 m"], "y": ["3 m", "10 ft"]}
    grid = GRID | {"corner": ["0 m", "0 m"], "size": ["7 m", "6.048 m"], "spacings": spacings}
    c = case_with(grid).conductors
    assert_allclose(np.unique(c.start[:, 0].round(9)), [0, 1, 3, 7])
    assert_allclose(np.unique(c.start[:, 1].round(9)), [0, 3, 6.048])


def test_listed_spacings_must_fill_the_grid(case_with):
    spacings = {"x": ["1 m", "2 m"], "y": ["3 m", "3 m"]}
    grid = GRID | {"corner": ["0 m", "0 m"], "size": ["4 m", "6 m"], "spacings": spacings}
    with pytest.raises(CaseError, match="along x add up to 3 m, the grid measures 4 m"):
        case_with(grid)


@pytest.mark.parametrize("meshes", [1, 2, 5, 8])
def test_compressed_meshes_shrink_by_the_ratio_and_mirror(meshes):
    widths = spacing_weights(meshes, compression=0.7)
    assert_allclose(widths, widths[::-1])
    outer = widths[meshes // 2 :]
    assert_allclose(outer[1:] / outer[:-1], 0.7)


def test_compression_keeps_size_and_number(case_with):
    even, tight = (case_with(SQUARE | {"compression": c}) for c in (1.0, 0.8))
    assert_allclose(total(tight), total(even), rtol=1e-13)
    assert len(tight.conductors.length) == len(even.conductors.length)
    assert tight.conductors.length.min() < 7 < tight.conductors.length.max()


def test_an_outline_cuts_the_lines_and_is_metal_itself(case_with):
    # Lines at x = 2, 4 and y = 4/3, 8/3 inside the L: 4 + 2 and 6 + 3; girth 20.
    made = case_with(GRID | {"outline": ELL, "meshes": [3, 3]})
    assert_allclose(total(made), 20 + (4 + 2) + (6 + 3), rtol=1e-12)


def test_lines_along_a_side_of_the_outline_are_not_doubled(case_with):
    # Now the lines x = 3 and y = 2 run along the inner sides of the L for half their way.
    made = case_with(GRID | {"outline": ELL, "meshes": [2, 2]})
    assert_allclose(total(made), 20 + 2 + 3, rtol=1e-12)


def test_an_outline_may_run_either_way_round(case_with):
    ways = [case_with(GRID | {"outline": o, "meshes": [3, 3]}) for o in (ELL, ELL[::-1])]
    assert_allclose(total(ways[0]), total(ways[1]), rtol=1e-12)
    assert ways[0].joints == ways[1].joints


def test_rods_along_an_outline_stand_alike_whichever_way_it_runs(case_with):
    rods = {"kind": "rods", "length": "2 m", "diameter": "16 mm"}
    rods |= {"along": {"part": "grid", "every": 4}}
    feet = []
    for outline in (ELL, ELL[:1] + ELL[:0:-1]):
        c = case_with(GRID | {"outline": outline, "meshes": [3, 3]}, rods).conductors
        feet.append(np.unique(c.start[c.part == 1][:, :2].round(9), axis=0))
    assert_allclose(*feet)


def test_a_rectangular_outline_is_a_rectangle(case_with):
    corners = [["0 m", "0 m"], ["70 m", "0 m"], ["70 m", "70 m"], ["0 m", "70 m"]]
    made = case_with(GRID | {"outline": corners, "meshes": [10, 10]})
    assert_allclose(total(made), 1540, rtol=1e-12)
    assert made.joints == 121


def test_clipped_length_times_spacing_approaches_the_area(case_with):
    # A grid line stands for the strip of soil up to the next one: sum of L s is the area.
    triangle = [["0 m", "0 m"], ["41 m", "3.7 m"], ["17 m", "31 m"]]
    area = 0.5 * (41 * 31 - 17 * 3.7)
    made = case_with(GRID | {"outline": triangle, "meshes": [41, 31]})
    corners = np.array([[0, 0], [41, 3.7], [17, 31]])
    girth = np.hypot(*(corners - np.roll(corners, 1, axis=0)).T).sum()
    # Lines 1 m apart in both directions; the trapezoidal rule is exact but at the corners.
    assert_allclose(total(made) - girth, 2 * area, rtol=2e-3)


def test_turning_the_grid_turns_lines_but_not_its_outline(case_with):
    made = case_with(GRID | {"outline": ELL, "meshes": [3, 3], "rotation": "30 deg"})
    along = np.degrees(np.arctan2(*made.conductors.direction[:, 1::-1].T)) % 90
    on_outline = np.isclose(along % 90, 0, atol=1e-6) | np.isclose(along, 90, atol=1e-6)
    assert_allclose(made.conductors.length[on_outline].sum(), 20, rtol=1e-12)
    assert_allclose(along[~on_outline], 30, rtol=1e-9)


@pytest.mark.parametrize(
    ("outline", "why"),
    [
        (
            [["0 m", "0 m"], ["4 m", "4 m"], ["4 m", "0 m"], ["0 m", "4 m"]],
            "side 1 .* meets its side 3",
        ),
        ([["0 m", "0 m"], ["4 m", "0 m"], ["8 m", "0 m"]], "encloses no area"),
        (
            [["0 m", "0 m"], ["0 m", "0 m"], ["8 m", "0 m"], ["8 m", "8 m"]],
            "two corners in a row",
        ),
        (
            [["0 m", "0 m"], ["8 m", "0 m"], ["4 m", "0 m"], ["4 m", "4 m"]],
            "runs back over itself|meets its side",
        ),
        (
            # Touches itself in one corner.
            [["0 m", "0 m"], ["4 m", "0 m"], ["4 m", "4 m"], ["2 m", "0 m"], ["0 m", "4 m"]],
            "meets its side",
        ),
        ([["0 m", "0 m"], ["8 m", "0 m"]], "needs 3 or more entries; got 2"),
    ],
)
def test_an_outline_that_is_no_simple_polygon_is_refused(case_with, outline, why):
    with pytest.raises(CaseError, match=why):
        case_with(GRID | {"outline": outline, "meshes": [3, 3]})


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"outline": ELL}, "one of corner, centre, outline; got corner and outline"),
        ({"size": None}, "size: is empty"),
        ({"spacings": {"x": ["70 m"], "y": ["70 m"]}}, "got meshes and spacings"),
        ({"meshes": [10]}, r"meshes\[2\]: is missing"),
        ({"meshes": [0, 3]}, "0 is not allowed: from 1 to 1000"),
        ({"meshes": [2000, 3]}, "2000 is not allowed: from 1 to 1000"),
        ({"compression": 1.5}, "1.5 is not allowed: from 0.2 to 1"),
        ({"compression": "0.7"}, "'0.7' is not a plain number"),
    ],
)
def test_a_grid_given_twice_or_by_halves_is_refused(case_with, change, why):
    with pytest.raises(CaseError, match=why):
        case_with(SQUARE | change)


def test_a_rectangle_needs_its_size_and_an_outline_has_none(case_with):
    with pytest.raises(CaseError, match="a rectangle needs 'size'"):
        case_with({k: v for k, v in SQUARE.items() if k != "size"})
    with pytest.raises(CaseError, match="an outline has none"):
        case_with(GRID | {"outline": ELL, "size": ["6 m", "4 m"], "meshes": [3, 3]})


def test_compression_goes_with_a_number_of_meshes(case_with):
    spacings = {"x": ["6 m"], "y": ["4 m"]}
    with pytest.raises(CaseError, match="compression goes with 'meshes'"):
        case_with(GRID | {"outline": ELL, "spacings": spacings, "compression": 0.7})


def test_a_line_that_leaves_a_sliver_in_a_corner_is_refused_with_its_place(case_with):
    # The line at x = 4.999 crosses the tip of the triangle for 2 mm.
    corner = [["0 m", "0 m"], ["5 m", "1 m"], ["0 m", "2 m"]]
    spacings = {"x": ["4.999 m", "0.001 m"], "y": ["2 m"]}
    with pytest.raises(
        CaseError, match=r"'grid' piece 4 of 'main' at \(4.999, 1, .*|is 0.0004"
    ):
        case_with(GRID | {"outline": corner, "spacings": spacings})
