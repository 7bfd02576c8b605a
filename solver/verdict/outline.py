"""The outline on which a value sampled on triangles passes a level."""

import numpy as np

from ..model import Flags, Floats, Integers


def level_segments(
    places: Floats, *, triangles: Integers, values: Floats, level: float
) -> Floats:
    """Straight pieces on which a piecewise linear surface has a value, shape (k, 2, 2). [m]

    One in each triangle that the level crosses; values are those at the corners.
    """
    above = values[triangles] >= level
    crossed = above.any(axis=1) & ~above.all(axis=1)
    corners, high = triangles[crossed], above[crossed]
    # The corner that stands alone goes first: its two edges are crossed.
    alone = np.where(high.sum(axis=1) == 1, high.argmax(axis=1), (~high).argmax(axis=1))
    order = (alone[:, None] + np.arange(3)) % 3
    corners = np.take_along_axis(corners, order, axis=1)
    first, others = corners[:, :1], corners[:, 1:]
    gap = values[others] - values[first]
    share = (level - values[first]) / gap
    return np.asarray(
        places[first] + share[:, :, None] * (places[others] - places[first]), dtype=np.float64
    )


def on_edge(places: Floats, *, low: Floats, high: Floats) -> Flags:
    """Whether each place lies on the border of a rectangle, shape (n,)."""
    size = float(np.max(np.subtract(high, low)))
    near = np.minimum(np.abs(places - low), np.abs(places - high)) <= 1e-9 * size
    return np.asarray(near.any(axis=1))
