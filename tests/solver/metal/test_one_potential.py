"""How far metal is from one potential, and what that means for a result."""

import numpy as np
import pytest

from ohmscape.solver.heating import material
from ohmscape.solver.metal import Bar, Feed, FeedPlace, MetalDrop, OnePotential, one_potential
from ohmscape.solver.model import Conductors, Soil
from ohmscape.solver.solved_soil import Field
from ohmscape.solver.thin_wire import second_opinion

from .whole_networks import GALVANISED, square_grid


def drop_of(volts):
    return MetalDrop("", "given", "grid", (0.0, 0.0, -0.8), volts, 1.0)


@pytest.mark.parametrize(
    ("drop", "touch", "standing", "doubt"),
    [
        (9.9, 250.0, "even", 0.0),
        (9.9, 0.0, "even", 0.0),
        (9.9, 190.0, "nearly even", 0.0),
        (11.0, 250.0, "nearly even", 0.0),
        (49.0, 250.0, "nearly even", 0.0),
        (51.0, 250.0, "uneven", 51.0),
        (290.0, 250.0, "uneven", 290.0),
        # No estimate any more: all that metal can be above remote earth is in doubt.
        (310.0, 250.0, "uneven", 1310.0),
    ],
)
def test_what_a_drop_means(drop, touch, standing, doubt):
    # One percent of the rise and five of the touch voltage; five percent of the rise.
    found = OnePotential(50.0, True, 1000.0, touch, (drop_of(1.0), drop_of(drop)))
    assert found.standing(found.largest) == standing
    assert found.doubt == pytest.approx(doubt)


def found_of(conductors, soil, *, metals=None, feeds=None, voltage=None, frequency=50.0):
    solution = second_opinion(conductors, soil=soil, longest=10.0)
    count = len(conductors.group_names)
    parts = len(conductors.part_names)
    field = Field(solution, np.ones(count) if voltage is None else np.asarray(voltage))
    return one_potential(
        field,
        metals=metals or [("", [Bar(GALVANISED, 200.0)] * parts)],
        frequency=frequency,
        frequency_given=True,
        feeds=feeds or [None] * count,
        touch=0.25,
    )


def test_a_grid_is_told_at_its_corner_and_in_its_middle():
    # 200 m, galvanised, 100 Ω·m: Z over R from whole solutions of another method, 0.33269 and
    # 0.26813 over 0.23856; the first order is a little off.
    found = found_of(square_grid(200), Soil((100.0,)))
    best, worst = found.drops
    assert (best.feed, worst.feed) == ("best", "worst")
    assert best.place == pytest.approx((100, 100, -0.8))
    assert set(np.abs(np.subtract(worst.place[:2], 100))) == {100.0}
    assert worst.impedance == pytest.approx(0.33269 / 0.23856, rel=0.02)
    assert best.impedance == pytest.approx(0.26813 / 0.23856, rel=0.02)
    assert found.without_feed == ("group 0",)
    assert found.permeability == 200.0
    assert found.rise == 1.0


def test_where_current_enters_may_be_said():
    grid = square_grid(100, meshes=4)
    soil = Soil((50.0,))
    feed = FeedPlace(feed=Feed(0, 12.5))
    found = found_of(grid, soil, feeds=[feed])
    (only,) = found.drops
    assert only.feed == "given"
    assert only.place == pytest.approx(tuple(grid.start[0] + 12.5 * grid.direction[0]))
    assert found.without_feed == ()
    best, worst = found_of(grid, soil).drops
    assert best.drop < only.drop < worst.drop


def test_a_part_that_is_fed_leaves_open_where_on_it():
    grid = square_grid(100, meshes=2)
    rod = Conductors.bare([[0, 0, -0.8]], end=[[0, 0, -6.8]], radius=0.008)
    names = {"group_names": ("all",), "part_names": ("grid", "rod")}
    joined = {
        name: np.concatenate([getattr(grid, name), getattr(rod, name)])
        for name, column in vars(grid).items()
        if name not in names and column is not None
    }
    joined["part"] = np.repeat([0, 1], [len(grid.radius), 1])
    whole = Conductors(**joined, **names)
    (only,) = found_of(whole, Soil((50.0,)), feeds=[FeedPlace(part=1)]).drops
    assert only.feed == "given"
    assert only.place == pytest.approx((0, 0, -0.8))
    best, worst = found_of(whole, Soil((50.0,)), feeds=[FeedPlace(part=0)]).drops
    assert best.drop < worst.drop


def test_metals_are_a_bracket():
    copper, steel = material("annealed copper"), material("zinc-coated steel rod")
    metals = [(item.name, [Bar(item, item.permeability[1])]) for item in (steel, copper)]
    found = found_of(square_grid(60, meshes=3), Soil((50.0,)), metals=metals)
    assert (found.least.metal, found.largest.metal) == (copper.name, steel.name)
    assert sorted(item.metal for item in found.drops) == [copper.name] * 2 + [steel.name] * 2
    drops = [item.drop for item in found.drops]
    assert drops == sorted(drops)


def test_pieces_apart_are_counted_and_a_short_rod_is_even():
    rods = Conductors.bare([[0, 0, 0], [30, 0, 0]], end=[[0, 0, -3], [30, 0, -3]], radius=0.008)
    found = found_of(rods, Soil((100.0,)))
    assert found.apart == (("group 0", 2),)
    assert found.standing(found.largest) == "even"
    assert found.without_feed == ()  # each has one head


def test_groups_out_of_phase_are_taken_as_they_are():
    two = Conductors.bare(
        [[0, 0, -0.8], [0, 400, -0.8]],
        end=[[200, 0, -0.8], [200, 400, -0.8]],
        radius=0.005,
        group=[0, 1],
    )
    alike = found_of(two, Soil((100.0,)), voltage=[1.0, 0.1])
    turned = found_of(two, Soil((100.0,)), voltage=[1.0j, 0.1j])
    assert turned.largest.drop == pytest.approx(alike.largest.drop)
    assert turned.largest.impedance == pytest.approx(alike.largest.impedance)
    assert alike.largest.electrode == "group 0"


def test_metal_that_no_net_current_enters_has_no_feed():
    # A long steel wire beside a short fed rod takes current up near it and gives it off again.
    both = Conductors.bare(
        [[0, 0, 0], [1, 1, -0.5]],
        end=[[0, 0, -3], [801, 1, -0.5]],
        radius=0.005,
        group=[0, 1],
    )
    solution = second_opinion(both, soil=Soil((50.0,)), longest=10.0)
    floating = -solution.current_matrix[1, 0] / solution.current_matrix[1, 1]
    found = found_of(both, Soil((50.0,)), voltage=[1.0, floating])
    (only,) = found.drops
    assert only.electrode == "group 1"
    assert only.place is None
    assert only.impedance == pytest.approx(1.0, abs=1e-3)
    assert only.drop > 0.01 * floating
