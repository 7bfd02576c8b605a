"""The outline on which a value sampled on triangles passes a level."""

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from ..model import Flags, Floats, Integers
from ..polygons import inside


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


def closed_outlines(segments: Floats) -> tuple[Floats, ...]:
    """Segments of shape (k, 2, 2) joined end to end: outlines of shape (n, 2) each. [m]

    Only those that close; the last corner is joined to the first.
    """
    if not len(segments):
        return ()
    ends = segments.reshape(-1, 2)
    # Triangles on both sides of an edge find the same end but for round-off.
    pairs = cKDTree(ends).query_pairs(1e-9 * float(np.ptp(ends)), output_type="ndarray")
    count = len(ends)
    joined = coo_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(count, count))
    label = connected_components(joined, directed=False)[1].reshape(-1, 2)
    left: dict[int, list[int]] = {}
    for one, other in label[label[:, 0] != label[:, 1]].tolist():
        left.setdefault(one, []).append(other)
        left.setdefault(other, []).append(one)
    place = {int(name): ends[row] for row, name in enumerate(label.ravel())}
    found = []
    for first in list(left):
        while left[first]:
            path = _walk(left, first)
            if path[-1] == first:
                found.append(np.array([place[name] for name in path[:-1]]))
    return tuple(found)


def outermost(outlines: tuple[Floats, ...]) -> tuple[Floats, ...]:
    """Those of closed outlines that lie in no other."""
    if not outlines:
        return ()
    first = np.array([one[0] for one in outlines])
    low, high = (np.array([end(one, axis=0) for one in outlines]) for end in (np.min, np.max))
    within = np.all((first[:, None] >= low) & (first[:, None] <= high), axis=2)
    np.fill_diagonal(within, val=False)
    return tuple(
        one
        for one, row in zip(outlines, within, strict=True)
        if not any(inside(one[:1], outline=outlines[k])[0] for k in np.flatnonzero(row))
    )


def _walk(left: dict[int, list[int]], first: int) -> list[int]:
    """Ends met along segments not used yet, back to the first or to where there are none."""
    path = [first]
    while left[path[-1]]:
        here = path[-1]
        there = left[here].pop()
        left[there].remove(here)
        path.append(there)
        if there == first:
            break
    return path


def on_edge(places: Floats, *, low: Floats, high: Floats) -> Flags:
    """Whether each place lies on the border of a rectangle, shape (n,)."""
    size = float(np.max(np.subtract(high, low)))
    near = np.minimum(np.abs(places - low), np.abs(places - high)) <= 1e-9 * size
    return np.asarray(near.any(axis=1))
