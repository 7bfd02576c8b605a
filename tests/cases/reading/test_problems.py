"""Problems in the words of someone who writes case files, whatever stands in the file."""

import numpy as np
import pytest

from ohmscape.cases.loading import case_from
from ohmscape.solver.errors import BudgetError, CaseError
from ohmscape.solver.polygons import fault_of_outline


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"title": "two\nlines"}, "title: must be printable characters on one line"),
        ({"soil": ["120 ohm*m"]}, "soil: a list must be a block of keys"),
        ({"soil": {"layers": {"a": 1}}}, r"soil\.layers: a block of keys must be a list"),
        (
            {"soil": {"layers": [{"resistivity": {"value": 1}}]}},
            r"resistivity: a block of keys needs a unit: write text such as 120 ohm\*m",
        ),
        (
            {"electrodes": [{"name": "a", "drive": {"voltage": "1 V"}, "parts": ["rod"]}]},
            r"parts\[1\]: 'rod' must be a block of keys$",
        ),
        (
            {"electrodes": [{"name": "a", "drive": {"voltage": "1 V"}, "parts": []}]},
            r"parts: needs 1 or more entries; got 0",
        ),
        ({"electrodes": 7}, "electrodes: 7 must be a list"),
        ({"study": {"profiles": [None]}}, r"profiles\[1\]: None must be a block of keys"),
        ({"note": "x" * 10_001}, "note: has more than the 10,000 characters allowed"),
        ({"bonds": "none"}, "bonds: 'none' must be a list"),
    ],
)
def test_the_wrong_shape_is_refused_in_plain_words(change, message, case_with):
    with pytest.raises(CaseError, match=message):
        case_with(**change)


def test_a_case_is_a_dict():
    with pytest.raises(CaseError, match="a case is a dict of the keys of a case file"):
        case_from(["ohmscape"])


def test_no_problem_quotes_more_than_a_line_of_the_file(case_with, rod):
    long = "y" * 50_000
    for change in (
        {"length": long},
        {"at": long},
        {"kind": long},
        {long: 1},
        {"strip": [long]},
    ):
        with pytest.raises(CaseError) as refused:
            case_with(rod | change)
        for problem in refused.value.problems:
            assert len(problem.message) < 500


def test_rods_do_not_repeat_the_fault_of_the_part_they_hang_from(case_with):
    bow_tie = [["0 m", "0 m"], ["9 m", "9 m"], ["9 m", "0 m"], ["0 m", "5 m"]]
    grid = {
        "kind": "grid",
        "name": "grid",
        "outline": bow_tie,
        "meshes": [2, 2],
        "depth": "0.5 m",
        "diameter": "8 mm",
    }
    rods = {
        "kind": "rods",
        "along": {"part": "grid", "count": 3},
        "length": "2 m",
        "diameter": "16 mm",
    }
    with pytest.raises(CaseError) as refused:
        case_with(grid, rods)
    (problem,) = refused.value.problems
    assert "outline: its side 1" in problem.message


def test_an_outline_that_runs_back_over_itself_is_found(case_with):
    # From (6, 4) out to (9, 4) and back along the same line to (3, 4).
    spike = [[0, 0], [6, 0], [6, 4], [9, 4], [3, 4], [0, 4]]
    grid = {
        "kind": "grid",
        "outline": [[f"{x} m", f"{y} m"] for x, y in spike],
        "meshes": [2, 2],
        "depth": "0.5 m",
        "diameter": "8 mm",
    }
    with pytest.raises(CaseError, match=r"outline: its side 2 .* meets its side 4"):
        case_with(grid)


def test_a_table_needs_a_name_a_file_can_have(case_with, tmp_path):
    table = {"kind": "rod table", "file": "a\0b"}
    with pytest.raises(CaseError, match=r"is not the name of a file|must be printable"):
        case_with(table, folder=tmp_path)


def test_crowded_metal_is_refused_with_its_place_in_the_file(case_with):
    # A thousand-armed hedgehog: stars of 72 arms on top of one another, turned a little.
    stars = [
        {
            "kind": "star",
            "centre": ["0 m", "0 m"],
            "arms": 72,
            "arm_length": "0.1 m",
            "depth": "1 m",
            "first_azimuth": f"{k * 0.07:.2f} deg",
            "diameter": "1 mm",
        }
        for k in range(60)
    ]
    with pytest.raises(BudgetError, match="electrodes: the 4,320 pieces of metal crowd so"):
        case_with(*stars)


def test_a_flat_triangle_encloses_nothing():
    assert fault_of_outline(np.array([[0.0, 0], [6, 0], [6, 4]])) == ""
    flat = np.array([[0.0, 0], [6, 3], [4, 2]])
    assert fault_of_outline(flat) == "it encloses no area"


def test_units_missing_all_over_a_list_are_one_problem(case_with):
    outline = [[0, 0], [4, 0], [4, 3], [0, "3 m"]]
    metal = {"name": "frame", "electrode": "main", "polygon": outline}
    with pytest.raises(CaseError) as caught:
        case_with(study={"touch": [metal]}, units="metric")
    found = [str(problem) for problem in caught.value.problems if "unit:" in str(problem)]
    assert len(found) == 1
    assert (
        "0 needs a unit: write text such as '0 m'; so do 6 more numbers in this list"
        in found[0]
    )
    assert any("units: 'metric' is not allowed" in str(p) for p in caught.value.problems)
