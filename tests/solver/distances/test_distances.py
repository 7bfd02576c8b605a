"""How far voltages reach: against point sources, exact circles, and solving it again."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.distances import (
    Apart,
    DistancePlan,
    Level,
    WideField,
    distances,
)
from ohmscape.solver.distances.crossings import crossings
from ohmscape.solver.distances.outward import Outward
from ohmscape.solver.exposure.places import TouchableMetal
from ohmscape.solver.model import Conductors, Soil
from ohmscape.solver.solved_soil import Field
from ohmscape.solver.thin_wire import second_opinion

UNIFORM, LAYERS = Soil((130.0,)), Soil((300.0, 40.0, 500.0), (1.7, 4.3))


def rods(*places, length=2.7):
    """A group of one rod at each place."""
    top = np.array([[x, y, 0.0] for x, y in places], dtype=float)
    tip = top - [0.0, 0.0, length]
    return Conductors.bare(top, end=tip, radius=0.008, group=np.arange(len(places)))


def field_of(conductors, *, voltage, soil=UNIFORM):
    return Field(second_opinion(conductors, soil=soil), np.asarray(voltage, dtype=float))


def found(field, *, levels=(), separations=(), metals=(), factor=1.0):
    plan = DistancePlan(tuple(levels), tuple(separations))
    return distances(plan, field=field, metals=metals, pace=1.0, factor=factor)


ONE = field_of(rods((3.0, -2.0)), voltage=[1200.0])
CURRENT = float(ONE.element_current.sum())


@pytest.mark.parametrize("distance", [60.0, 500.0, 3e4])
def test_far_away_only_the_total_current_matters(distance):
    places = [3.0, -2.0] + distance * np.array([[0.6, 0.8], [-1.0, 0.0]])
    expected = 130.0 * CURRENT / (2 * np.pi * distance)
    assert_allclose(WideField(ONE).surface(places), expected, rtol=0.005)


@pytest.mark.parametrize("depth", [0.0, 0.9, 3.1, 9.0])
def test_near_and_far_are_one_field(depth):
    """On both sides of where points take over, against every wire with its images."""
    layout = rods((0.0, 0.0), (7.0, 3.0), (2.0, 9.0))
    field = field_of(layout, voltage=[900.0, -350.0, 600.0], soil=LAYERS)
    away = np.array([6.0, 15.0, 23.0, 30.0, 80.0, 400.0])
    points = np.column_stack([3 + away, 4 - 0.5 * away, np.full(6, -depth)])
    near = field.potential(points)
    assert_allclose(WideField(field).potential(points), near, rtol=2e-3)


def test_far_below_the_surface_it_is_the_deepest_soil_that_counts():
    field = field_of(rods((0.0, 0.0)), voltage=[500.0], soil=Soil((100.0, 400.0), (2.0,)))
    place = np.array([[3000.0, 0.0]])
    expected = 400.0 * field.element_current.sum() / (2 * np.pi * 3000.0)
    assert_allclose(WideField(field).surface(place), expected, rtol=0.005)


@pytest.mark.parametrize("volts", [200.0, 20.0, 0.7])
def test_the_outline_of_a_potential_is_its_circle(volts):
    (item,) = found(ONE, levels=[Level("zone", "potential", volts)]).levels
    (polygon,) = item.polygons
    assert item.whole
    # Corners are where the field passes the level, all round.
    assert_allclose(WideField(ONE).surface(polygon), volts, rtol=2e-3)
    radius = np.linalg.norm(polygon - [3.0, -2.0], axis=1)
    assert_allclose(item.distance, radius.max())
    assert np.ptp(radius) < 0.004 * radius.mean()
    if volts < 30:  # a point by then
        assert_allclose(item.distance, 130.0 * CURRENT / (2 * np.pi * volts), rtol=0.005)


def test_growth_and_decrement_reach_farther():
    level = Level("zone", "potential", 3.0)
    one, two = (found(ONE, levels=[level], factor=f).levels[0].distance for f in (1.0, 1.3))
    assert_allclose(two, 1.3 * one, rtol=0.005)


def test_what_goes_on_for_ever_is_said_not_to_close():
    (item,) = found(ONE, levels=[Level("trace", "potential", 1e-4)]).levels
    assert (item.whole, item.polygons, item.distance) == (False, (), math.inf)


def test_what_is_met_nowhere_has_no_outline():
    (item,) = found(ONE, levels=[Level("none", "potential", 1300.0)]).levels
    assert (item.whole, item.polygons, item.distance) == (True, (), 0.0)


def test_two_electrodes_far_apart_have_an_outline_each():
    field = field_of(rods((0.0, 0.0), (60.0, 0.0)), voltage=[900.0, -900.0])
    (item,) = found(field, levels=[Level("zone", "potential", 90.0)]).levels
    assert len(item.polygons) == 2
    middles = sorted(polygon[:, 0].mean() for polygon in item.polygons)
    assert_allclose(middles, [0.0, 60.0], atol=0.5)


def test_steps_fall_below_a_level_where_the_point_source_says():
    (item,) = found(ONE, levels=[Level("cattle", "step", 0.3)]).levels
    # V = ρ I / 2 π r, one foot a pace nearer: r (r - 1) = ρ I / (2 π 0.3 V).
    product = 130.0 * CURRENT / (2 * np.pi * 0.3)
    assert_allclose(item.distance, 0.5 + math.sqrt(0.25 + product), rtol=0.005)
    assert len(item.polygons) == 1


def test_touch_is_met_within_reach_of_the_metal_and_nowhere_else():
    post = TouchableMetal("post", 0, "points", np.array([[3.0, -2.0]]), 1.0)
    levels = [Level("any", "touch", 20.0, "post"), Level("high", "touch", 850.0, "post")]
    low, high = found(ONE, levels=levels, metals=[post]).levels
    radius = np.linalg.norm(low.polygons[0] - [3.0, -2.0], axis=1)
    assert_allclose(radius, 1.0, rtol=1e-3)  # the edge of reach
    # The soil falls away from the rod: only the farther feet meet much, out to the reach.
    assert_allclose(high.distance, 1.0, rtol=1e-3)


@pytest.mark.parametrize("soil", [UNIFORM, LAYERS], ids=["uniform", "layers"])
@pytest.mark.parametrize("azimuth", [None, 1.1])
def test_another_electrode_takes_on_what_was_asked(soil, azimuth):
    """Solved again with the other electrode where it was found that it must stand."""
    layout = rods((0.0, 0.0), (4.0, 0.0))
    joined = Conductors.bare(layout.start, end=layout.end, radius=layout.radius)
    field = field_of(joined, voltage=[800.0], soil=soil)
    apart = Apart("neighbour", None, 0.04, rod=1.8, azimuth=azimuth)
    (item,) = found(field, separations=[apart]).separations
    assert_allclose([item.voltage, item.signed], 32.0, rtol=1e-4)
    top = np.array([[*item.place, 0.0]])
    both = Conductors.bare(
        np.concatenate([joined.start, top]),
        end=np.concatenate([joined.end, top - [0, 0, 1.8]]),
        radius=0.008,
        group=[0, 0, 1],
    )
    matrix = second_opinion(both, soil=soil, longest=0.05).current_matrix
    floating = -matrix[1, 0] / matrix[1, 1] * 800.0
    assert_allclose(floating, 32.0, rtol=0.01)
    live = np.array([[0.0, 0.0], [4.0, 0.0]])
    assert_allclose(item.distance, np.linalg.norm(live - item.place, axis=1).min())


def test_without_a_direction_the_worst_one_is_taken():
    layout = rods((0.0, 0.0), (9.0, 0.0))
    field = field_of(layout, voltage=[800.0, 300.0])
    worst = found(field, separations=[Apart("pole", 60.0)]).separations[0]
    for azimuth in np.linspace(0, 2 * np.pi, 13):
        one = found(field, separations=[Apart("pole", 60.0, azimuth=azimuth)]).separations[0]
        assert one.distance <= worst.distance * (1 + 1e-3)


def test_what_is_taken_on_near_the_return_has_the_other_sign():
    field = field_of(rods((0.0, 0.0), (40.0, 0.0)), voltage=[900.0, -700.0])
    apart = Apart("fence", 30.0, azimuth=0.0)
    (item,) = found(field, separations=[apart]).separations
    assert_allclose(item.signed, -30.0, rtol=1e-4)
    assert item.place[0] > 40


@pytest.mark.parametrize("rod", [0.0, 3.0])
def test_no_place_that_is_farther_takes_on_more(rod):
    """Currents both ways, in layers: what is taken on passes zero and rises again."""
    layout = rods((0.0, 0.0), (7.0, 3.0), (2.0, 9.0))
    field = field_of(layout, voltage=[900.0, -850.0, 300.0], soil=LAYERS)
    outward = Outward(WideField(field), 1.0)
    for azimuth in (0.4, 2.6, 5.5):
        (item,) = found(field, separations=[Apart("fence", 4.0, rod=rod, azimuth=azimuth)]
        ).separations  # fmt: skip
        away = np.linalg.norm(np.subtract(item.place, [3.5, 4.5]))
        beyond = away * np.geomspace(1.001, 1e3, 2000)
        places = [3.5, 4.5] + beyond[:, None] * [np.cos(azimuth), np.sin(azimuth)]
        assert np.abs(outward.taken_on(places, rod=rod)).max() < 4.0


@pytest.mark.parametrize("soil", [UNIFORM, LAYERS], ids=["uniform", "layers"])
def test_potential_is_nowhere_above_what_it_is_at_most(soil):
    layout = rods((0.0, 0.0), (7.0, 3.0), (2.0, 9.0))
    wide = WideField(field_of(layout, voltage=[900.0, -350.0, 600.0], soil=soil))
    middle, depths = np.array([1.0, 2.0]), np.array([0.0, 1.3, 5.0, 12.0])
    assert np.isinf(wide.at_most(12.0, middle=middle, depths=depths)).all()
    random = np.random.default_rng(5)
    for away in (60.0, 300.0, 9e3):
        most = wide.at_most(away, middle=middle, depths=depths)
        angle, farther = random.uniform(0, 2 * np.pi, 99), away * random.uniform(1, 3, 99)
        plan = middle + farther[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
        for depth, bound in zip(depths, most, strict=True):
            values = wide.potential(np.column_stack([plan, np.full(99, -depth)]))
            assert np.abs(values).max() <= bound
            assert bound < 30 * np.abs(values).max()


def test_many_functions_pass_zero_each_at_its_own_place():
    place = np.array([1.03, 5.0, 7.7, 1e-3, 12.0])
    steep = crossings(lambda x: 1 / x**3 - 1 / place**3, inner=place / 2, outer=place * 3)
    assert_allclose(steep, place, rtol=1e-6)
    jump = crossings(
        lambda x: np.where(x < place, 3.0, -0.1), inner=0 * place, outer=place * 1.05
    )
    assert_allclose(jump, place, rtol=1e-6)
    end = crossings(lambda x: place - x, inner=place / 2, outer=place)
    assert_allclose(end, place, rtol=1e-6)


def test_a_separation_that_is_kept_anywhere_and_one_that_never_is():
    anywhere, never = found(ONE, separations=[Apart("a", 1300.0), Apart("b", 1e-4)]).separations
    assert anywhere.distance == 0.0
    assert math.isinf(never.distance)


def test_the_table_counts_from_the_nearest_live_metal_along_and_across():
    # An angle of two wires, and a dead rod far out that must not count.
    start = [[0, 0, -0.6], [0, 0, -0.6], [30, 0, 0]]
    end = [[20, 0, -0.6], [0, 9, -0.6], [30, 0, -2]]
    layout = Conductors.bare(start, end=end, radius=0.005, group=[0, 0, 1])
    opinion = second_opinion(layout, soil=UNIFORM)
    matrix = opinion.current_matrix
    field = Field(opinion, np.array([700.0, -matrix[1, 0] / matrix[1, 1] * 700.0]))
    result = found(field, levels=[Level("zone", "potential", 100.0)])
    assert [line.name for line in result.lines] == [
        "along",
        "across",
        "along, the other way",
        "across, the other way",
    ]
    live = [((0, 0), (20, 0)), ((0, 0), (0, 9))]
    for line in result.lines:
        for place, distance in zip(line.places, line.distance, strict=True):
            gaps = []
            for a, b in np.array(live, dtype=float):
                t = np.clip((place - a) @ (b - a) / ((b - a) @ (b - a)), 0, 1)
                gaps.append(np.linalg.norm(place - a - t * (b - a)))
            assert_allclose(min(gaps), distance, rtol=1e-6)
        assert_allclose(line.potential, field.surface_potential(line.places), rtol=2e-3)
        assert abs(line.potential[-1]) < 0.01 * 700 <= abs(line.potential[-2])
    # The longer arm is what the first direction runs along, but for the pull of the shorter.
    first = result.lines[0].azimuth
    assert min(first, abs(first - np.pi)) < np.radians(35)
