"""Conjugate gradients for the coupled system, with a two-level preconditioner.

The coarse level is the space of linear elements, solved by one cycle of smoothed
aggregation; the fine level is one symmetric Gauss–Seidel sweep.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pyamg
import scipy.sparse as sparse
from pyamg.relaxation.relaxation import gauss_seidel
from scipy.sparse.linalg import LinearOperator, cg

from ..errors import ConvergenceError
from .model import Floats

relative_tolerance = 1e-8
iteration_limit = 500


@dataclass(frozen=True)
class LinearSolution:
    """Solution of one linear system and how it was reached.

    Attributes
    ----------
    unknowns : ndarray of float
        The solution.
    residual : float
        Norm of the true residual relative to that of the right-hand side.
    iterations : int
        Steps of conjugate gradients.
    """

    unknowns: Floats
    residual: float
    iterations: int


class TwoLevel:
    """Preconditioner: sweep, correct on linear elements, sweep back.

    Parameters
    ----------
    matrix : csr_matrix, shape (n, n)
        Sparse approximation of the operator, symmetric positive definite.
    prolongation : csr_matrix, shape (n, m)
        From the coarse unknowns to the fine ones.
    """

    def __init__(self, matrix: sparse.csr_matrix, *, prolongation: sparse.csr_matrix) -> None:
        self.matrix = matrix
        self.prolongation = prolongation
        self.restriction = prolongation.T.tocsr()
        coarse = (self.restriction @ matrix @ prolongation).tocsr()
        hierarchy = pyamg.smoothed_aggregation_solver(coarse, symmetry="symmetric")
        self.coarse = hierarchy.aspreconditioner(cycle="V")

    def __call__(self, residual: Floats) -> Floats:
        """Approximate solution of matrix · x = residual."""
        x = np.zeros_like(residual)
        gauss_seidel(self.matrix, x, residual, sweep="forward")
        left = self.restriction @ (residual - self.matrix @ x)
        x += self.prolongation @ (self.coarse @ left)
        gauss_seidel(self.matrix, x, residual, sweep="backward")
        return x


def conjugate_gradients(
    right: Floats,
    *,
    operator: Callable[[Floats], Floats],
    preconditioner: Callable[[Floats], Floats],
) -> LinearSolution:
    """Solution of operator(x) = right, refused unless its true residual is small.

    Parameters
    ----------
    right : ndarray of float, shape (n,)
        Right-hand side.
    operator, preconditioner : callable
        Symmetric positive definite maps of vectors.

    Returns
    -------
    solution : LinearSolution

    Raises
    ------
    ConvergenceError
        If the relative residual is above ten times `relative_tolerance`, or not a number.
    """
    count = 0

    def counted(_: Floats) -> None:
        nonlocal count
        count += 1

    shape = (right.size, right.size)
    x, _status = cg(
        LinearOperator(shape, matvec=operator, dtype=np.float64),
        right,
        rtol=relative_tolerance,
        maxiter=iteration_limit,
        M=LinearOperator(shape, matvec=preconditioner, dtype=np.float64),
        callback=counted,
    )
    residual = float(np.linalg.norm(right - operator(x)) / np.linalg.norm(right))
    limit = 10 * relative_tolerance
    if not residual <= limit:  # also true for NaN
        msg = (
            f"relative residual {residual:.1e} is above {limit:.0e} after {count} iterations "
            f"({right.size} unknowns); extreme layer contrast or flat elements are the usual "
            "cause: try a smaller element size"
        )
        raise ConvergenceError(msg)
    return LinearSolution(unknowns=x, residual=residual, iterations=count)
