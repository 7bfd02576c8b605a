"""Where to look and how finely: what is given, what is filled in, what is too much."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.study.study import Numerics
from ohmscape.cases.study.studying import footprint
from ohmscape.solver.errors import BudgetError, CaseError

GRID = {
    "kind": "grid",
    "corner": ["1 m", "2 m"],
    "size": ["30 m", "40 m"],
    "meshes": [3, 4],
    "depth": "0.5 m",
    "diameter": "10 mm",
}


def test_left_out_the_area_surrounds_the_metal_by_a_fifth_of_its_diagonal(case_with):
    area = case_with(GRID).study.area
    # A diagonal of 50 m, a margin of 10 m.
    assert_allclose(area.corner, (-9, -8))
    assert_allclose(area.size, (50, 60))


def test_left_out_the_area_reaches_five_metres_from_a_single_rod(case_with):
    area = case_with().study.area
    assert_allclose([*area.corner, *area.size], [-5, -5, 10, 10])


def test_an_area_is_given_by_its_margin_or_by_corner_and_size(case_with):
    around = case_with(GRID, study={"area": {"margin": "2 m", "spacing": "1 ft"}}).study.area
    assert_allclose([*around.corner, *around.size], [-1, 0, 34, 44])
    assert around.spacing == 0.3048
    given = {"corner": ["-3 m", "4 m"], "size": ["5 m", "7 m"]}
    area = case_with(GRID, study={"area": given}).study.area
    assert (area.corner, area.size) == ((-3.0, 4.0), (5.0, 7.0))


def test_pace_and_reach_are_one_metre_until_given(case_with):
    study = case_with().study
    assert (study.pace, study.reach) == (1.0, 1.0)
    study = case_with(study={"pace": "0.8 m", "reach": "4 ft"}).study
    assert (study.pace, study.reach) == (0.8, 1.2192)


def test_profiles_keep_their_order_and_depth(case_with):
    lines = [
        {"name": "b", "start": ["0 m", "0 m"], "end": ["9 m", "0 m"], "depth": "0.3 m"},
        {"name": "a", "start": ["0 m", "1 m"], "end": ["0 m", "5 m"], "spacing": "10 cm"},
    ]
    first, second = case_with(study={"profiles": lines}).study.profiles
    assert (first.name, first.depth, first.spacing) == ("b", 0.3, None)
    assert (second.name, second.end, second.spacing) == ("a", (0.0, 5.0), 0.1)


def test_left_out_the_footprint_of_each_driven_electrode_can_be_touched(
    case_with, two_electrodes, rod
):
    (metal,) = case_with(electrodes=two_electrodes([GRID], [rod])).study.touchables
    assert (metal.name, metal.group, metal.shape, metal.footprint) == (
        "station",
        0,
        "polygon",
        True,
    )
    assert_allclose(metal.points, [[1, 2], [31, 2], [31, 42], [1, 42]])


def test_the_footprint_of_metal_beyond_the_outline_is_its_hull(case_with, rod):
    outside = rod | {"at": ["40 m", "2 m"]}
    (metal,) = case_with(GRID, outside).study.touchables
    assert {tuple(p) for p in metal.points} == {(1, 2), (40, 2), (31, 42), (1, 42)}


def test_the_footprint_of_an_outline_grid_is_the_outline_not_its_hull(case_with):
    ell = [[0, 0], [12, 0], [12, 5], [7, 5], [7, 9], [0, 9]]
    grid = {k: v for k, v in GRID.items() if k not in ("corner", "size")}
    grid["outline"] = [[f"{x} m", f"{y} m"] for x, y in ell]
    (metal,) = case_with(grid).study.touchables
    assert_allclose(metal.points, ell)


@pytest.mark.parametrize(
    ("plan", "shape", "corners"),
    [
        ([[3, 4], [3, 4]], "points", {(3, 4)}),
        ([[0, 0], [2, 1], [4, 2], [-2, -1]], "line", {(-2, -1), (4, 2)}),
        ([[0, 0], [5, 0], [5, 3], [2, 1], [0, 3]], "polygon", {(0, 0), (5, 0), (5, 3), (0, 3)}),
    ],
)
def test_a_footprint_is_as_plain_as_the_metal(plan, shape, corners):
    found, points = footprint(np.array(plan, dtype=float), outline=None)
    assert found == shape
    assert {tuple(point) for point in points} == corners


TOUCH = {"name": "tap", "electrode": "main"}


@pytest.mark.parametrize(
    ("shape", "points"),
    [
        ("points", [["1 m", "2 m"]]),
        ("line", [["1 m", "2 m"], ["3 m", "2 m"]]),
        ("polygon", [["1 m", "2 m"], ["3 m", "2 m"], ["3 m", "5 m"]]),
        ("body", [["1 m", "2 m"], ["3 m", "2 m"], ["3 m", "5 m"]]),
    ],
)
def test_touchable_metal_stands_where_it_is_put(shape, points, case_with):
    (metal,) = case_with(study={"touch": [TOUCH | {shape: points}]}).study.touchables
    assert (metal.name, metal.group, metal.shape, metal.footprint) == ("tap", 0, shape, False)
    assert_allclose(metal.points, [[1, 2], [3, 2], [3, 5]][: len(points)])


def test_a_footprint_can_be_asked_for_by_name(case_with):
    (metal,) = case_with(GRID, study={"touch": [TOUCH | {"footprint": True}]}).study.touchables
    assert (metal.name, metal.shape, metal.footprint) == ("tap", "polygon", True)


LINE = {"name": "out", "start": ["0 m", "0 m"]}
REFUSED = [
    ({"area": {"spacing": "1 m"}}, "area: give exactly one of corner, margin; got none"),
    ({"area": {"corner": ["0 m", "0 m"]}}, "'corner' and 'size' go together"),
    ({"area": {"margin": "1 m", "size": ["1 m", "1 m"]}}, "with 'margin' leave both out"),
    ({"area": {"margin": "0 m"}}, r"margin: '0 m' must be above 0 m"),
    ({"profiles": [LINE | {"end": ["0 ft", "0 m"]}]}, "start and end are the same point"),
    ({"profiles": [LINE]}, r"profiles\[1\] 'out'\.end: is missing"),
    ({"pace": "0 m"}, "pace: '0 m' must be above 0 m"),
    ({"reach": 1}, "reach: 1 needs a unit: write text such as '1 m'"),
    ({"touch": []}, "touch: needs 1 or more entries; got 0"),
    ({"touch": [TOUCH]}, "exactly one of polygon, body, line, points, footprint; got none"),
    ({"touch": [TOUCH | {"footprint": False}]}, "false is not allowed; write true"),
    ({"touch": [TOUCH | {"points": []}]}, "points: needs 1 or more entries; got 0"),
    ({"touch": [TOUCH | {"line": [["0 m", "0 m"]]}]}, "line: needs 2 or more entries; got 1"),
    (
        {"touch": [TOUCH | {"polygon": [["0 m", "0 m"], ["1 m", "1 m"]]}]},
        "polygon: needs 3 or more entries; got 2",
    ),
]


@pytest.mark.parametrize(("study", "message"), REFUSED)
def test_a_study_that_cannot_be_is_refused(study, message, case_with):
    with pytest.raises(CaseError, match=message):
        case_with(study=study)


TOO_MUCH = [
    (
        {"study": {"area": {"margin": "500 m", "spacing": "10 cm"}}},
        r"study\.area: 1000 m by 1000 m at 0\.1 m is 100,020,001 points; at most 10,000,000",
    ),
    (
        {"study": {"profiles": [LINE | {"end": ["9 km", "0 m"], "spacing": "1 mm"}]}},
        r"profiles\[1\] 'out': 9000 m at 0\.001 m is 9,000,000 points; at most 1,000,000",
    ),
    (
        {"numerics": {"element_size": "1 um"}},
        r"elements of 1e-06 m along 3\.7 m of metal are more than 18,500,000 elements",
    ),
]


@pytest.mark.parametrize(("blocks", "message"), TOO_MUCH)
def test_what_would_fill_the_memory_is_refused_with_the_numbers(blocks, message, case_with):
    if "numerics" in blocks:
        blocks = {"numerics": blocks["numerics"] | {"element_limit": 1_000_000}}
    with pytest.raises(BudgetError, match=message):
        case_with(**blocks)


def test_a_millimetre_mesh_over_kilometres_of_metal_is_refused(case_with):
    grid = GRID | {"size": ["1 km", "1 km"], "meshes": [20, 20]}
    message = r"elements of 0\.001 m along 4\.2e\+04 m of metal are more than 210,000,000"
    with pytest.raises(BudgetError, match=message):
        case_with(grid, numerics={"element_size": "1 mm"})


def test_numerics_are_quiet_until_given(case_with):
    assert case_with().numerics == Numerics("normal", 2, 1.0, None, None)
    given = {"accuracy": "fine", "order": 1, "element_size": "5 cm", "element_limit": 200_000}
    assert case_with(numerics=given).numerics == Numerics("fine", 1, 1.0, 0.05, 200_000)


def test_a_second_opinion_can_be_asked_for_or_done_without(case_with):
    assert case_with().numerics.second_opinion == "auto"
    for choice in ("always", "never"):
        found = case_with(numerics={"second_opinion": choice})
        assert found.numerics.second_opinion == choice


@pytest.mark.parametrize(
    ("numerics", "message"),
    [
        ({"accuracy": "best"}, "'best' is not allowed; write 'coarse', 'normal' or 'fine'"),
        ({"order": 3}, "order: 3 is not allowed: from 1 to 2"),
        ({"order": True}, "order: true is not a whole number"),
        ({"fineness": "2"}, "fineness: '2' is not a plain number"),
        ({"fineness": 9}, r"fineness: 9 is not allowed: from 0\.2 to 5"),
        ({"fineness": float("nan")}, r"fineness: nan is not allowed"),
        ({"fineness": 2, "element_size": "1 m"}, "give at most one of fineness, element_size"),
        ({"second_opinion": True}, "true is not allowed; write 'auto', 'always' or 'never'"),
        ({"element_limit": 10}, "10 is not allowed: from 1000 to 50000000"),
    ],
)
def test_numerics_that_cannot_be_are_refused(numerics, message, case_with):
    with pytest.raises(CaseError, match=message):
        case_with(numerics=numerics)
