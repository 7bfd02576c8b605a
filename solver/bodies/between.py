"""Whether one shape reaches into another, and whether it lies in it.

Exact for all but what is left of two balls above the surface, where they may meet and do not
count as apart. Touching faces are apart, to a micrometre.
"""

from math import inf, isfinite

import numpy as np

from ..arrays import Floats
from .ball import Ball
from .body import Shape
from .crossings import touching
from .shapes import Cylinder, HalfSpace, Prism

_Plan = Prism | Cylinder | HalfSpace


def reaches_into(one: Shape, other: Shape) -> bool:
    """Whether two shapes have more than a face in common."""
    if isinstance(one, Ball) and isinstance(other, Ball):
        apart = np.linalg.norm(np.subtract(one.centre, other.centre))
        return bool(apart < one.radius + other.radius - touching)
    low, high = max(one.top, other.top), min(one.bottom, other.bottom)
    if high - low <= touching:
        return False
    return _plans_meet(_widest(one, low, high), _widest(other, low, high))


def lies_in(inner: Shape, outer: Shape) -> bool:
    """Whether all of one shape is held by another; faces may touch."""
    if inner.top < outer.top - touching or inner.bottom > outer.bottom + touching:
        return False
    if isinstance(outer, Ball):
        return _in_ball(inner, outer)
    return _plan_in(_widest(inner, inner.top, inner.bottom), outer)


def _widest(shape: Shape, low: float, high: float) -> _Plan:
    """The plan of a shape where it is widest between two depths."""
    if not isinstance(shape, Ball):
        return shape
    x, y, depth = shape.centre
    off = float(np.clip(depth, low, high)) - depth
    return Cylinder((x, y), max(np.sqrt(max(shape.radius**2 - off**2, 0.0)), 1e-12), low, high)


def _plans_meet(one: _Plan, other: _Plan) -> bool:
    """Whether two plans share an area."""
    for a, b in ((one, other), (other, one)):
        if isinstance(a, Cylinder):
            return bool(b.beyond(np.array([a.centre]))[0] < a.radius - touching)
        if isinstance(a, Prism) and isinstance(b, HalfSpace):
            return bool(b.beyond(a.corners).min() < -touching)
    if isinstance(one, HalfSpace) and isinstance(other, HalfSpace):
        opposed = float(one.direction @ other.direction) < -1 + 1e-12
        gap = other.beyond(np.array([one.point]))[0]
        return not opposed or bool(gap < -touching)
    assert isinstance(one, Prism)
    assert isinstance(other, Prism)
    # They do where a side of one runs inside the other, or where they are equal.
    return any(
        bool((b.beyond(np.vstack([_along_sides(a, b), _inner(a)])) < -touching).any())
        for a, b in ((one, other), (other, one))
    )


def _plan_in(inner: _Plan, outer: _Plan) -> bool:
    """Whether one plan lies in another."""
    if isinstance(inner, Cylinder):
        centre = np.array([inner.centre])
        return bool(outer.beyond(centre)[0] <= touching - inner.radius)
    if isinstance(inner, HalfSpace):
        if not isinstance(outer, HalfSpace):
            return False
        along = float(inner.direction @ outer.direction) > 1 - 1e-12
        return along and bool(outer.beyond(np.array([inner.point]))[0] <= touching)
    places = inner.corners
    if isinstance(outer, Prism):  # which may be hollow between two corners
        places = np.vstack([places, _along_sides(inner, outer)])
    return bool((outer.beyond(places) <= touching).all())


def _in_ball(inner: Shape, ball: Ball) -> bool:
    """Whether a shape lies in a ball."""
    centre = np.array(ball.centre)
    if isinstance(inner, Ball):
        off = float(np.linalg.norm(inner.centre - centre))
        return off + inner.radius <= ball.radius + touching
    if isinstance(inner, HalfSpace) or not isfinite(inner.bottom):
        return False
    if isinstance(inner, Cylinder):
        farthest = float(np.hypot(*(inner.centre - centre[:2]))) + inner.radius
    else:
        farthest = float(np.linalg.norm(inner.corners - centre[:2], axis=1).max())
    level = max(abs(inner.top - centre[2]), abs(inner.bottom - centre[2]))
    return bool(np.hypot(farthest, level) <= ball.radius + touching)


def _along_sides(one: Prism, other: Prism) -> Floats:
    """Middles of the stretches into which another outline cuts the sides of one. [m]"""
    found = []
    for a, b in zip(one.corners, np.roll(one.corners, -1, axis=0), strict=True):
        cuts = other.wall_candidates(a, end=b)
        stops = np.array([0.0, *np.sort(cuts[(cuts > 0) & (cuts < 1)]), 1.0])
        found.append(a + ((stops[:-1] + stops[1:]) / 2)[:, None] * (b - a))
    return np.vstack(found)


def _inner(prism: Prism) -> Floats:
    """A place well inside an outline, shape (1, 2). [m]"""
    corners = prism.corners
    best, deepest = corners[:1], inf
    # The middle of the widest run of a line that crosses the outline at half its height.
    y = np.unique(corners[:, 1])
    for level in (y[:-1] + y[1:]) / 2:
        low, high = corners[:, 0].min() - 1, corners[:, 0].max() + 1
        start, end = np.array([low, level]), np.array([high, level])
        cuts = np.sort(low + prism.wall_candidates(start, end=end) * (high - low))
        middles = np.column_stack([(cuts[:-1] + cuts[1:]) / 2, np.full(len(cuts) - 1, level)])
        beyond = prism.beyond(middles)
        if beyond.min() < deepest:
            best, deepest = middles[[int(np.argmin(beyond))]], float(beyond.min())
    return best
