"""Unknowns that flat elements tie strongly together, and how they are solved for.

In a thin layer they stand in columns a few unknowns high. What ties a column is solved with the
couplings to other columns added to the diagonal, in size. That holds it too tightly where it
moves as one: what flat elements couple by across columns cancels there but for little. So
columns as a whole, a number each, are solved for too, with all that is between them.
"""

from collections.abc import Callable

import numpy as np
import scipy.sparse as sparse
from scipy.sparse.csgraph import connected_components
from scipy.sparse.linalg import splu

from ..model import Floats, Integers

_strong = 0.4  # 0.33 saves few iterations and fills the factors threefold, 0.5 is too few
_at_once = 20_000  # rows


def tied_unknowns(matrix: sparse.csr_matrix) -> Integers:
    """Unknowns whose coupling to another is a large share of what holds both.

    Parameters
    ----------
    matrix : csr_matrix, shape (n, n)
        Symmetric positive definite.

    Returns
    -------
    tied : ndarray of int
        Those with an entry of at least 0.4 of the geometric mean of its two diagonal ones.
        In flat elements, and in thin layers of them, they form columns a few unknowns high.
    """
    return np.unique(_strong_pairs(matrix)[0])


def by_columns(
    matrix: sparse.csr_matrix,
) -> tuple[Callable[[Floats], Floats], Callable[[Floats], Floats]]:
    """Corrections that solve together: within columns of tied unknowns, and of each as a whole.

    Parameters
    ----------
    matrix : csr_matrix, shape (n, n)
        Symmetric positive definite, of tied unknowns.
    """
    column = _column_of(matrix)
    count = matrix.shape[0]
    whole = sparse.csr_matrix((np.ones(count), (column, np.arange(count))))
    moved = direct((whole @ matrix @ whole.T).tocsr())

    def of_wholes(residual: Floats) -> Floats:
        return np.asarray(whole.T @ moved(np.asarray(whole @ residual)))

    return direct(columns(matrix)), of_wholes


def columns(matrix: sparse.csr_matrix) -> sparse.csr_matrix:
    """The matrix without couplings between columns of tied unknowns.

    Their size goes to the diagonal, so that the result is above the matrix and a step with it
    never too long.

    Parameters
    ----------
    matrix : csr_matrix, shape (n, n)
        Symmetric positive definite.
    """
    column = _column_of(matrix)
    rows = np.repeat(np.arange(matrix.shape[0]), np.diff(matrix.indptr))
    within = column[rows] == column[matrix.indices]
    held = matrix.copy()
    held.data[~within] = 0.0
    held.eliminate_zeros()
    left = np.bincount(rows[~within], np.abs(matrix.data[~within]), len(column))
    return (held + sparse.diags_array(left)).tocsr()


def _column_of(matrix: sparse.csr_matrix) -> Integers:
    """Number of the column of each unknown."""
    pairs = _strong_pairs(matrix)
    strong = sparse.csr_matrix((np.ones(len(pairs[0])), pairs), shape=matrix.shape)
    return np.asarray(connected_components(strong, directed=False)[1])


def _strong_pairs(matrix: sparse.csr_matrix) -> tuple[Integers, Integers]:
    """Rows and columns of entries that tie two unknowns."""
    scale, count = 1.0 / np.sqrt(matrix.diagonal()), matrix.shape[0]
    found = []
    for first in range(0, count, _at_once):
        ends = matrix.indptr[first : first + _at_once + 1]
        own = slice(ends[0], ends[-1])
        rows = np.repeat(np.arange(first, first + len(ends) - 1), np.diff(ends))
        columns = matrix.indices[own]
        share = np.abs(matrix.data[own]) * scale[rows] * scale[columns]
        strong = (share >= _strong) & (rows != columns)
        found.append((rows[strong], columns[strong]))
    one, other = (np.concatenate(each) for each in zip(*found, strict=True))
    return one, other


def direct(matrix: sparse.csr_matrix) -> Callable[[Floats], Floats]:
    """Exact solution with a symmetric positive definite matrix."""
    if not matrix.shape[0]:
        return np.copy
    factor = splu(
        matrix.tocsc(),
        permc_spec="MMD_AT_PLUS_A",
        diag_pivot_thresh=0.0,
        options={"SymmetricMode": True},
    )
    solve: Callable[[Floats], Floats] = factor.solve
    return solve
