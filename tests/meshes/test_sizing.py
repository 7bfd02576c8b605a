"""Element size along the metal: a tenth of each run, finer beside thin layers."""

import field_layouts as lay
import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.meshes.sizing import element_size, run_extent, runs
from ohmscape.solver.model import Soil

UNIFORM = Soil((100.0,))
GRID = lay.grid(sides=(30.0, 20.0), lines=(4, 3), radius=0.005, depth=0.5)


def test_a_ring_is_one_run():
    ring = lay.ring(diameter=10.0, radius=0.005, depth=0.7)
    assert len(set(runs(ring).tolist())) == 1
    # Box of 10 m by 10 m.
    assert_allclose(run_extent(ring), 10.0 * np.sqrt(2.0), rtol=0.01)


def test_each_side_of_a_grids_mesh_is_a_run():
    # The corners turn by 90° and all other joints have three or four wires.
    assert len(set(runs(GRID).tolist())) == len(GRID.start)
    assert_allclose(run_extent(GRID), 10.0)


def test_a_wire_drawn_in_pieces_is_one_run():
    pieces = [
        lay.moved(lay.wire(length=2.0, radius=0.005, depth=0.5), shift=(2.0 * k, 0.0))
        for k in range(4)
    ]
    assert len(set(runs(lay.together(*pieces)).tolist())) == 1
    assert_allclose(run_extent(lay.together(*pieces)), 8.0)


def test_a_sharp_bend_ends_a_run():
    one = lay.wire(length=2.0, radius=0.005, depth=0.5)
    for turn, count in ((0.5, 1), (0.8, 2)):
        other = lay.moved(one, turn=turn)
        # Both start at the origin: turn the first to end there.
        path = lay.together(lay.moved(one, turn=np.pi), other)
        assert len(set(runs(path).tolist())) == count


def test_rods_apart_are_runs_apart():
    places = lay.line_places(3, spacing=4.0)
    assert len(set(runs(lay.rods(places, length=3.0, radius=0.008)).tolist())) == 3


def test_size_is_a_tenth_of_the_run_or_a_share_of_the_whole():
    rod = lay.rod(length=3.0, radius=0.008)
    assert_allclose(element_size(rod, soil=UNIFORM), 0.3)
    far = lay.rods([[0.0, 0.0], [800.0, 0.0]], length=3.0, radius=0.008)
    # Half-diagonal 400 m: no finer than an eightieth of it.
    assert_allclose(element_size(far, soil=UNIFORM), 5.0, rtol=1e-4)


@pytest.mark.parametrize("fineness", [0.5, 2.0])
def test_fineness_divides_every_size(fineness):
    soil = Soil((100.0, 20.0), (0.3,))
    assert_allclose(
        element_size(GRID, soil=soil, fineness=fineness),
        element_size(GRID, soil=soil) / fineness,
    )


def test_elements_are_small_beside_a_thin_layer_and_less_so_away_from_it():
    wire = {"length": 20.0, "radius": 0.005}
    soil = Soil((1000.0, 100.0), (0.1,))
    inside, below, deep = (
        element_size(lay.wire(depth=depth, **wire), soil=soil)[0] for depth in (0.05, 0.5, 10.0)
    )
    assert_allclose(inside, 2.5 * 0.1)
    # Half of the distance more.
    assert_allclose(below, 2.5 * 0.1 + 0.5 * 0.4)
    assert_allclose(deep, 2.0)


def test_each_layer_but_the_last_counts():
    soil = Soil((100.0, 900.0, 100.0), (2.0, 0.2))
    wire = lay.wire(length=20.0, radius=0.005, depth=1.5)
    # The second layer begins half a metre below: 2.5 * 0.2 + 0.5 * 0.5.
    assert_allclose(element_size(wire, soil=soil), 0.75)
