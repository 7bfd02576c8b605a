"""Triangles cut at the middles of some of their sides, without gaps between neighbours."""

import numpy as np

from ..model import Flags, Floats, Integers


def sides_of(triangles: Integers, *, count: int) -> Integers:
    """Sides of triangles between `count` places, each once, lower number first, (k, 2)."""
    keys = np.unique(_keys(triangles, count=count))
    return np.column_stack(np.divmod(keys, count))


def halved(triangles: Integers, *, sides: Integers, places: Floats) -> Integers:
    """Triangles with a corner in the middle of each of some sides.

    Parameters
    ----------
    triangles : ndarray of int, shape (m, 3)
    sides : ndarray of int, shape (k, 2)
        As `sides_of` has them.
    places : ndarray of float, shape (n, 2)
        The middles of the sides stand last, in their order. [m]

    Returns
    -------
    triangles : ndarray of int, shape (more, 3)
    """
    count = len(places)
    middle = _middles(triangles, sides=sides, count=count)
    cut = (middle >= 0).sum(axis=1)
    found = [triangles[cut == 0]]
    # The side that is cut alone goes first, and the one that is not cut alone last.
    (a, b, c), (ab, _, _) = _turned(triangles, middle, cut == 1, first=middle >= 0)
    found += [np.column_stack(each) for each in ((a, ab, c), (ab, b, c))]
    whole = np.roll(middle < 0, 1, axis=1)
    (a, b, c), (ab, bc, _) = _turned(triangles, middle, cut == 2, first=whole)
    ways = np.linalg.norm([places[a] - places[bc], places[ab] - places[c]], axis=2)
    short = np.where(ways[0] < ways[1], (a, bc), (ab, c))
    found += [
        np.column_stack(each) for each in ((ab, b, bc), (a, ab, short[1]), (short[0], bc, c))
    ]
    (a, b, c), (ab, bc, ca) = triangles[cut == 3].T, middle[cut == 3].T
    found += [
        np.column_stack(each) for each in ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca))
    ]
    return np.concatenate(found)


def _keys(triangles: Integers, *, count: int) -> Integers:
    """One number for each side of each triangle, both ways the same, shape (m, 3)."""
    following = np.roll(triangles, -1, axis=1)
    low, high = np.minimum(triangles, following), np.maximum(triangles, following)
    return np.asarray(low * count + high)


def _middles(triangles: Integers, *, sides: Integers, count: int) -> Integers:
    """Place in the middle of each side of each triangle, below 0 where not cut, (m, 3)."""
    known = sides[:, 0] * count + sides[:, 1]
    order = np.argsort(known)
    keys = _keys(triangles, count=count)
    at = order[np.minimum(np.searchsorted(known, keys, sorter=order), len(known) - 1)]
    return np.where(known[at] == keys, count - len(sides) + at, -1)


def _turned(
    triangles: Integers, middle: Integers, rows: Flags, *, first: Flags
) -> tuple[Integers, Integers]:
    """Corners and middles, shape (3, k), of some triangles turned so that a side goes first."""
    turn = (first[rows].argmax(axis=1)[:, None] + np.arange(3)) % 3
    corners, middles = (
        np.take_along_axis(each[rows], turn, axis=1).T for each in (triangles, middle)
    )
    return corners, middles
