"""Flat index arrays: pairs of things that are near each other, and items of many parts."""

from itertools import chain

import numpy as np
from scipy.spatial import cKDTree

from .model import Floats, Integers

_centres = 1000  # looked at in one go


def pairs_within(
    tree: cKDTree, *, centres: Floats, radius: Floats
) -> tuple[Integers, Integers]:
    """Pairs of a centre and a point of the tree within the centre's own radius, by centre."""
    counts, points = [np.zeros(0, dtype=np.int64)], [np.zeros(0, dtype=np.int64)]
    for first in range(0, len(centres), _centres):
        some = slice(first, first + _centres)
        # Lists of Python's own integers: five times the memory of what is kept of them.
        found = tree.query_ball_point(centres[some], radius[some], return_sorted=True)
        each = np.fromiter(map(len, found), dtype=np.int64, count=len(found))
        counts.append(each)
        points.append(np.fromiter(chain.from_iterable(found), dtype=np.int64, count=each.sum()))
    centre, _ = numbered(np.concatenate(counts))
    return centre, np.concatenate(points)


def numbered(counts: Integers) -> tuple[Integers, Integers]:
    """Item and number within the item for items of several parts.

    For counts 2, 3: items 0 0 1 1 1, numbers 0 1 0 1 2.
    """
    item = np.repeat(np.arange(len(counts)), counts)
    number = np.arange(len(item)) - np.repeat(np.cumsum(counts) - counts, counts)
    return item, number


def distance_to_segment(points: Floats, *, start: Floats, end: Floats) -> Floats:
    """Distance from each point to its own segment, all shapes (…, 3). [m]"""
    axis, offset = end - start, points - start
    share = np.einsum("...i,...i->...", offset, axis) / np.einsum("...i,...i->...", axis, axis)
    gap = offset - np.clip(share, 0, 1)[..., None] * axis
    return np.asarray(np.sqrt(np.einsum("...i,...i->...", gap, gap)))
