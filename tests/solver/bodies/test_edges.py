"""How steep the field is at edges of bodies: closed forms, limits, and what the edges are."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.bodies import Ball, Cylinder, HalfSpace, Prism
from ohmscape.solver.bodies.edges import edges_of, steepness

NEAR = {"middle": (0.0, 0.0), "far": 50.0}
STEP = Prism(((0, 0), (3, 0), (3, 2), (1.4, 2), (1.4, 1), (0, 1)), 0.0, 1.7)


@pytest.mark.parametrize("contrast", [1.0, -1.0, 0.98, 0.3])
def test_at_a_right_angle_it_is_known_in_closed_form(contrast):
    # sin 2x = 2 sin x cos x
    expected = 2 / np.pi * np.arccos(abs(contrast) / 2)
    assert_allclose(steepness(np.pi / 2, contrast=contrast), expected, rtol=1e-9)
    assert_allclose(steepness(3 * np.pi / 2, contrast=contrast), expected, rtol=1e-9)


def test_nothing_is_steep_in_one_soil_or_at_a_smooth_face():
    assert steepness(np.pi / 2, contrast=0.0) == 1.0
    assert steepness(np.pi, contrast=1.0) == 1.0


@pytest.mark.parametrize("angle", [0.3, 1.0, 2.5])
def test_at_a_wedge_of_metal_it_is_half_a_turn_over_what_is_outside(angle):
    assert_allclose(steepness(angle, contrast=1.0), np.pi / (2 * np.pi - angle), rtol=1e-9)


def test_edges_of_a_step_in_plan():
    edges = edges_of(STEP, **NEAR)
    upright = edges.start[:, 2] != edges.end[:, 2]
    assert upright.sum() == 6  # and six at the bottom; in the surface faces go on
    assert (edges.start[~upright, 2] == -1.7).all()
    inner = np.linalg.norm(edges.start[:, :2] - [1.4, 1.0], axis=1) < 1e-9
    assert_allclose(edges.angle[inner & upright], 3 * np.pi / 2)
    others = upright & ~inner
    assert_allclose(edges.angle[others], np.pi / 2)
    assert_allclose(edges.angle[~upright], np.pi / 2)


def test_distance_from_edges():
    edges = edges_of(STEP, **NEAR)
    points = np.array([[2.0, 1.0, -1.7], [3.0, 2.0, -0.4], [1.5, 0.2, -0.5], [5.0, 2.0, -1.0]])
    # Across the bottom, on an upright edge, beside one, beyond.
    assert_allclose(edges.distance(points), [0.6, 0.0, 0.8062258, 2.0], rtol=1e-6, atol=1e-9)


def test_round_shapes_have_edges_where_they_are_cut():
    low = edges_of(Cylinder((1.0, 2.0), 1.5, 0.4, 1.2), **NEAR)
    assert set(low.start[:, 2].tolist()) == {-0.4, -1.2}
    assert_allclose(np.linalg.norm(low.start[:, :2] - [1.0, 2.0], axis=1), 1.5)
    assert not len(edges_of(Ball((0, 0, 0.0), 2.0), **NEAR).start)  # a half ball and its image
    assert not len(edges_of(Ball((0, 0, 3.0), 2.0), **NEAR).start)
    bowl = edges_of(Ball((0, 0, -1.0), 2.0), **NEAR)
    assert_allclose(bowl.angle, np.pi - 2 * np.pi / 6)
    assert_allclose(np.linalg.norm(bowl.start, axis=1), np.sqrt(3.0))


def test_what_goes_on_for_ever_has_edges_where_it_ends():
    assert not len(edges_of(HalfSpace((2.0, 0.0), (1.0, 0.0)), **NEAR).start)
    bench = edges_of(HalfSpace((2.0, 0.0), (1.0, 0.0), 0.0, 3.0), **NEAR)
    gap = bench.distance(np.array([[2.0, 7.0, -3.0], [0.0, 0.0, -3.0]]))
    assert_allclose(gap, [0, 2], atol=1e-9)
