"""Who can touch what, maps of the surface, and the worst places on them."""

import numpy as np
import pytest
from measuring import resistance
from numpy.testing import assert_allclose

from ohmscape.solver.exposure.places import TouchableMetal
from ohmscape.solver.exposure.surface import Area, sample_places, surface_map
from ohmscape.solver.exposure.worst import Yardstick, climb, worst_step, worst_touch
from ohmscape.solver.polygons import inside, nearest_on_segments
from ohmscape.solver.solved_soil import Field

ELL = np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 1.0], [1.0, 1.0], [1.0, 3.0], [0.0, 3.0]])


def test_inside_of_an_outline_that_is_not_convex():
    places = np.array([[0.5, 2.5], [3.5, 0.5], [2.0, 2.0], [-0.1, 1.0], [0.5, 3.1]])
    assert inside(places, outline=ELL).tolist() == [True, True, False, False, False]
    assert inside(places, outline=ELL[::-1]).tolist() == [True, True, False, False, False]
    # Many places are looked at side by side, few all at once.
    many = np.random.default_rng(3).uniform(ELL.min(axis=0), ELL.max(axis=0), (100, 2))
    alone = [inside(place[None], outline=ELL)[0] for place in many]
    assert inside(many, outline=ELL).tolist() == alone
    assert 10 < sum(alone) < 90


def test_nearest_points_of_segments_and_of_their_ends():
    start, end = np.array([[0.0, 0.0], [5.0, 5.0]]), np.array([[4.0, 0.0], [5.0, 5.0]])
    places = np.array([[2.0, 3.0], [-3.0, 4.0], [5.0, 7.0]])
    found = nearest_on_segments(places, start=start, end=end)
    assert_allclose(found, [[2.0, 0.0], [0.0, 0.0], [5.0, 5.0]])


def test_places_out_of_reach_are_pulled_to_its_edge():
    metal = TouchableMetal("frame", 0, "line", np.array([[0.0, 0.0], [4.0, 0.0]]), 0.8)
    places = np.array([[2.0, 3.0], [2.0, -0.5], [7.0, 4.0], [1.0, 0.0]])
    pulled = metal.pulled_within_reach(places)
    assert_allclose(pulled, [[2.0, 0.8], [2.0, -0.5], [4.48, 0.64], [1.0, 0.0]])
    assert metal.within_reach(pulled).all()


@pytest.mark.parametrize(
    ("kind", "expected"),
    [
        ("polygon", [0.0, 1.0, 1.0]),  # inside, in the notch, beyond the closing side
        ("line", [0.5, 1.0, np.hypot(1.0, 1.5)]),  # that side is missing
        ("points", [np.hypot(0.5, 0.5), np.hypot(1.0, 1.0), np.hypot(1.0, 1.5)]),
    ],
)
def test_distance_to_each_kind_of_metal(kind, expected):
    metal = TouchableMetal("frame", 0, kind, ELL, 1.0)
    places = np.array([[0.5, 1.5], [2.0, 2.0], [-1.0, 1.5]])
    found = metal.distance(places)
    assert_allclose(found, expected)
    assert metal.within_reach(places).tolist() == [d <= 1.0 for d in expected]


def test_climbing_finds_a_maximum_off_the_raster():
    top = np.array([0.337, -0.718])

    def value(places):
        gap = places - top
        return 1.0 / (1.0 + gap[:, 0] ** 2 + 3 * gap[:, 1] ** 2 + gap[:, 0] * gap[:, 1])

    start = np.array([[0.5, -0.5], [0.0, -1.0]])
    found = climb(start, steps=np.full(2, 0.25), value=value, allowed=lambda places: places)
    # Twelve rounds, each to 0.4 or 0.7 of the step before.
    assert_allclose(found, [top, top], atol=0.01)


def test_climbing_slides_along_the_edge_of_what_is_allowed():
    def value(places):
        return 2 * places[:, 0] - (places[:, 1] - 0.3) ** 2

    def allowed(places):
        return np.minimum(places, [0.43, np.inf])

    start = np.array([[0.1, -0.4]])
    found = climb(start, steps=np.full(2, 0.25), value=value, allowed=allowed)
    assert_allclose(found, [[0.43, 0.3]], atol=0.01)


@pytest.fixture(scope="module")
def field(rod_solution):
    """One ampere out of the rod at the origin."""
    return Field(rod_solution, np.array([resistance(rod_solution)]))


AREA = Area((-3.1, -2.7), (3.3, 2.9), 0.4)


@pytest.fixture(scope="module")
def metal():
    return TouchableMetal("rod head", 0, "points", np.array([[0.0, 0.0]]), 1.0)


@pytest.fixture(scope="module")
def surface(field, metal):
    return surface_map(AREA, field=field, metals=[metal], pace=1.0)


def test_worst_touch_is_at_the_end_of_reach(surface, field, metal):
    (worst,) = worst_touch(surface, index=0, metal=metal, field=field, area=AREA)
    # Exact 23.795 V for 1 A at 1 m (boundary integral, computed independently).
    assert_allclose(worst.voltage, 23.795, rtol=0.02)
    assert_allclose(np.hypot(*worst.foot), 1.0, atol=0.02)
    assert worst.voltage >= np.nanmax(surface.touch)
    assert (worst.kind, worst.name, worst.other_foot) == ("touch", "rod head", None)


def test_worst_step_has_one_foot_on_the_rod(surface, field):
    (worst,) = worst_step(surface, field=field, area=AREA)
    # From the rod itself, at its full rise, to 1 m away: the touch voltage there.
    assert_allclose(worst.voltage, 23.795, rtol=0.02)
    feet = np.array([worst.foot, worst.other_foot])
    assert_allclose(np.linalg.norm(feet[0] - feet[1]), 1.0, rtol=1e-9)
    assert np.linalg.norm(feet, axis=1).min() < 0.03
    assert worst.voltage >= surface.step.max()


def test_metal_out_of_reach_has_no_worst_touch(surface, field):
    far = TouchableMetal("mast", 0, "points", np.array([[40.0, 0.0]]), 1.0)
    away = surface_map(AREA, field=field, metals=[far], pace=1.0)
    assert np.isnan(away.touch).all()
    assert worst_touch(away, index=0, metal=far, field=field, area=AREA) == ()


def test_maps_hold_the_field_itself(surface, field):
    some = slice(None, None, 37)
    assert_allclose(
        surface.potential[some], field.surface_potential(surface.places[some]), rtol=1e-12
    )
    reachable = np.isfinite(surface.touch[0])
    assert_allclose(reachable, np.hypot(*surface.places.T) <= 1.0 + 1e-9)
    # In size: at the rod itself the two are equal to 0.1 %, and either may be larger.
    expected = np.abs(field.voltage[0] - surface.potential[reachable])
    assert_allclose(surface.touch[0, reachable], expected, rtol=1e-12)


def test_steps_point_towards_or_away_from_the_rod(surface):
    outward = np.arctan2(surface.places[:, 1], surface.places[:, 0])
    away = np.hypot(*surface.places.T) > 1.5
    turn = np.angle(np.exp(2j * (surface.step_direction - outward)))[away] / 2
    # 48 directions are 7.5° apart, and the field is nearly round.
    assert_allclose(turn, 0.0, atol=np.radians(12.0))


def test_steps_are_those_of_a_round_field(surface, field):
    away = np.hypot(*surface.places.T) > 1.5
    places = surface.places[away][::20]
    towards = places * (1 - 1 / np.hypot(*places.T))[:, None]
    expected = field.surface_potential(towards) - field.surface_potential(places)
    assert_allclose(surface.step[away][::20], expected, rtol=0.02)


def test_map_covers_its_area_with_triangles(surface):
    corners = surface.places[surface.triangles]
    one, two = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    area = 0.5 * np.abs(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0])
    assert_allclose(area.sum(), 6.4 * 5.6, rtol=1e-9)
    assert_allclose(surface.places.min(axis=0), AREA.low)
    assert_allclose(surface.places.max(axis=0), AREA.high)


def test_sampling_is_finer_near_shallow_metal(field):
    places = sample_places(AREA, field=field, pace=1.0)
    near = np.hypot(*places.T) < 0.2
    density = near.sum() / (np.pi * 0.2**2)
    # Twice halved: sixteen times as dense as the raster.
    assert density > 8 / AREA.spacing**2


@pytest.mark.parametrize("pace", [0.8, 1.0])
def test_steps_off_the_top_of_a_rod_are_seen_all_round(field, pace):
    # One foot on the rod, one on a circle that no raster meets more than by chance.
    surface = surface_map(AREA, field=field, metals=[], pace=pace)
    away = np.hypot(*surface.places.T)
    round_it = np.abs(away - pace) < 1e-6
    assert round_it.sum() >= 90
    at_the_top = field.voltage[0] - field.surface_potential(np.array([[pace, 0.0]]))[0]
    assert_allclose(surface.step[round_it], at_the_top, rtol=0.01)
    (worst,) = worst_step(surface, field=field, area=AREA)
    assert worst.voltage == pytest.approx(surface.step.max(), rel=0.01)


def test_nobody_stands_inside_a_solid_body():
    box = np.array([[-1.3, -0.9], [1.3, -0.9], [1.3, 0.9], [-1.3, 0.9]])
    cabinet = TouchableMetal("cabinet", 0, "body", box, 1.0)
    places = np.array([[0.0, 0.0], [1.2, 0.0], [2.2, 0.0], [2.4, 0.0], [1.3 + 0.8, 0.9 + 0.7]])
    assert cabinet.within_reach(places).tolist() == [False, False, True, False, False]
    # From inside, the nearest place where a person can stand is at the wall.
    assert_allclose(cabinet.pulled_within_reach(places[1:2]), [[1.3, 0.0]])
    assert_allclose(cabinet.pulled_within_reach(places[3:4]), [[2.3, 0.0]])


def test_several_worst_touches_keep_a_reach_apart_and_fall(surface, field, metal):
    row = TouchableMetal("fence", 0, "line", np.array([[0.0, 0.0], [5.0, 0.0]]), 1.0)
    along = surface_map(AREA, field=field, metals=[row], pace=1.0)
    worst = worst_touch(along, index=0, metal=row, field=field, area=AREA, most=5)
    voltages = [item.voltage for item in worst]
    assert len(worst) == 5
    assert voltages == sorted(voltages, reverse=True)
    feet = np.array([item.foot for item in worst])
    gaps = np.linalg.norm(feet[:, None] - feet[None], axis=-1)[~np.eye(5, dtype=bool)]
    assert gaps.min() > row.reach
    assert row.within_reach(feet).all()


def test_several_worst_steps_keep_a_pace_apart_and_fall(surface, field):
    worst = worst_step(surface, field=field, area=AREA, most=10)
    voltages = [item.voltage for item in worst]
    assert len(worst) == 10
    assert voltages == sorted(voltages, reverse=True)
    middle = np.array([np.add(item.foot, item.other_foot) / 2 for item in worst])
    gaps = np.linalg.norm(middle[:, None] - middle[None], axis=-1)[~np.eye(10, dtype=bool)]
    assert gaps.min() > surface.pace


def test_worst_share_is_where_the_limit_is_low(surface, field, metal):
    def permissible(places):
        return np.where(places[:, 0] > 0, 1000.0, 100.0)  # rock to the right of the rod

    (worst,) = worst_touch(
        surface,
        index=0,
        metal=metal,
        field=field,
        area=AREA,
        yardstick=Yardstick(permissible),
    )
    assert worst.foot[0] <= 0
    (step,) = worst_step(surface, field=field, area=AREA, yardstick=Yardstick(permissible))
    assert min(step.foot[0], step.other_foot[0]) <= 0


def test_people_stay_inside_their_outline(surface, field, metal):
    outline = np.array([[0.3, -2.0], [3.0, -2.0], [3.0, -0.2], [0.3, -0.2]])
    keep = Yardstick(outline=outline)
    found = worst_touch(
        surface, index=0, metal=metal, field=field, area=AREA, yardstick=keep, most=3
    )
    assert found
    assert all(keep.allows(np.array([item.foot])).all() for item in found)
    assert all(metal.within_reach(np.array([item.foot])).all() for item in found)
    (step,) = worst_step(surface, field=field, area=AREA, yardstick=keep)
    # One foot inside, the other a pace away on the rod.
    assert keep.allows(np.array([step.foot])).all()
    assert np.hypot(*step.other_foot) < 0.05
    away = Yardstick(outline=outline + 100.0)
    assert worst_step(surface, field=field, area=AREA, yardstick=away) == ()
    assert (
        worst_touch(surface, index=0, metal=metal, field=field, area=AREA, yardstick=away) == ()
    )
