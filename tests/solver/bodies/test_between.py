"""Whether shapes reach into one another, and whether one lies in another."""

from math import inf

import numpy as np
import pytest

from ohmscape.solver.bodies import Ball, Cylinder, HalfSpace, Prism, lies_in, reaches_into

CROSS = ((-3, -1), (-1, -1), (-1, -3), (1, -3), (1, -1), (3, -1), (3, 1), (-3, 1))
NOTCHED = ((0, 0), (6, 0), (6, 4), (4, 4), (4, 1), (2, 1), (2, 4), (0, 4))


def box(x, y, width, depth, *, top=0.0, bottom=1.0):
    corners = ((x, y), (x + width, y), (x + width, y + depth), (x, y + depth))
    return Prism(corners, top, bottom)


def _at_random(rng):
    """A shape of about half the size of the room, of any kind."""
    x, y = rng.uniform(-2, 2, size=2)
    top = rng.choice([0.0, rng.uniform(0, 2)])
    bottom = top + rng.uniform(0.3, 2)
    kind = rng.integers(4)
    if kind == 0:
        return Cylinder((x, y), rng.uniform(0.5, 2), top, bottom)
    if kind == 1:
        return Ball((x, y, rng.uniform(0, 2)), rng.uniform(0.5, 2))
    if kind == 2:
        return HalfSpace((x, y), tuple(rng.normal(size=2)), top, bottom)
    angle = np.sort(rng.uniform(0, 2 * np.pi, size=7))
    radius = rng.uniform(0.4, 2, size=7)
    corners = np.column_stack([x + radius * np.cos(angle), y + radius * np.sin(angle)])
    try:
        return Prism(tuple(map(tuple, corners.tolist())), top, bottom)
    except ValueError:  # its middle lies outside, so that the corners cross
        return _at_random(rng)


@pytest.mark.slow
def test_shapes_reach_into_one_another_where_both_hold_a_place():
    rng = np.random.default_rng(11)
    points = rng.uniform([-5, -5, -5], [5, 5, 0], size=(5_000, 3))
    seen = {True: 0, False: 0}
    for _ in range(250):
        one, other = _at_random(rng), _at_random(rng)
        # Well inside both: what they share at their faces alone does not count.
        both = [shape.holds(points) & (shape.distance(points) > 1e-3) for shape in (one, other)]
        met = reaches_into(one, other)
        assert met == reaches_into(other, one)
        seen[met] += 1
        if (both[0] & both[1]).any():
            assert met, (one, other)
        elif met:  # a sliver that no place fell into: a hundred times as many find it
            low = np.maximum(one.bounds()[0], other.bounds()[0])
            high = np.minimum(one.bounds()[1], other.bounds()[1])
            near = rng.uniform(np.maximum(low, -9), np.minimum(high, 9), size=(30_000, 3))
            assert (one.holds(near) & other.holds(near)).any(), (one, other)
    assert min(seen.values()) > 50


@pytest.mark.slow
def test_a_shape_lies_in_another_that_holds_all_of_it():
    rng = np.random.default_rng(12)
    points = rng.uniform([-9, -9, -6], [9, 9, 0], size=(5_000, 3))
    inside = 0
    for _ in range(800):
        one, other = _at_random(rng), _at_random(rng)
        held = points[one.holds(points)]
        within = lies_in(one, other)
        if within:
            inside += 1
            assert other.holds(held).all(), (one, other)
            assert reaches_into(one, other)
        elif len(held) > 100:
            # The part outside may be small, but it is not nothing.
            low, high = (np.clip(side, -9, 9) for side in one.bounds())
            near = rng.uniform(low, high, size=(30_000, 3))
            assert not other.holds(near[one.holds(near)]).all(), (one, other)
    assert inside > 4


@pytest.mark.parametrize(
    ("one", "other", "meet"),
    [
        (box(0, 0, 2, 2), box(2, 0, 2, 2), False),  # side by side
        (box(0, 0, 2, 2), box(0, 0, 2, 2, top=1.0, bottom=3.0), False),  # one above the other
        (box(0, 0, 2, 2), box(0, 0, 2, 2), True),  # the same
        (box(-3, -1, 6, 2), box(-1, -3, 2, 6), True),  # a cross: no corner in the other
        (Prism(NOTCHED, 0, 1), box(2, 1, 2, 3), False),  # fills the notch
        (Prism(NOTCHED, 0, 1), box(1, 1, 4, 3), True),  # reaches over it
        (Prism(CROSS, 0, 1), box(-3, -3, 2, 2), False),
        (Cylinder((0, 0), 1.0, 0, inf), Cylinder((2.0, 0), 1.0, 0, 1), False),
        (Cylinder((0, 0), 1.0, 0, inf), Cylinder((1.9, 0), 1.0, 3, 4), True),
        (HalfSpace((0, 0), (1, 0)), HalfSpace((0, 5), (-2, 0)), False),  # back to back
        (HalfSpace((0, 0), (1, 0)), HalfSpace((0.1, 5), (-2, 0)), True),
        (HalfSpace((0, 0), (1, 0)), HalfSpace((-9, 0), (-1, 0.01)), True),  # somewhere
        (Ball((0, 0, 0.0), 2.0), box(1.5, 0, 2, 2, top=1.5, bottom=2.5), False),
        (Ball((0, 0, 0.0), 2.0), box(1.2, 0, 2, 2, top=1.5, bottom=2.5), True),
    ],
)
def test_touching_is_not_reaching_into(one, other, meet):
    assert reaches_into(one, other) is meet
    assert reaches_into(other, one) is meet


@pytest.mark.parametrize(
    ("inner", "outer", "within"),
    [
        (box(0, 0, 2, 2), box(0, 0, 4, 2), True),  # faces shared
        (box(0, 0, 2, 2, bottom=1.1), box(0, 0, 4, 2), False),
        (box(1, 0, 4, 4), Prism(NOTCHED, 0, 1), False),  # over a notch, all corners held
        (box(0, 0, 6, 1), Prism(NOTCHED, 0, 1), True),
        (box(-1, -1, 2, 2), Ball((0, 0, 0.5), 1.6), True),
        (box(-1, -1, 2, 2), Ball((0, 0, 0.5), 1.4), False),
        (Ball((0, 0, 0.0), 1.0), Cylinder((0, 0), 1.0, 0, 1), True),
        (Ball((0, 0, 0.2), 1.0), Cylinder((0, 0), 1.0, 0, 1), False),
        (HalfSpace((2, 0), (1, 0)), HalfSpace((1, 9), (3, 0)), True),
        (HalfSpace((0, 0), (1, 0)), HalfSpace((1, 9), (3, 0)), False),
        (HalfSpace((2, 0), (1, 0)), box(-50, -50, 100, 100), False),
    ],
)
def test_lying_in_is_of_all(inner, outer, within):
    assert lies_in(inner, outer) is within
