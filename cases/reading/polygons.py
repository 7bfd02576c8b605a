"""Plan geometry of outlines: whether they are simple, what is inside, lines clipped to them."""

import numpy as np

from ...solver.exposure.places import inside, nearest_on_segments
from ...solver.model import Flags, Floats


def signed_area(outline: Floats) -> float:
    """Area of a simple polygon, positive when its corners run counter-clockwise. [m²]"""
    x, y = (outline - outline[0]).T
    return float(0.5 * np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


def fault_of_outline(outline: Floats) -> str:
    """What keeps a polygon from being simple, in words; empty when nothing does."""
    a = outline
    b = np.roll(outline, -1, axis=0)
    sides = np.hypot(*(b - a).T)
    size = float(np.ptp(outline, axis=0).max())
    if (sides <= 1e-9 * size).any():
        place = a[int(np.argmin(sides))]
        return f"two corners in a row stand at ({place[0]:g}, {place[1]:g}) m"
    for i in range(len(a) - 1):
        # Sides that are not neighbours must not meet.
        j = np.arange(i + 1, len(a))
        others = j[((j - i) % len(a) > 1) & ((i - j) % len(a) > 1)]
        meets = others[_meet(a[i], b[i], a[others], b[others])]
        if meets.size:
            k = int(meets[0])
            return (
                f"its side {i + 1} from ({a[i][0]:g}, {a[i][1]:g}) m meets its side {k + 1} "
                f"from ({a[k][0]:g}, {a[k][1]:g}) m"
            )
    # Four corners or more that run back over themselves meet a side that is no neighbour;
    # what is left are flat triangles.
    return "it encloses no area" if abs(signed_area(outline)) <= 1e-9 * size**2 else ""


def strictly_inside(points: Floats, *, outline: Floats, margin: float) -> Flags:
    """Whether points stand inside a polygon and farther than `margin` from its sides."""
    return inside(points, outline=outline) & (
        distance_to_sides(points, outline=outline) > margin
    )


def distance_to_sides(points: Floats, *, outline: Floats) -> Floats:
    """Distance from points to the nearest side of a polygon, shape (m,). [m]"""
    ends = np.roll(outline, -1, axis=0)
    nearest = nearest_on_segments(points, start=outline, end=ends)
    return np.asarray(np.linalg.norm(points - nearest, axis=1))


def outline_round(plan: Floats, *, runs: list[Floats]) -> Floats | None:
    """Largest simple polygon of several, if it holds all points; None if there is none."""
    simple = [run for run in runs if not fault_of_outline(run)]
    if not simple:
        return None
    run = max(simple, key=lambda corners: abs(signed_area(corners)))
    # A millimetre: rods on the circle of a ring stand a hair inside or outside it.
    near = distance_to_sides(plan, outline=run) <= 1e-3
    return run if (near | inside(plan, outline=run)).all() else None


def clipped_line(outline: Floats, *, axis: int, at: float) -> Floats:
    """Stretches of a line parallel to an axis that run inside a polygon, shape (k, 2). [m]

    Along x (axis 0) or y (axis 1), `at` its place on the other axis.

    Notes
    -----
    Stretches along a side are left out: the outline itself is metal already.
    """
    a, b = outline, np.roll(outline, -1, axis=0)
    eps = 1e-9 * float(np.ptp(outline, axis=0).max())
    across_a, across_b = a[:, 1 - axis] - at, b[:, 1 - axis] - at
    on_line = np.concatenate([a[np.abs(across_a) <= eps, axis]])
    cuts = (across_a * across_b < 0) & (np.abs(across_a) > eps) & (np.abs(across_b) > eps)
    t = across_a[cuts] / (across_a[cuts] - across_b[cuts])
    crossings = a[cuts, axis] + t * (b[cuts, axis] - a[cuts, axis])
    stops = np.unique(np.concatenate([on_line, crossings]))
    middle = np.empty((max(len(stops) - 1, 0), 2))
    middle[:, axis] = (stops[:-1] + stops[1:]) / 2
    middle[:, 1 - axis] = at
    keep = strictly_inside(middle, outline=outline, margin=eps)
    return _joined(np.column_stack([stops[:-1], stops[1:]])[keep])


def _joined(stretches: Floats) -> Floats:
    """Stretches in order, with those that touch made into one."""
    if not len(stretches):
        return stretches
    breaks = stretches[1:, 0] > stretches[:-1, 1]
    first = np.concatenate([[True], breaks])
    last = np.concatenate([breaks, [True]])
    return np.column_stack([stretches[first, 0], stretches[last, 1]])


def _cross(u: Floats, v: Floats) -> Floats:
    return np.asarray(u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0])


def _meet(a: Floats, b: Floats, c: Floats, d: Floats) -> Flags:
    """Whether the segment a-b meets each of the segments c-d, ends included."""
    r, s = b - a, d - c
    scale = np.hypot(*r) * np.hypot(*s.T)
    eps = 1e-12 * scale
    side = [_cross(r, c - a), _cross(r, d - a), _cross(s, a - c), _cross(s, b - c)]
    proper = (side[0] * side[1] <= 0) & (side[2] * side[3] <= 0)
    parallel = np.abs(_cross(r, s)) <= eps
    # Parallel sides meet only where they lie on one line and their boxes overlap.
    low = np.maximum(np.minimum(a, b), np.minimum(c, d))
    high = np.minimum(np.maximum(a, b), np.maximum(c, d))
    boxes = (low <= high).all(axis=1)
    on_one_line = np.abs(side[0]) <= eps
    return np.where(parallel, on_one_line & boxes, proper)
