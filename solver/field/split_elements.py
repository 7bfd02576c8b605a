"""Quadrature over elements split the more often the nearer they are to places."""

from functools import cache

import numpy as np
from scipy.spatial import cKDTree
from skfem.quadrature import get_quadrature
from skfem.refdom import RefTet

from ..model import Flags, Floats, Integers

_order = 5  # of the quadrature; the first with weights above zero
# Parts are no wider than this many times their distance from a place.
_wide, _most_splits = 1.2, 3
points_of_part = len(get_quadrature(RefTet, _order)[1])
_whole = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]])
# Corners of the eight parts between corners and middles of edges, by corners of the whole.
_eighths = 0.5 * np.array(
    [
        [np.eye(4)[a] + np.eye(4)[b] for a, b in part]
        for part in (
            ((0, 0), (0, 1), (0, 2), (0, 3)),
            ((0, 1), (1, 1), (1, 2), (1, 3)),
            ((0, 2), (1, 2), (2, 2), (2, 3)),
            ((0, 3), (1, 3), (2, 3), (3, 3)),
            ((0, 1), (0, 2), (0, 3), (1, 3)),
            ((0, 1), (0, 2), (1, 2), (1, 3)),
            ((0, 2), (0, 3), (1, 3), (2, 3)),
            ((0, 2), (1, 2), (1, 3), (2, 3)),
        )
    ]
)
# Of the parts of an element the first that is split once, twice, ...
_first = (8 ** np.arange(_most_splits + 2) - 1) // 7


@cache
def all_parts() -> Floats:
    """Corners in the reference element of all that it may be split into, (585, 4, 3).

    The element itself comes first, then its eight parts, then the eight of each.
    """
    levels = [_whole[None]]
    for _ in range(_most_splits):
        levels.append((_eighths @ levels[-1][:, None]).reshape(-1, 4, 3))
    return np.concatenate(levels)


def stays_whole(gap: Floats, *, width: Floats, radius: Floats) -> Flags:
    """Whether tetrahedra so far from a place, by their middles, need not be split for it."""
    return np.asarray(width <= _wide * np.maximum(gap - 0.5 * radius, 0.2 * radius))


def split_near(corners: Floats, *, places: cKDTree) -> tuple[Integers, Integers]:
    """Parts of tetrahedra, each the smaller the nearer it is to one of some places.

    Parameters
    ----------
    corners : ndarray of float, shape (n, 4, 3)
        Of the tetrahedra. [m]
    places : cKDTree
        The places. [m]

    Returns
    -------
    tetrahedron : ndarray of int, shape (p,)
        That each part is of, in order.
    part : ndarray of int, shape (p,)
        Which of `all_parts` each is.
    """
    whole, there = np.arange(len(corners)), corners
    part = np.zeros(len(corners), dtype=np.int64)
    found = []
    for split in range(_most_splits + 1):
        middle = there.mean(axis=1)
        radius = np.linalg.norm(there - middle[:, None], axis=2).max(axis=1)
        width = np.ptp(there, axis=1).max(axis=1)
        gap = np.asarray(places.query(middle)[0])
        stays = stays_whole(gap, width=width, radius=radius)
        stays |= split == _most_splits
        found.append((whole[stays], part[stays]))
        whole = np.repeat(whole[~stays], len(_eighths))
        number = 8 * (part[~stays, None] - _first[split]) + np.arange(8)
        part = (_first[split + 1] + number).ravel()
        there = (_eighths @ there[~stays, None]).reshape(-1, 4, 3)
    tetrahedron, part = (np.concatenate(each) for each in zip(*found, strict=True))
    order = np.argsort(tetrahedron, kind="stable")
    return tetrahedron[order], part[order]


def split_quadrature(split: int) -> tuple[Floats, Floats]:
    """Points, (3, q), and weights over the reference element split evenly so many times."""
    parts = _whole[None]
    for _ in range(split):
        parts = (_eighths @ parts[:, None]).reshape(-1, 4, 3)
    places, weights = quadrature_of(parts[None])
    return places[0], weights[0]


def parts_at(gap: Floats, *, width: Floats, radius: Floats) -> Floats:
    """Number of parts that tetrahedra have as a whole where they are so near to a place."""
    parts = np.ones(len(gap))
    for _ in range(_most_splits):
        split = ~stays_whole(gap, width=width, radius=radius)
        parts = np.where(split, 8 * parts, parts)
        width, radius = (
            np.where(split, 0.5 * width, width),
            np.where(split, 0.5 * radius, radius),
        )
    return parts


def quadrature_of(parts: Floats) -> tuple[Floats, Floats]:
    """Points in p parts of each of n reference elements, (n, 3, p q), and weights, (n, p q)."""
    count = len(parts)
    local, weights = get_quadrature(RefTet, _order)
    edges = parts[:, :, 1:] - parts[:, :, :1]
    share = np.abs(np.linalg.det(edges))
    places = parts[:, :, 0, :, None] + np.swapaxes(edges, 2, 3) @ local
    return (
        np.swapaxes(places, 1, 2).reshape(count, 3, -1),
        (share[:, :, None] * weights).reshape(count, -1),
    )


@cache
def quadrature_of_parts() -> tuple[Floats, Floats]:
    """Points in each of `all_parts`, (585, 3, q), and their weights, (585, q)."""
    return quadrature_of(all_parts()[:, None])
