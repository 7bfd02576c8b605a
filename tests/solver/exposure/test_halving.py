"""Triangles cut at the middles of some sides stay a net without gaps and overlaps."""

import numpy as np
import pytest
from scipy.spatial import Delaunay

from ohmscape.solver.exposure.halving import halved, sides_of


def net(seed):
    places = np.random.default_rng(seed).uniform(0, 7.3, (60, 2))
    return places, Delaunay(places).simplices.astype(np.int64)


def areas(places, triangles):
    u, v = (places[triangles[:, k]] - places[triangles[:, 0]] for k in (1, 2))
    return np.abs(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]) / 2


def uses_of_sides(triangles):
    pairs = np.sort(triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    return np.unique(pairs, axis=0, return_counts=True)


@pytest.mark.parametrize("share", [0.02, 0.3, 0.7, 1.0])
def test_cut_triangles_leave_no_gap_and_no_overlap(share):
    places, triangles = net(5)
    sides = sides_of(triangles, count=len(places))
    chosen = sides[np.random.default_rng(2).random(len(sides)) <= share]
    more = np.concatenate([places, places[chosen].mean(axis=1)])
    found = halved(triangles, sides=chosen, places=more)
    # As many more triangles as sides of triangles were cut.
    before, count = uses_of_sides(triangles)
    np.testing.assert_array_equal(before, sides)
    cut = (before[:, None] == chosen).all(axis=2).any(axis=1)
    assert len(found) == len(triangles) + count[cut].sum()
    assert areas(more, found).min() > 0
    np.testing.assert_allclose(areas(more, found).sum(), areas(places, triangles).sum())
    # A net: a side is of two triangles, or of one on the rim, which is as long as it was.
    after, count = uses_of_sides(found)
    rim = [ends[used == 1] for ends, used in ((after, count), uses_of_sides(triangles))]
    length = [np.linalg.norm(np.diff(more[ends], axis=1), axis=2).sum() for ends in rim]
    assert count.max() == 2
    np.testing.assert_allclose(*length)
    # What was cut is a side no more.
    assert not (after[:, None] == chosen).all(axis=2).any()


def test_a_square_left_by_two_cuts_is_cut_along_its_shorter_diagonal():
    places = np.array([[0.0, 0.0], [4.0, 0.0], [0.0, 2.0], [2.0, 0.0], [0.0, 1.0]])
    sides = np.array([[0, 1], [0, 2]])
    found = halved(np.array([[0, 1, 2]]), sides=sides, places=places)
    joined = {tuple(side) for side in uses_of_sides(found)[0].tolist()}
    # From (4, 0) to (0, 1) it is 4.12 m, from (2, 0) to (0, 2) 2.83 m.
    assert (2, 3) in joined
    assert (1, 4) not in joined
