"""Plates, tank bottoms and piles of case files: where they lie, and what is refused."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from shapely import LineString, Polygon

from ohmscape.cases.loading import case_from
from ohmscape.solver.errors import CaseError
from ohmscape.solver.patches import areas, normals
from ohmscape.viz.plates import plate_lines

PLATE = {"kind": "plate", "centre": ["2 m", "1 m"], "size": ["1.2 m", "0.7 m"], "depth": "1 m"}
ROUND = {"kind": "plate", "centre": ["2 m", "1 m"], "plate_diameter": "0.9 m", "depth": "1 m"}
SHEET = {
    "kind": "sheet pile",
    "points": [["0 m", "0 m"], ["3 m", "0 m"], ["3 m", "2 m"]],
    "top_depth": "0 m",
    "length": "4 m",
}
ROD = {"kind": "rod", "at": ["0 m", "0 m"], "top_depth": "0 m", "length": "3 m"}
ROD |= {"diameter": "16 mm"}


def box_of(conductors):
    corners = conductors.corners[conductors.flat].reshape(-1, 3)
    return corners.min(axis=0), corners.max(axis=0)


def test_a_level_plate_lies_about_its_centre(case_with):
    c = case_with(PLATE).conductors
    assert c.flat.all()
    assert_allclose(areas(c.corners).sum(), 1.2 * 0.7)
    assert_allclose(box_of(c), [[1.4, 0.65, -1.0], [2.6, 1.35, -1.0]])


def test_an_upright_plate_stands_on_its_second_side(case_with):
    c = case_with(PLATE | {"tilt": "90 deg", "azimuth": "90 deg"}).conductors
    assert_allclose(box_of(c), [[2.0, 0.4, -1.35], [2.0, 1.6, -0.65]], atol=1e-12)


def test_a_tilted_plate_slopes_down_to_the_left_of_its_azimuth(case_with):
    c = case_with(PLATE | {"tilt": "30 deg"}).conductors
    left = c.corners[..., 1] > 1.0
    assert (c.corners[left][:, 2] < -1.0).all()
    normal = normals(c.corners)
    slope = np.abs(normal[:, 2]) / np.linalg.norm(normal, axis=1)
    assert_allclose(slope, np.cos(np.radians(30.0)), rtol=1e-9)


def test_discs_tank_bottoms_polygons_and_piles_have_their_area(case_with):
    tank = {"kind": "tank bottom", "centre": ["0 m", "9 m"], "tank_diameter": "5 m"}
    outline = [["9 m", "0 m"], ["11 m", "0 m"], ["11 m", "1 m"], ["10 m", "2 m"]]
    many = {"kind": "plate", "outline": outline, "depth": "0.6 m"}
    box = {"kind": "box pile", "at": ["-5 m", "0 m"], "size": ["0.4 m", "0.3 m"]}
    box |= {"top_depth": "0.5 m", "length": "6 m"}
    case = case_with(ROUND, tank, many, SHEET, box)
    assert [part.plates for part in case.parts] == [1, 1, 1, 2, 6]
    wanted = [np.pi * 0.45**2, np.pi * 2.5**2, 2.5, 20.0, 2 * (0.7 * 6 + 0.12)]
    assert_allclose([part.area for part in case.parts], wanted, rtol=1e-9)
    own = case.conductors.part == 1
    assert (case.conductors.corners[own][..., 2] == 0).all()


def test_an_outline_may_turn_inwards(case_with):
    corners = [[0, 0], [3, 0], [3, 2], [2.5, 2], [2.5, 0.5], [0.5, 0.5], [0.5, 2], [0, 2]]
    outline = [[f"{x} m", f"{y} m"] for x, y in corners]
    for turned in (outline, outline[::-1]):
        case = case_with({"kind": "plate", "outline": turned, "depth": "0.6 m"})
        (part,) = case.parts
        assert (part.plates, len(np.unique(case.conductors.plate))) == (1, 1)
        assert_allclose(part.area, 3.0, rtol=1e-9)
        # Drawn by the corners that were given, hatched inside alone.
        sides, hatch = plate_lines(case.conductors.corners)
        assert sorted(map(tuple, sides[:, 0, :2].round(9).tolist())) == sorted(
            map(tuple, np.array(corners, dtype=float).tolist())
        )
        inside = Polygon(corners).buffer(1e-6)
        assert all(inside.contains(LineString(line[:, :2])) for line in hatch)
        assert len(hatch) > 9  # some lines leave the plate and come back


def test_plates_stand_after_the_rods_they_are_bonded_to(case_with):
    case = case_with(PLATE, ROD, SHEET)
    assert not case.conductors.flat[0]
    assert case.conductors.flat[1:].all()
    assert case.conductors.group.tolist() == [0] * len(case.conductors.group)


@pytest.mark.parametrize(
    ("part", "why"),
    [
        (PLATE | {"tilt": "91 deg"}, "tilt: 91 deg is not allowed: from 0 to 90 deg"),
        (PLATE | {"depth": "0.2 m", "tilt": "90 deg"}, "reaches 0.15 m above ground"),
        (PLATE | {"plate_diameter": "1 m"}, "exactly one of size, plate_diameter, outline"),
        (
            {"kind": "plate", "depth": "1 m", "tilt": "5 deg"}
            | {"outline": [["0 m", "0 m"], ["1 m", "0 m"], ["0 m", "1 m"]]},
            "a polygon is level",
        ),
        (
            {"kind": "plate", "depth": "1 m"}
            | {"outline": [["0 m", "0 m"], ["2 m", "0 m"], ["0 m", "2 m"], ["1 m", "-1 m"]]},
            "outline: its side 1 .* meets its side 3",
        ),
        (PLATE | {"size": ["1 m", "0.2 mm"]}, "give so narrow a strip as a conductor"),
    ],
)
def test_plates_that_cannot_be_are_refused(case_with, part, why):
    with pytest.raises(CaseError, match=why):
        case_with(part)


def test_plates_in_one_another_are_refused(case_with):
    with pytest.raises(CaseError, match="lie in one another; metal counts once"):
        case_with(PLATE | {"name": "one"}, ROUND | {"name": "other"})


@pytest.mark.parametrize(
    "other",
    [
        ROD | {"at": ["2.05 m", "1.1 m"]},  # through it
        ROD | {"at": ["2.605 m", "1 m"]},  # past its edge, nearer than its radius
        PLATE | {"centre": ["2.9 m", "1 m"], "tilt": "90 deg", "size": ["1 m", "1 m"]},
    ],
)
def test_metal_of_another_electrode_does_not_touch_a_plate(content, two_electrodes, other):
    with pytest.raises(CaseError, match=r"touch; (metal|plates) of two electrodes must not"):
        case_from(content() | {"electrodes": two_electrodes([PLATE], [other])})


def test_metal_beside_a_plate_is_no_fault(content, two_electrodes):
    case = case_from(
        content() | {"electrodes": two_electrodes([PLATE], [ROD | {"at": ["2.62 m", "1 m"]}])}
    )
    assert len(case.conductors.group_names) == 2


@pytest.mark.parametrize(
    ("block", "why"),
    [
        ({"along_metal": {"steel": "low"}}, "along metal is worked out for round metal"),
        ({"prices": {"currency": "EUR"}}, "a bill has no plates"),
    ],
)
def test_blocks_that_know_round_metal_only_are_refused(case_with, block, why):
    with pytest.raises(CaseError, match=why):
        case_with(PLATE, **block)


@pytest.mark.parametrize(
    "block",
    [
        {"distances": {"levels": [{"name": "zone", "potential": "5 V"}]}},
        {"numerics": {"second_opinion": "always"}},
    ],
)
def test_blocks_that_know_plates_stand_beside_them(case_with, block):
    assert case_with(PLATE, **block).conductors.flat.all()
