"""Outlines on which a sampled value passes a level."""

import numpy as np
from numpy.testing import assert_allclose
from scipy.spatial import Delaunay

from ohmscape.solver.verdict.outline import closed_outlines, level_segments, on_edge, outermost


def _raster(count):
    axis = np.linspace(-1.0, 1.0, count)
    places = np.stack(np.meshgrid(axis, axis, indexing="ij"), axis=-1).reshape(-1, 2)
    return places, Delaunay(places).simplices


def test_the_outline_of_a_plane_is_exact():
    places, triangles = _raster(7)
    values = 2 * places[:, 0] - places[:, 1]
    segments = level_segments(places, triangles=triangles, values=values, level=0.37)
    ends = segments.reshape(-1, 2)
    assert_allclose(2 * ends[:, 0] - ends[:, 1], 0.37, atol=1e-12)
    # 2 x - y = 0.37 from (-0.315, -1) to (0.685, 1).
    length = np.linalg.norm(segments[:, 1] - segments[:, 0], axis=1).sum()
    assert_allclose(length, np.hypot(1.0, 2.0), rtol=1e-12)


def test_the_outline_of_a_cone_is_a_circle():
    places, triangles = _raster(81)
    values = 1.0 - np.linalg.norm(places, axis=1)
    segments = level_segments(places, triangles=triangles, values=values, level=0.4)
    assert_allclose(np.linalg.norm(segments, axis=2), 0.6, atol=1e-3)
    length = np.linalg.norm(segments[:, 1] - segments[:, 0], axis=1).sum()
    assert_allclose(length, 2 * np.pi * 0.6, rtol=1e-3)


def test_a_level_that_nothing_passes_has_no_outline():
    places, triangles = _raster(5)
    for level in (-9.0, 9.0):
        found = level_segments(places, triangles=triangles, values=places[:, 0], level=level)
        assert found.shape == (0, 2, 2)


def test_places_on_the_border_of_a_rectangle():
    low, high = np.array([-1.0, 0.0]), np.array([1.0, 3.0])
    places = np.array([[0.0, 1.0], [1.0, 1.0], [0.2, 0.0], [0.2, 1e-3]])
    assert on_edge(places, low=low, high=high).tolist() == [False, True, True, False]


def test_the_outlines_of_two_cones_close():
    places, triangles = _raster(81)
    peaks = np.array([[-0.5, 0.1], [0.5, -0.2]])
    gap = np.linalg.norm(places[:, None] - peaks, axis=2).min(axis=1)
    segments = level_segments(places, triangles=triangles, values=-gap, level=-0.3)
    found = closed_outlines(segments)
    assert len(found) == 2
    areas = []
    for outline in found:
        x, y = outline.T
        areas.append(abs(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2)
        centre = peaks[np.linalg.norm(peaks - outline.mean(axis=0), axis=1).argmin()]
        assert_allclose(np.linalg.norm(outline - centre, axis=1), 0.3, atol=2e-3)
    assert_allclose(areas, np.pi * 0.3**2, rtol=0.01)


def test_an_outline_that_the_map_cuts_does_not_close():
    places, triangles = _raster(7)
    values = places[:, 0] + 0.01
    segments = level_segments(places, triangles=triangles, values=values, level=0.0)
    assert len(segments) > 3
    assert closed_outlines(segments) == ()


def test_holes_of_an_outline_are_not_outlines():
    places, triangles = _raster(81)
    values = -np.abs(np.linalg.norm(places, axis=1) - 0.5)
    segments = level_segments(places, triangles=triangles, values=values, level=-0.2)
    found = closed_outlines(segments)
    assert len(found) == 2
    (outer,) = outermost(found)
    assert_allclose(np.linalg.norm(outer, axis=1), 0.7, atol=2e-3)
