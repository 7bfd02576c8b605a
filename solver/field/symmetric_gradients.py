"""Conjugate gradients without conjugation, for complex symmetric systems.

Products of vectors are xᵀy in place of xᴴy (COCG; van der Vorst and Melissen 1990, IEEE Trans.
Magn. 26, 706-708; from memory). Real matrices meet real and imaginary parts one after the
other: sparse ones would be made complex for each product, and two columns at once take longer.
"""

from collections.abc import Callable
from typing import Any

import numpy as np
import scipy.sparse as sparse
from scipy.sparse.linalg import LinearOperator, gmres

from ..errors import ConvergenceError
from ..model import Floats
from .linear import LinearSolution, Numbers, iteration_limit, relative_tolerance

_restart, _restarts = 60, 8  # of what comes after where the short recurrence breaks down


def times(matrix: sparse.csr_matrix, vector: Numbers) -> Numbers:
    """A real matrix times a vector, real or complex."""
    if not np.iscomplexobj(vector):
        return np.asarray(matrix @ vector)
    found = np.empty(matrix.shape[0], dtype=complex)
    found.real = matrix @ np.ascontiguousarray(vector.real)
    found.imag = matrix @ np.ascontiguousarray(vector.imag)
    return found


def symmetric_gradients(
    right: Numbers,
    *,
    operator: Callable[[Numbers], Numbers],
    preconditioner: Callable[[Floats], Floats],
) -> LinearSolution:
    """Solution of operator(x) = right, refused unless its true residual is small.

    Parameters
    ----------
    right : ndarray of complex, shape (n,)
        Right-hand side.
    operator : callable
        Complex symmetric.
    preconditioner : callable
        Real, symmetric and positive definite.

    Raises
    ------
    ConvergenceError
        If the relative residual is above ten times the tolerance, or not a number.
    """

    def near(residual: Numbers) -> Numbers:
        found = np.empty_like(residual)
        found.real = preconditioner(np.ascontiguousarray(residual.real))
        found.imag = preconditioner(np.ascontiguousarray(residual.imag))
        return found

    size = float(np.linalg.norm(right))
    x, count = _short_recurrence(right, operator=operator, near=near, size=size)
    residual = float(np.linalg.norm(right - operator(x))) / size
    limit = 10 * relative_tolerance
    if not residual <= limit:
        shape = (right.size, right.size)
        # The types of scipy know of real operators only.
        whole: Any = LinearOperator(shape, matvec=operator, dtype=complex)
        inverse: Any = LinearOperator(shape, matvec=near, dtype=complex)
        x, _ = gmres(
            whole,
            right,
            rtol=relative_tolerance,
            restart=_restart,
            maxiter=_restarts,
            M=inverse,
        )
        residual = float(np.linalg.norm(right - operator(x))) / size
    if not residual <= limit:  # also true for NaN
        msg = (
            f"relative residual {residual:.1e} of alternating current is above {limit:.0e} "
            f"({right.size} unknowns); extreme contrast of layers or flat elements are the "
            "usual cause: try a smaller element size"
        )
        raise ConvergenceError(msg)
    return LinearSolution(unknowns=x, residual=residual, iterations=count)


def _short_recurrence(
    right: Numbers,
    *,
    operator: Callable[[Numbers], Numbers],
    near: Callable[[Numbers], Numbers],
    size: float,
) -> tuple[Numbers, int]:
    """What the recurrence reaches, and its steps; it ends where it breaks down."""
    x, left = np.zeros_like(right), right.copy()
    z = near(left)
    way, product = z, left @ z
    for count in range(1, iteration_limit + 1):
        seen = operator(way)
        along = way @ seen
        if along == 0 or product == 0:
            return x, count
        step = product / along
        x += step * way
        left -= step * seen
        if not np.linalg.norm(left) > relative_tolerance * size:
            return x, count
        z = near(left)
        before, product = product, left @ z
        way = z + (product / before) * way
    return x, iteration_limit
