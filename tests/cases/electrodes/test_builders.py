import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.errors import CaseError

COPPER = {"diameter": "10 mm"}
BARE = {"kind": "rod", "at": ["0 m", "0 m"], "top_depth": "0 m", "length": "3.7 m"}
ROD = BARE | {"diameter": "16 mm"}


def total(case):
    return float(case.conductors.length.sum())


def test_a_vertical_rod_hangs_from_its_top(case_with):
    c = case_with(ROD | {"at": ["3.7 m", "-4.3 m"], "top_depth": "0.6 m"}).conductors
    assert_allclose(c.start, [[3.7, -4.3, -0.6]])
    assert_allclose(c.end, [[3.7, -4.3, -4.3]])


def test_the_surface_is_plus_zero(case_with):
    assert not np.signbit(case_with(ROD).conductors.start[0, 2])


def test_a_raked_rod_keeps_its_length_and_runs_out_along_its_azimuth(case_with):
    c = case_with(ROD | {"tilt": "30 deg", "azimuth": "120 deg"}).conductors
    assert_allclose(c.length, 3.7, rtol=1e-14)
    run = c.end[0] - c.start[0]
    assert_allclose(np.degrees(np.arctan2(run[1], run[0])), 120, rtol=1e-13)
    assert_allclose(run[2], -3.7 * np.cos(np.pi / 6), rtol=1e-14)


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"tilt": "90 deg", "azimuth": "0 deg"}, "tilt: 90 deg is not allowed"),
        ({"tilt": "-5 deg", "azimuth": "0 deg"}, "tilt: -5 deg is not allowed"),
        ({"tilt": "5 deg"}, "needs an azimuth"),
        ({"top_depth": "-0.1 m"}, "below the 0 m allowed"),
        ({"length": "0 m"}, "must be above 0 m"),
    ],
)
def test_a_rod_that_cannot_stand_is_refused(case_with, change, why):
    with pytest.raises(CaseError, match=why):
        case_with(ROD | change)


def test_a_conductor_follows_its_corners_with_a_depth_at_each(case_with):
    points = [["0 m", "0 m", "0.5 m"], ["3 m", "0 m", "0.5 m"], ["3 m", "4 m", "12.5 m"]]
    c = case_with({"kind": "conductor", "points": points, **COPPER}).conductors
    assert_allclose(c.length, [3.0, np.hypot(4, 12)], rtol=1e-14)
    assert (c.end[0] == c.start[1]).all()


def test_one_depth_serves_all_corners(case_with):
    points = [["0 m", "0 m"], ["3 m", "0 m"]]
    c = case_with(
        {"kind": "conductor", "points": points, "depth": "0.5 m", **COPPER}
    ).conductors
    assert c.start[:, 2].tolist() == c.end[:, 2].tolist() == [-0.5]


@pytest.mark.parametrize("depth", [{}, {"depth": "1 m"}])
def test_depths_given_twice_or_not_at_all_are_refused(case_with, depth):
    ends = [["0 m", "0 m", "1 m"], ["3 m", "0 m", "1 m"]] if depth else [["0 m", "0 m"]] * 2
    with pytest.raises(CaseError, match="give each point as"):
        case_with({"kind": "conductor", "points": ends, **COPPER, **depth})


@pytest.mark.parametrize("point", [["0 m"], ["0 m"] * 4, "0 m", 3])
def test_a_corner_has_two_or_three_coordinates(case_with, point):
    run = {"kind": "conductor", "points": [["0 m", "0 m"], point], "depth": "1 m", **COPPER}
    with pytest.raises(CaseError, match="write a point as"):
        case_with(run)


def test_a_loop_closes_on_its_first_corner(case_with):
    corners = [["0 m", "0 m"], ["3 m", "0 m"], ["3 m", "4 m"]]
    c = case_with({"kind": "loop", "points": corners, "depth": "1 m", **COPPER}).conductors
    assert_allclose(c.length.sum(), 12.0, rtol=1e-14)
    assert (c.end[-1] == c.start[0]).all()


@pytest.mark.parametrize("pieces", [36, 48, 97])
def test_a_ring_has_the_circumference_of_the_circle(case_with, pieces):
    ring = {"kind": "ring", "centre": ["3.7 m", "4.3 m"], "depth": "0.5 m", "pieces": pieces}
    made = case_with(ring | COPPER | {"ring_radius": "3 m"})
    assert len(made.conductors.length) == pieces
    assert_allclose(total(made), 6 * np.pi, rtol=1e-13)
    middle = (made.conductors.start + made.conductors.end).mean(axis=0) / 2
    assert_allclose(middle, [3.7, 4.3, -0.5], rtol=1e-13)


def test_a_ring_of_48_sides_encloses_the_area_its_documentation_states(case_with):
    ring = {"kind": "ring", "centre": ["0 m", "0 m"], "depth": "0.5 m", "ring_radius": "1 m"}
    start = case_with(ring | COPPER).conductors.start[:, :2]
    x, y = start.T
    area = 0.5 * np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)
    # (pi/n)/tan(pi/n) = 1 - (pi/n)²/3 - …: 0.9986 for 48 sides.
    assert_allclose(area / np.pi, np.pi / 48 / np.tan(np.pi / 48), rtol=1e-12)
    assert_allclose(area / np.pi, 1 - 0.0014, atol=5e-5)


def test_a_ring_takes_a_diameter_in_place_of_a_radius(case_with):
    ring = {"kind": "ring", "centre": ["0 m", "0 m"], "depth": "0.5 m"} | COPPER
    by_radius = case_with(ring | {"ring_radius": "3 m"}).conductors
    by_diameter = case_with(ring | {"ring_diameter": "6 m"}).conductors
    assert_allclose(by_radius.start, by_diameter.start)
    with pytest.raises(CaseError, match="one of ring_radius, ring_diameter; got none"):
        case_with(ring)
    with pytest.raises(CaseError, match=r"20 is not allowed: from 36 to 720"):
        case_with(ring | {"ring_radius": "3 m", "pieces": 20})
    with pytest.raises(CaseError, match=r"48\.5 is not a whole number"):
        case_with(ring | {"ring_radius": "3 m", "pieces": 48.5})


def test_a_star_has_equal_arms_at_equal_angles_from_one_point(case_with):
    star = {"kind": "star", "centre": ["1 m", "2 m"], "arms": 5, "arm_length": "7 m"}
    made = case_with(star | COPPER | {"depth": "0.6 m", "first_azimuth": "20 deg"})
    c = made.conductors
    assert_allclose(c.length, 7.0, rtol=1e-14)
    assert (c.start == [1.0, 2.0, -0.6]).all()
    angle = np.degrees(np.arctan2(*(c.end - c.start)[:, 1::-1].T)) % 360
    assert_allclose(angle, 20 + 72 * np.arange(5), rtol=1e-12)
    assert made.joints == 1


def test_a_strip_acts_as_round_metal_of_a_quarter_of_width_and_thickness(case_with):
    # Strip of 30 x 3 mm: (w + t)/4 = 8.25 mm, a handbook rule from memory.
    case = case_with(BARE | {"strip": ["30 mm", "3 mm"]})
    c = case.conductors
    assert [part.strip for part in case.parts] == [(0.03, 0.003)]
    assert_allclose(c.radius, 8.25e-3, rtol=1e-14)


def test_a_stranded_conductor_is_as_wide_as_its_area_or_as_it_measures(case_with):
    stranded = {"cross_section": "95 mm^2"}
    c = case_with(BARE | {"stranded": stranded}).conductors
    assert_allclose(np.pi * c.radius**2, 95e-6, rtol=1e-14)
    c = case_with(BARE | {"stranded": stranded | {"overall_diameter": "12.6 mm"}}).conductors
    assert_allclose(c.radius, 6.3e-3, rtol=1e-14)
    with pytest.raises(CaseError, match=r"overall_diameter 0\.01 m is below the 0\.011 m"):
        case_with(BARE | {"stranded": stranded | {"overall_diameter": "10 mm"}})


def test_bare_metal_has_no_sheath_and_no_film(case_with):
    c = case_with(ROD).conductors
    assert c.sheath_radius.tolist() == c.radius.tolist() == [0.008]
    assert c.contact.tolist() == [0.0]


def test_backfill_coating_and_film_come_through(case_with):
    c = case_with(
        ROD | {"backfill": {"diameter": "0.3 m", "resistivity": "5 ohm*m"}},
        ROD
        | {
            "at": ["9 m", "0 m"],
            "coating": {"thickness": "2 mm", "resistivity": "1000 ohm*m"},
            "contact_resistivity": "0.25 ohm*m^2",
        },
    ).conductors
    assert_allclose(c.sheath_radius, [0.15, 0.010], rtol=1e-14)
    assert_allclose(c.sheath_resistivity, [5.0, 1000.0])
    assert_allclose(c.contact, [0.0, 0.25])
    # Fill ends with the metal unless told otherwise; a coat goes over the ends too.
    assert_allclose(c.sheath_cover, [0.0, 0.002])


def test_fill_may_go_on_below_a_rod(case_with):
    fill = {"diameter": "0.3 m", "resistivity": "5 ohm*m", "cover": "142 mm"}
    c = case_with(ROD | {"backfill": fill}).conductors
    assert_allclose(c.sheath_cover, [0.142])


@pytest.mark.parametrize(
    ("change", "why"),
    [
        (
            {"backfill": {"diameter": "16 mm", "resistivity": "5 ohm*m"}},
            "does not hold the metal",
        ),
        (
            {
                "backfill": {"diameter": "1 m", "resistivity": "5 ohm*m"},
                "coating": {"thickness": "1 mm", "resistivity": "5 ohm*m"},
            },
            "at most one of backfill, coating; got backfill and coating",
        ),
        ({"backfill": {"diameter": "1 m"}}, r"backfill\.resistivity: is missing"),
        (
            {"backfill": {"diameter": "1 m", "resistivity": "5 ohm*m", "cover": "-1 mm"}},
            r"backfill\.cover: '-1 mm' is below the 0 m allowed",
        ),
        ({"contact_resistivity": "5 ohm*m"}, "not a unit of resistance of a film"),
        ({"contact_resistivity": "-5 ohm*m^2"}, "below the 0"),
    ],
)
def test_covers_that_contradict_are_refused(case_with, change, why):
    with pytest.raises(CaseError, match=why):
        case_with(ROD | change)


def test_a_backfill_must_hold_the_full_width_of_a_strip(case_with):
    fill = {"diameter": "25 mm", "resistivity": "5 ohm*m"}
    with pytest.raises(CaseError, match=r"0\.03 m wide; it must be wider"):
        case_with(BARE | {"strip": ["30 mm", "3 mm"], "backfill": fill})


def test_parts_are_summed_up_with_their_rods_and_lengths(case_with):
    run = {"kind": "conductor", "points": [["1 m", "0 m"], ["9 m", "0 m"]], "depth": "1 m"}
    rods = {"kind": "rods", "name": "tail", "top_depth": "0.6 m", "length": "2 m"}
    rods |= {"line": {"start": ["0 m", "5 m"], "end": ["9 m", "5 m"], "count": 4}, **COPPER}
    parts = case_with(ROD, run | COPPER, rods).parts
    assert [(p.name, p.kind, p.rods) for p in parts] == [
        ("rod 1", "rod", 1),
        ("conductor 1", "conductor", 0),
        ("tail", "rods", 4),
    ]
    assert [p.rod_length for p in parts] == [3.7, 0.0, 8.0]
    assert [p.conductor_length for p in parts] == [0.0, 8.0, 0.0]
