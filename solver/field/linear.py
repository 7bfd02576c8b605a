"""Conjugate gradients for the coupled system, with a preconditioner of three parts.

One symmetric Gauss–Seidel sweep takes out what varies from unknown to unknown. Unknowns that
a flat element ties strongly together, which a sweep would move one by one and hardly at all,
are solved for at once, or by their columns where they are many (`tied`). The rest is smooth and
left to linear elements: solved directly where they are few, by one cycle of smoothed
aggregation where they are many.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pyamg
import scipy.sparse as sparse
from pyamg.relaxation.relaxation import gauss_seidel
from scipy.sparse.linalg import LinearOperator, cg

from ..errors import ConvergenceError
from ..model import Floats
from .tied import by_columns, direct, tied_unknowns

relative_tolerance = 1e-8
iteration_limit = 500
_solved_directly = 30_000  # linear unknowns; a second and 0.2 GB
# Tied unknowns factorised with all that is between them. In thin layers under a wide electrode
# they form one plate, whose weak couplings along it fill the factors a hundredfold.
_tied_at_once = 10_000
Numbers = npt.NDArray[Any]  # real, or complex where current alternates


@dataclass(frozen=True)
class LinearSolution:
    """Solution of one linear system and how it was reached.

    Attributes
    ----------
    unknowns : ndarray of float or complex
        The solution.
    residual : float
        Norm of the true residual relative to that of the right-hand side.
    iterations : int
        Steps of conjugate gradients.
    """

    unknowns: Numbers
    residual: float
    iterations: int


class TwoLevel:
    """Preconditioner: sweep, solve the tied unknowns, correct on linear elements, and back.

    Parameters
    ----------
    matrix : csr_matrix, shape (n, n)
        Sparse approximation of the operator, symmetric positive definite.
    prolongation : csr_matrix, shape (n, m)
        From the coarse unknowns to the fine ones.

    Attributes
    ----------
    tied : ndarray of int, shape (k,)
        Unknowns with a strong coupling.
    """

    def __init__(self, matrix: sparse.csr_matrix, *, prolongation: sparse.csr_matrix) -> None:
        self.matrix = matrix
        self.prolongation = prolongation
        self.restriction = prolongation.T.tocsr()
        self.tied = tied_unknowns(matrix)
        self._tied_rows = matrix[self.tied].tocsr()
        held = self._tied_rows[:, self.tied].tocsr()
        few = len(self.tied) <= _tied_at_once
        self._tied_solves = (direct(held),) if few else by_columns(held)
        coarse = (self.restriction @ matrix @ prolongation).tocsr()
        few = coarse.shape[0] <= _solved_directly
        self._coarse_solve = direct(coarse) if few else _aggregation(coarse)

    def __call__(self, residual: Floats) -> Floats:
        """Approximate solution of matrix · x = residual."""
        x = np.zeros_like(residual)
        gauss_seidel(self.matrix, x, residual, sweep="forward")
        for solve in self._tied_solves:
            self._correct(x, residual, solve=solve)
        left = self.restriction @ (residual - self.matrix @ x)
        x += self.prolongation @ self._coarse_solve(left)
        for solve in self._tied_solves[::-1]:
            self._correct(x, residual, solve=solve)
        gauss_seidel(self.matrix, x, residual, sweep="backward")
        return x

    def _correct(
        self, x: Floats, residual: Floats, *, solve: Callable[[Floats], Floats]
    ) -> None:
        """Correct x in place where unknowns are tied."""
        if len(self.tied):
            x[self.tied] += solve(residual[self.tied] - self._tied_rows @ x)


def _aggregation(matrix: sparse.csr_matrix) -> Callable[[Floats], Floats]:
    """One cycle of smoothed aggregation."""
    hierarchy = pyamg.smoothed_aggregation_solver(
        matrix, symmetry="symmetric", strength=("symmetric", {"theta": 0.08})
    )
    # In blocks of one number, as the library leaves them, a sweep takes several times longer.
    for level in hierarchy.levels:
        level.A = level.A.tocsr()
    cycle: Callable[[Floats], Floats] = hierarchy.aspreconditioner(cycle="V").matvec
    return cycle


def conjugate_gradients(
    right: Numbers,
    *,
    operator: Callable[[Numbers], Numbers],
    preconditioner: Callable[[Floats], Floats],
) -> LinearSolution:
    """Solution of operator(x) = right, refused unless its true residual is small.

    Parameters
    ----------
    right : ndarray of float, shape (n,)
        Right-hand side.
    operator, preconditioner : callable
        Symmetric positive definite maps of vectors.

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
