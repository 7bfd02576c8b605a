"""Quadrature over tetrahedra that are split into eight, and again."""

import numpy as np
from skfem.quadrature import get_quadrature
from skfem.refdom import RefTet

from ..model import Floats

_order = 5  # the first with weights above zero


def split_quadrature(split: int) -> tuple[Floats, Floats]:
    """Quadrature over the reference element split into eight so many times."""
    local, weights = get_quadrature(RefTet, _order)
    corners = np.array([[[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]]])
    for _ in range(split):
        corners = np.concatenate([_eighths(one) for one in corners])
    origin = corners[:, 0]
    edges = corners[:, 1:] - corners[:, :1]
    places = origin[:, :, None] + np.swapaxes(edges, 1, 2) @ local
    share = np.abs(np.linalg.det(edges))
    return np.concatenate(list(places), axis=1), (share[:, None] * weights).ravel()


def _eighths(corners: Floats) -> Floats:
    """Tetrahedra between corners and middles of edges of one, shape (8, 4, 3)."""
    a, b, c, d = corners
    ab, ac, ad, bc, bd, cd = (
        0.5 * (p + q) for p, q in ((a, b), (a, c), (a, d), (b, c), (b, d), (c, d))
    )
    return np.array(
        [
            [a, ab, ac, ad],
            [ab, b, bc, bd],
            [ac, bc, c, cd],
            [ad, bd, cd, d],
            [ab, ac, ad, bd],
            [ab, ac, bc, bd],
            [ac, ad, bd, cd],
            [ac, bc, bd, cd],
        ]
    )
