"""Pairs of a ball of source and an element or face of the mesh within its reach."""

from collections.abc import Sequence

import numpy as np
from scipy.spatial import cKDTree

from ..model import Floats, Integers
from .clouds import Clouds
from .space import Space

# Elements are split so often that they are no wider than this many times their distance from
# a ball.
_wide, most_splits = 0.8, 3
_batch = 400_000  # pairs of a ball and a point
_cut_of_others = 2.6  # where fields of two media meet, both are little


def pairs_within(
    middle: Floats, *, radius: Floats, places: Floats, reach: Floats
) -> tuple[Integers, Integers, Floats]:
    """Balls and elements of pairs that are within reach, and the distance of their middles.

    Parameters
    ----------
    middle, radius : ndarray of float, shape (m, 3) and (m,)
        Of the elements. [m]
    places, reach : ndarray of float, shape (n, 3) and (n,)
        Of the balls. [m]
    """
    # By size: the far elements are large, and would be candidates of every ball.
    found = []
    size_class = np.floor(np.log2(radius)).astype(int)
    tree = cKDTree(places)
    for one in np.unique(size_class):
        some = np.flatnonzero(size_class == one)
        pairs = tree.sparse_distance_matrix(
            cKDTree(middle[some]),
            float(reach.max() + radius[some].max()),
            output_type="ndarray",
        )
        i, t, gap = pairs["i"], some[pairs["j"]], pairs["v"]
        near = gap < reach[i] + radius[t]
        found.append((i[near], t[near], gap[near]))
    i, t, gap = (np.concatenate(parts) for parts in zip(*found, strict=True))
    return i, t, gap


def near_pairs(
    corners: Floats, *, places: Floats, reach: Floats, points: Sequence[int]
) -> list[tuple[int, Integers, Integers]]:
    """Pairs within reach, by how often the elements are to be split.

    Parameters
    ----------
    corners : ndarray of float, shape (m, c, 3)
        Of elements or faces. [m]
    places, reach : ndarray of float, shape (n, 3) and (n,)
        Of the balls. [m]
    points : sequence of int
        Points of the quadrature over an element split so often in halves of its edges.

    Returns
    -------
    batches : list of (int, ndarray of int, ndarray of int)
        How often, and the balls and elements of pairs. Elements stay whole: balls act on one
        another through all of theirs.
    """
    if not len(corners) or not len(places):
        return []
    middle = corners.mean(axis=1)
    radius = np.linalg.norm(corners - middle[:, None], axis=2).max(axis=1)
    width = np.ptp(corners, axis=1).max(axis=1)
    i, t, gap = pairs_within(middle, radius=radius, places=places, reach=reach)
    off = np.maximum(gap - 0.5 * radius[t], 0.2 * radius[t])
    splits = np.zeros(len(corners), dtype=int)
    np.maximum.at(splits, t, np.ceil(np.log2(width[t] / (_wide * off))).astype(int))
    splits = np.clip(splits, 0, most_splits)
    batches = []
    for split, count in enumerate(points):
        own = np.flatnonzero(splits[t] == split)
        own = own[np.argsort(t[own], kind="stable")]
        edges = np.flatnonzero(np.diff(t[own], prepend=-1))
        number = edges * count // _batch
        for part in np.split(own, edges[np.flatnonzero(np.diff(number)) + 1]):
            if len(part):
                batches.append((split, i[part], t[part]))
    return batches


def with_others(
    ball: Integers, element: Integers, *, space: Space, clouds: Clouds, others: Integers
) -> tuple[Integers, Integers]:
    """Pairs with those of wider balls of other media, where their fields meet."""
    if not len(others) or not len(ball):
        return ball, element
    least = np.full(len(space.centroids), np.inf)
    np.minimum.at(least, element, clouds.spread[ball])
    met = np.unique(element)
    reach = _cut_of_others * clouds.spread[others]
    other, met = near_elements(space, clouds=clouds, balls=others, elements=met, reach=reach)
    wider = clouds.spread[other] >= least[met]
    ball = np.concatenate([ball, other[wider]])
    element = np.concatenate([element, met[wider]])
    order = np.argsort(element, kind="stable")
    return ball[order], element[order]


def near_elements(
    space: Space, *, clouds: Clouds, balls: Integers, elements: Integers, reach: Floats
) -> tuple[Integers, Integers]:
    """Pairs of balls and elements within reach, those of one element together."""
    middle, radius = space.centroids[elements], space.radius[elements]
    i, t, _ = pairs_within(middle, radius=radius, places=clouds.place[balls], reach=reach)
    order = np.lexsort([i, t])
    return balls[i[order]], elements[t[order]]
