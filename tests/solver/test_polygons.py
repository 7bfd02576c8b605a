"""Convex parts of polygons."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from shapely import Polygon

from ohmscape.solver.polygons import convex_parts, signed_area

L = [(0, 0), (2, 0), (2, 1), (1, 1), (1, 2), (0, 2)]
# A comb, a star, a spiral, one with a corner in a straight side, one that turns clockwise.
OUTLINES = {
    "l": L,
    "clockwise": L[::-1],
    "straight corner": [(0, 0), (1, 0), (2, 0), (2, 1), (1, 1), (1, 2), (0, 2), (0, 1)],
    "comb": [(0, 0), (5, 0), (5, 3), (4, 3), (4, 1), (3, 1), (3, 3), (2, 3), (2, 1), (0, 2)],
    "spiral": [(0, 0), (5, 0), (5, 5), (1, 5), (1, 3), (3, 3), (2, 4), (4, 4), (4, 1), (0, 1)],
    "star": [
        (r * np.cos(k * np.pi / 7), r * np.sin(k * np.pi / 7))
        for k, r in enumerate([3.0, 0.9] * 7)
    ],
}


@pytest.mark.parametrize("name", OUTLINES)
def test_parts_are_convex_and_make_up_the_whole(name):
    outline = np.array(OUTLINES[name], dtype=float)
    parts = [Polygon(part) for part in convex_parts(outline)]
    whole = Polygon(outline)
    assert_allclose(sum(part.area for part in parts), whole.area, rtol=1e-12)
    for part in parts:
        assert_allclose(part.convex_hull.area, part.area, rtol=1e-12)
        assert_allclose(part.intersection(whole).area, part.area, rtol=1e-9)
    assert len(parts) <= len(outline) - 2


def test_what_is_convex_stays_whole():
    (part,) = convex_parts(np.array([[0.0, 0.0], [2.0, 0.0], [2.5, 1.0], [1.0, 2.0]]))
    assert len(part) == 4


def test_an_l_is_two_parts_that_turn_left():
    parts = convex_parts(np.array(L, dtype=float))
    assert len(parts) == 2
    assert all(signed_area(part) > 0 for part in parts)
