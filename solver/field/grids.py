"""Grids of balls of source over flat metal, and what its patches give them."""

from collections.abc import Callable
from typing import TypeVar

import numpy as np
import scipy.sparse as sparse

from ..model import Floats, Integers
from ..patches import frame, gauss_points, sizes

F = TypeVar("F", float, Floats)
# A patch is as good as balls some gaps away only where these are no smaller than it.
_of_patch = 0.7


def grid_over(
    corners: Floats, *, apart: float, few: Callable[[Floats], Integers]
) -> tuple[Floats, sparse.csr_matrix, float]:
    """Balls over patches of one plane that keep all moments of each up to the third.

    Parameters
    ----------
    corners : ndarray of float, shape (n, 4, 3)
        [m]
    apart : float
        Most that balls may be apart. [m]
    few : callable
        Number of gaps for extents in these.

    Returns
    -------
    place : ndarray of float, shape (k, 3)
        [m]
    shares : csr_matrix, shape (n, k)
        Rows sum to 1.
    gap : float
        What a ball is as wide as. [m]
    """
    origin, axes = frame(corners)
    low = np.min((corners - origin) @ axes.T, axis=(0, 1))
    high = np.max((corners - origin) @ axes.T, axis=(0, 1))
    gaps = few((high - low) / apart)
    step = (high - low) / np.maximum(gaps, 1)
    first = np.where(gaps == 0, 0.5 * (low + high), low)
    places, weights = gauss_points(corners, 2)
    at = (places - origin) @ axes.T
    count = gaps + 1
    # One window of balls for all of a patch.
    scaled = (at - first) / step
    degree = np.minimum(gaps, 3)
    nearest = np.floor(scaled.mean(axis=1)).astype(np.int64) - 1
    nearest = np.clip(nearest, 0, gaps - degree)
    share = np.ones((len(corners), 1))
    column = np.zeros((len(corners), 1), dtype=np.int64)
    values = []
    for axis in (0, 1):
        here = scaled[:, :, axis] - nearest[:, axis, None]
        values.append(np.stack(lagrange(here, degree=int(degree[axis])), axis=-1))
    share = np.einsum("nq,nqa,nqb->nab", weights, *values)
    column = (nearest[:, 0, None] + np.arange(degree[0] + 1))[:, :, None] * count[1]
    column = column + (nearest[:, 1, None] + np.arange(degree[1] + 1))[:, None, :]
    row = np.broadcast_to(np.arange(len(corners))[:, None, None], share.shape)
    matrix = sparse.csr_matrix(
        (share.ravel(), (row.ravel(), column.ravel())), (len(corners), int(count.prod()))
    )
    u, v = (one.ravel() for one in np.indices((int(count[0]), int(count[1]))))
    place = origin + np.outer(first[0] + u * step[0], axes[0])
    place += np.outer(first[1] + v * step[1], axes[1])
    used = np.unique(column)
    gap = max(float(step.max()), _of_patch * float(sizes(corners).max()))
    return place[used], matrix[:, used].tocsr(), gap


def lagrange(at: F, *, degree: int) -> list[F]:
    """Values of the polynomials that are 1 at one of the places 0, 1, … and 0 at the others."""
    nodes = range(degree + 1)
    values = []
    for own in nodes:
        value = 0 * at + 1
        for other in nodes:
            if other != own:
                value *= (at - other) / (own - other)
        values.append(value)
    return values
