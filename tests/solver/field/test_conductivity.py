"""Shares of layers in an element, and what such an element conducts."""

from types import SimpleNamespace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.spatial import ConvexHull

from ohmscape.solver.field.conductivity import (
    layered_elements,
    linear_moments,
    moments_above,
)
from ohmscape.solver.model import Soil


def _share(heights, plane):
    return moments_above(np.array([heights], dtype=float), plane=plane)[0].sum()


@pytest.mark.parametrize("plane", [0.1, 0.37, 0.5, 0.9])
def test_share_above_of_simple_tetrahedra(plane):
    c = plane
    assert_allclose(_share([0, 0, 0, 1], c), (1 - c) ** 3, rtol=1e-12)
    assert_allclose(_share([1, 0, 1, 1], c), 1 - c**3, rtol=1e-12)
    assert_allclose(_share([0, 1, 1, 0], c), (1 - c) ** 2 * (1 + 2 * c), rtol=1e-12)


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


def test_moments_are_those_of_points_spread_over_the_element():
    rng = np.random.default_rng(8)
    heights = rng.normal(size=(9, 4))
    weights = rng.dirichlet(np.ones(4), size=400_000)
    for plane in (-0.4, 0.1, 0.6):
        for z, moments in zip(heights, moments_above(heights, plane=plane), strict=True):
            above = weights[weights @ z > plane]
            sampled = above.T @ above / len(weights)
            assert_allclose(moments, sampled, atol=6e-4)  # three deviations of the sampling


def test_moments_are_the_same_in_whatever_order_the_vertices_come():
    rng = np.random.default_rng(9)
    z = rng.normal(size=(1, 4))
    for order in ([1, 0, 3, 2], [3, 2, 1, 0], [2, 3, 0, 1]):
        turned = moments_above(z[:, order], plane=0.05)[0]
        straight = moments_above(z, plane=0.05)[0]
        assert_allclose(turned, straight[np.ix_(order, order)], atol=1e-14)


def _elements(points, soil):
    count = len(points) // 4
    mesh = SimpleNamespace(
        points=np.array(points), tetrahedra=np.arange(4 * count).reshape(count, 4)
    )
    return layered_elements(mesh, soil=soil)


def test_layers_conduct_in_parallel_along_and_in_series_across():
    # Half of the volume of a tetrahedron with two edges level lies above its middle.
    points = [[0, 0, 0], [1, 0, 0], [0, 1, -2], [1, 1, -2.0]]
    found = _elements(points, Soil((100.0, 10.0), (1.0,)))
    assert_allclose(found.horizontal, 0.055, rtol=1e-12)
    assert_allclose(found.vertical, 1 / 55, rtol=1e-12)
    assert found.crossing.tolist() == [0]
    assert not found.pure[0]


def test_elements_in_one_layer_have_its_conductivity():
    shallow, deep = np.random.default_rng(6).uniform(-1, 0, size=(2, 4, 3))
    found = _elements([*shallow, *(deep - [0, 0, 1.5])], Soil((1.0, 2.0, 4.0), (1.1, 0.3)))
    assert_allclose(found.horizontal, [1.0, 0.25])
    assert_allclose(found.vertical, [1.0, 0.25])
    assert found.pure.all()


def test_three_layers_in_one_element_add_up():
    points = [[0, 0, 0], [1, 0, -1], [0, 1, -2], [1, 1, -3.0]]
    same = _elements(points, Soil((5.0, 5.0, 5.0), (1.1, 0.7)))
    assert_allclose(same.horizontal, 0.2, rtol=1e-12)
    assert_allclose(same.vertical, 0.2, rtol=1e-12)
    assert_allclose(same.moments[0], 0.2 * linear_moments, rtol=1e-12)
    shares = [_share([0, -1, -2, -3], plane) for plane in (-1.1, -1.8)]
    mixed = _elements(points, Soil((1.0, 2.0, 4.0), (1.1, 0.7)))
    parts = np.diff([0.0, *shares, 1.0])
    assert_allclose(mixed.horizontal, parts @ [1.0, 0.5, 0.25], rtol=1e-12)
    assert_allclose(mixed.vertical, 1 / (parts @ [1.0, 2.0, 4.0]), rtol=1e-12)


def test_a_vertex_off_the_plane_by_round_off_does_not_cross_it():
    z = -1.1
    points = [[0, 0, z + 1e-13], [1, 0, z - 1e-13], [0, 1, z], [0, 0, -3.0]]
    found = _elements(points, Soil((1.0, 2.0), (1.1,)))
    assert len(found.crossing) == 0
    assert found.horizontal.tolist() == [0.5]
