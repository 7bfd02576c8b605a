"""The raster of a map and the triangles between its nodes."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.spatial import Delaunay

from ohmscape.solver.exposure.raster import Area, Raster, joined

AREA = Area((-3.7, 1.3), (9.1, 8.9), 0.6)


def _places(halved, others):
    """Nodes, finer near two oblique lines, and places that are no nodes."""
    raster = Raster.of(AREA, halved=halved)
    nodes = np.zeros(raster.shape, dtype=bool)
    nodes[:: 2**halved, :: 2**halved] = True
    share = np.linspace(0, 1, 200)[:, None]
    lines = np.concatenate([[-3, 2] + share * [7, 5], [2, 8.4] + share * [6.9, -7]])
    for level in range(1, halved + 1):
        stride = 2 ** (halved - level)
        some = Raster.of(AREA, halved=level).near(lines, distance=2.5 * AREA.spacing / 2**level)
        nodes[::stride, ::stride] |= some
    places = raster.places(nodes)
    more = np.random.default_rng(5).uniform(AREA.low, AREA.high, (others, 2))
    return raster, np.concatenate([places, more])


def _areas(places, triangles):
    one, two = (places[triangles[:, k]] - places[triangles[:, 0]] for k in (1, 2))
    return 0.5 * np.abs(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0])


@pytest.mark.parametrize("halved", [0, 1, 2])
@pytest.mark.parametrize("others", [0, 40])
def test_triangles_are_those_of_one_search_through_all_places(halved, others):
    raster, places = _places(halved, others)
    found = joined(places, raster=raster, halved=halved)
    # Sheared by a hair, so that squares have one diagonal and not either.
    whole = Delaunay(places @ np.array([[1.0, 0.0], [2.0**-7, 1.0]])).simplices
    whole = whole[_areas(places, whole) > 1e-9]
    assert_allclose(_areas(places, found).sum(), 12.8 * 7.6, rtol=1e-12)
    assert set(map(tuple, np.sort(found, axis=1))) == set(map(tuple, np.sort(whole, axis=1)))


def test_nodes_of_a_raster_are_nodes_of_those_it_is_halved_into():
    # Sides that are no multiple of the spacing.
    area = Area((0.3, -0.7), (10.6, 4.4), 0.9)
    coarse, fine = (Raster.of(area, halved=level) for level in (0, 2))
    on, node = fine.on_nodes(coarse.places(np.ones(coarse.shape, dtype=bool)))
    assert on.all()
    assert (node % 4 == 0).all()


def test_nodes_near_places_are_those_within_the_distance():
    raster = Raster.of(AREA, halved=1)
    places = np.random.default_rng(6).uniform(AREA.low, AREA.high, (7, 2))
    nodes = raster.places(np.ones(raster.shape, dtype=bool))
    gap = np.linalg.norm(nodes[:, None] - places, axis=2).min(axis=1)
    assert (raster.near(places, distance=0.83).ravel() == (gap < 0.83)).all()


def test_a_wider_raster_keeps_the_nodes():
    raster = Raster.of(AREA, halved=2)
    wider = raster.wider(1.0)
    on, _ = wider.on_nodes(raster.places(np.ones(raster.shape, dtype=bool)))
    assert on.all()
    x, y = wider.axes()
    assert x[0] <= AREA.low[0] - 1.0 < x[1]
    assert y[-2] < AREA.high[1] + 1.0 <= y[-1]
