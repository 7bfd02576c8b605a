"""Outlines in plan: which of several holds points, lines clipped to one."""

import numpy as np

from ...solver.model import Flags, Floats
from ...solver.polygons import distance_to_sides, fault_of_outline, inside, signed_area


def strictly_inside(points: Floats, *, outline: Floats, margin: float) -> Flags:
    """Whether points stand inside a polygon and farther than `margin` from its sides."""
    return inside(points, outline=outline) & (
        distance_to_sides(points, outline=outline) > margin
    )


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
