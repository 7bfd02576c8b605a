"""Metal added never raises a resistance, and what counts as metal added."""

from itertools import pairwise

import field_layouts as lay
import numpy as np
import pytest

from ohmscape.solver.design import metal_within
from ohmscape.solver.model import Conductors, Soil
from ohmscape.solver.thin_wire import second_opinion

SOILS = (Soil((130.0,)), Soil((400.0, 60.0), (1.4,)), Soil((70.0, 900.0), (1.1,)))


def random_metal(random, count):
    """Rods and horizontal wires that keep apart, each in a lane of its own."""
    pieces = []
    for lane in range(count):
        x = 3.0 * lane
        if random.random() < 0.5:
            top = random.uniform(0.0, 0.8)
            pieces.append([[x, 0, -top], [x, 0, -top - random.uniform(0.7, 5.0)]])
        else:
            z, y = -random.uniform(0.3, 1.3), random.uniform(-4, 4)
            pieces.append([[x, y, z], [x, y + random.uniform(1.0, 7.0), z]])
    ends = np.array(pieces)
    return Conductors.bare(ends[:, 0], end=ends[:, 1], radius=0.007)


def first(metal, count):
    return Conductors.bare(metal.start[:count], end=metal.end[:count], radius=0.007)


@pytest.mark.parametrize("seed", range(6))
def test_rayleigh_law_holds_over_random_additions_of_metal(seed):
    random = np.random.default_rng(seed)
    metal = random_metal(random, 5)
    soil = SOILS[seed % 3]
    found = [second_opinion(first(metal, n), soil=soil).resistance[0, 0] for n in range(1, 6)]
    # All wires are cut alike, so the errors of the method go the same way.
    assert all(after < before * (1 + 1e-6) for before, after in pairwise(found))
    for n in range(1, 5):
        assert metal_within(first(metal, n), first(metal, n + 1))
        assert not metal_within(first(metal, n + 1), first(metal, n))


def test_pieces_that_are_split_otherwise_are_the_same_metal():
    whole = Conductors.bare([0, 0, -0.5], end=[9, 0, -0.5], radius=0.005)
    split = Conductors.bare(
        [[9, 0, -0.5], [4, 0, -0.5]], end=[[4, 0, -0.5], [0, 0, -0.5]], radius=0.005
    )
    gap = Conductors.bare(
        [[9, 0, -0.5], [4, 0, -0.5]], end=[[4.01, 0, -0.5], [0, 0, -0.5]], radius=0.005
    )
    assert metal_within(whole, split)
    assert metal_within(split, whole)
    assert not metal_within(whole, gap)
    assert metal_within(gap, whole)


def test_thinner_metal_is_part_of_thicker_and_not_the_reverse():
    thin = Conductors.bare([0, 0, -0.5], end=[9, 0, -0.5], radius=0.004)
    thick = Conductors.bare([0, 0, -0.5], end=[9, 0, -0.5], radius=0.006)
    assert metal_within(thin, thick)
    assert not metal_within(thick, thin)


def test_no_bound_is_claimed_where_metal_is_covered_or_elsewhere():
    bare = lay.rod(length=2.0, radius=0.008)
    filled = lay.encased_rod(
        length=2.0, radius=0.008, shell_radius=0.1, shell_resistivity=500.0
    )
    assert metal_within(bare, bare)
    assert not metal_within(bare, filled)
    assert not metal_within(filled, filled)
    apart = lay.in_groups(bare, lay.moved(bare, shift=(5.0, 0.0)))
    assert not metal_within(bare, apart)
    assert not metal_within(bare, lay.moved(bare, shift=(0.001, 0.0)))


def test_touch_voltages_have_no_such_law():
    # A rod far outside takes current along, and raises the touch voltage at its head.
    ring = lay.ring(diameter=6.0, radius=0.005, depth=0.6)
    more = lay.together(ring, lay.moved(lay.rod(length=2.0, radius=0.008), shift=(9.0, 0.0)))
    soil = SOILS[1]
    places = np.array([[0.0, 0.0, 0.0], [9.6, 0.0, 0.0]])
    touch = []
    for metal in (ring, more):
        found = second_opinion(metal, soil=soil)
        rise = found.resistance[0, 0] * 100.0
        touch.append(rise - found.potential(places, voltage=np.array([rise])))
    assert touch[1][0] < touch[0][0]
    step = [abs(t[1] - t[0]) for t in touch]
    assert step[0] != step[1]
