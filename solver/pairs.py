"""Pairs of things that are near each other, as flat index arrays."""

import numpy as np
from scipy.spatial import cKDTree

from .model import Floats, Integers


def pairs_within(
    tree: cKDTree, *, centres: Floats, radius: Floats
) -> tuple[Integers, Integers]:
    """Pairs of a centre and a point of the tree within the centre's own radius.

    Parameters
    ----------
    tree : cKDTree
        Search tree over points.
    centres : ndarray of float, shape (n, 3)
        Centres of the balls. [m]
    radius : ndarray of float, shape (n,)
        Radius of each ball. [m]

    Returns
    -------
    centre, point : ndarray of int, shape (m,)
        Ordered by centre.
    """
    found = tree.query_ball_point(centres, radius, return_sorted=True)
    counts = np.array([len(row) for row in found], dtype=np.int64)
    centre = np.repeat(np.arange(len(centres)), counts)
    point = np.concatenate([np.asarray(row, dtype=np.int64) for row in found])
    return centre, point
