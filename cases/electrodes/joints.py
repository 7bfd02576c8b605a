"""Pieces split where others of their group join them, so that joints are end points."""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from ...solver.model import Floats, Integers
from .proximity import Approach

JOINT = 1e-6
"""Distance within which axes are joined. Far below any radius, far above round-off. [m]"""


@dataclass(frozen=True)
class Split:
    """Pieces after splitting."""

    start: Floats  # (m, 3): end points [m]
    end: Floats
    origin: Integers  # (m,): piece each one is cut from


def split_at_joints(start: Floats, *, end: Floats, diameter: Floats, near: Approach) -> Split:
    """Pieces cut where the axis of another one meets theirs between their ends.

    `near` are pairs of pieces of one group.

    Notes
    -----
    All pieces of a joint get the same end point to the last digit; end points the user
    gave stay as they are. A cut that would leave a piece shorter than its diameter is
    not made: the metal there is one lump already.
    """
    piece, along, point = _cuts(start, end, near)
    order = np.lexsort((along, piece))
    piece, along, point = piece[order], along[order], point[order]
    length = np.linalg.norm(end - start, axis=1)
    kept = _far_enough(piece, along, diameter=diameter, length=length)
    piece, along, point = piece[kept], along[kept], point[kept]

    point = _shared(np.vstack([start, end]), point)
    # Each piece and each cut in it gives one piece, which starts there.
    origin = np.concatenate([np.arange(len(start)), piece])
    begins = np.concatenate([np.zeros(len(start)), along])
    starts = np.vstack([start, point])
    order = np.lexsort((begins, origin))
    origin, starts = origin[order], starts[order]
    last = np.append(origin[1:] != origin[:-1], True)
    ends = np.where(last[:, None], end[origin], np.roll(starts, -1, axis=0))
    return Split(start=starts, end=ends, origin=origin)


def count_joints(start: Floats, *, end: Floats) -> int:
    """Number of places where two or more end points meet."""
    labels = _clusters(np.vstack([start, end]))
    return int((np.bincount(labels) > 1).sum())


def _cuts(start: Floats, end: Floats, near: Approach) -> tuple[Integers, Floats, Floats]:
    """Pieces to cut, how far along, and at which point."""
    met = near.distance <= JOINT
    i, j = near.first[met], near.second[met]
    s, t = near.along_first[met], near.along_second[met]
    length = np.linalg.norm(end - start, axis=1)
    first_end, second_end = _at_end(s, length[i]), _at_end(t, length[j])
    on_first = start[i] + (s / length[i])[:, None] * (end - start)[i]
    on_first = np.where((s <= JOINT)[:, None], start[i], on_first)
    on_first = np.where((s >= length[i] - JOINT)[:, None], end[i], on_first)
    end_of_second = np.where((t <= JOINT)[:, None], start[j], end[j])
    point = np.where((second_end & ~first_end)[:, None], end_of_second, on_first)
    return (
        np.concatenate([i[~first_end], j[~second_end]]),
        np.concatenate([s[~first_end], t[~second_end]]),
        np.vstack([point[~first_end], point[~second_end]]),
    )


def _at_end(along: Floats, length: Floats) -> "np.typing.NDArray[np.bool_]":
    return np.asarray((along <= JOINT) | (along >= length - JOINT))


def _far_enough(
    piece: Integers, along: Floats, *, diameter: Floats, length: Floats
) -> Integers:
    """Cuts to keep: a diameter or more from both ends and from the cut kept before."""
    inside = (along >= diameter[piece]) & (along <= length[piece] - diameter[piece])
    kept = np.flatnonzero(inside)
    while len(kept) > 1:
        same = piece[kept][1:] == piece[kept][:-1]
        close = same & (np.diff(along[kept]) < diameter[piece[kept][1:]])
        # Only the first of a run of close ones: the next may be far enough once it is gone.
        first = close & ~np.concatenate([[False], close[:-1]])
        if not first.any():
            break
        kept = np.delete(kept, np.flatnonzero(first) + 1)
    return kept


def _shared(fixed: Floats, points: Floats) -> Floats:
    """Points with those of one place made equal, to a fixed one where there is one."""
    if not len(points):
        return points
    everything = np.vstack([fixed, points])
    labels = _clusters(everything)
    _, first = np.unique(labels, return_index=True)
    return np.asarray(everything[first][labels[len(fixed) :]])


def _clusters(points: Floats) -> Integers:
    """Label of the place each point belongs to."""
    pairs = cKDTree(points).query_pairs(JOINT, output_type="ndarray")
    graph = coo_array(
        (np.ones(len(pairs), dtype=np.int8), (pairs[:, 0], pairs[:, 1])),
        shape=(len(points), len(points)),
    )
    return np.asarray(connected_components(graph, directed=False)[1], dtype=np.int64)
