"""Shares of layers in an element, and what such an element conducts."""

from types import SimpleNamespace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.spatial import ConvexHull

from ohmscape.solver.conductivity import laminate_conductivity, layer_shares, share_above
from ohmscape.solver.model import Soil

# Equal heights are nudged apart by 1e-5 of the element's height.
NUDGE = 3e-5


def _share(heights, plane):
    return share_above(np.array([heights], dtype=float), plane=plane)[0]


@pytest.mark.parametrize("plane", [0.1, 0.37, 0.5, 0.9])
def test_share_above_of_simple_tetrahedra(plane):
    c = plane
    assert_allclose(_share([0, 0, 0, 1], c), (1 - c) ** 3, atol=NUDGE)
    assert_allclose(_share([1, 0, 1, 1], c), 1 - c**3, atol=NUDGE)
    assert_allclose(_share([0, 1, 1, 0], c), (1 - c) ** 2 * (1 + 2 * c), atol=NUDGE)


def test_share_above_near_the_top_and_the_bottom_vertex():
    # The part cut off at a vertex is a smaller copy: three edges, each cut in proportion.
    z = np.array([-4.0, -2.5, -1.0, 0.5])
    top = (0.5 + 0.2) ** 3 / ((0.5 + 1.0) * (0.5 + 2.5) * (0.5 + 4.0))
    assert_allclose(_share(z, -0.2), top, rtol=1e-12)
    bottom = (-3.0 + 4.0) ** 3 / ((-2.5 + 4.0) * (-1.0 + 4.0) * (0.5 + 4.0))
    assert_allclose(_share(z, -3.0), 1 - bottom, rtol=1e-12)


def test_share_above_of_any_tetrahedron_is_that_of_its_clipped_hull():
    rng = np.random.default_rng(5)
    for corners in rng.normal(size=(20, 4, 3)):
        plane = np.sort(corners[:, 2])[[1, 2]].mean()
        above = corners[corners[:, 2] > plane]
        cuts = [
            a + (plane - a[2]) / (b[2] - a[2]) * (b - a)
            for a in corners
            for b in corners
            if a[2] > plane > b[2]
        ]
        expected = ConvexHull([*above, *cuts]).volume / ConvexHull(corners).volume
        assert_allclose(_share(corners[:, 2], plane), expected, rtol=1e-9)


def test_elements_that_only_touch_a_plane_are_whole():
    assert _share([0, 0, 0, 1], 0.0) == 1.0
    assert _share([0, 0, 0, -1], 0.0) == 0.0
    assert _share([2, 3, 4, 5], 0.0) == 1.0


def test_shares_of_layers_add_up():
    rng = np.random.default_rng(6)
    points = rng.uniform(-5, 0, size=(40, 3))
    mesh = SimpleNamespace(points=points, tetrahedra=np.arange(40).reshape(10, 4))
    shares = layer_shares(mesh, soil=Soil((1.0, 2.0, 3.0), (1.1, 1.7)))
    assert_allclose(shares.sum(axis=0), 1.0, rtol=1e-12)
    assert (shares >= -1e-12).all()
    assert (shares.sum(axis=1) > 0).all()


def test_a_vertex_off_the_plane_by_round_off_does_not_cross_it():
    z = -1.1
    points = np.array([[0, 0, z + 1e-13], [1, 0, z - 1e-13], [0, 1, z], [0, 0, -3.0]])
    mesh = SimpleNamespace(points=points, tetrahedra=np.array([[0, 1, 2, 3]]))
    assert layer_shares(mesh, soil=Soil((1.0, 2.0), (1.1,))).tolist() == [[0.0], [1.0]]


def test_layers_conduct_in_parallel_along_and_in_series_across():
    soil = Soil((100.0, 10.0), (1.0,))
    shares = np.array([[1.0, 0.0, 0.5, 0.2], [0.0, 1.0, 0.5, 0.8]])
    along, across = laminate_conductivity(shares, soil=soil)
    assert_allclose(along, [0.01, 0.1, 0.055, 0.082])
    assert_allclose(across, [0.01, 0.1, 1 / 55, 1 / 28])
    assert (along >= across - 1e-15).all()
