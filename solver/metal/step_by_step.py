"""Equations of much metal by the factors of a part of them, and a few steps.

What line elements far from each other do to each other beside the mesh, and what runs induce in
each other, would fill the factors of the whole. So the first is left out of what is factored,
the second added by the formula of Woodbury (1950; from memory), and symmetric gradients without
conjugation make good what is left: six steps or so to 1e-11.
"""

from collections.abc import Callable
from typing import Any

import numpy as np
import numpy.typing as npt
import scipy.sparse as sparse
from scipy.linalg import lu_factor, lu_solve
from scipy.sparse.linalg import splu

from ..errors import ConvergenceError, TrustError
from .internal import Complexes

Numbers = npt.NDArray[Any]  # real or complex
_left = 1e-11  # of the right-hand side
_most_steps = 60
_block = 64  # columns at once


def factored(matrix: sparse.csc_matrix) -> Callable[[Numbers], Numbers]:
    """Exact solution with a matrix; `TrustError` if there is none."""
    try:
        # Ordered as if it were symmetric, pivots fill its factors nine times as much.
        solve: Callable[[Numbers], Numbers] = splu(matrix, permc_spec="COLAMD").solve
    except RuntimeError as error:
        msg = "the equations of the metal have no single solution: impedances cancel"
        raise TrustError(msg) from error
    return solve


class StepByStep:
    """Solutions of the equations of metal.

    Parameters
    ----------
    matrix : csc_matrix, shape (n, n)
        All but induction, symmetric.
    near : csc_matrix, shape (n, n)
        The same with fewer entries where elements act on each other.
    induction : tuple of (csc_matrix, ndarray of complex), or None
        Share of each of r runs in the unknowns, shape (n, r), and what they induce in each
        other, shape (r, r), which is taken off.
    """

    def __init__(
        self,
        matrix: sparse.csc_matrix,
        *,
        near: sparse.csc_matrix,
        induction: tuple[sparse.csc_matrix, Complexes] | None,
    ) -> None:
        self._matrix, self._induction = matrix.tocsr(), induction
        self._factored = factored(near)
        if induction is not None:
            runs, induced = induction
            inside = np.linalg.inv(induced)
            for begin in range(0, runs.shape[1], _block):
                some = runs[:, begin : begin + _block].toarray().astype(complex)
                back = np.asarray(runs.T @ self._factored(some))
                inside[:, begin : begin + _block] -= back
            self._runs: Any = lu_factor(inside)

    def _nearly(self, right: Numbers) -> Numbers:
        """Solution but for what is not near."""
        found = self._factored(right)
        if self._induction is None:
            return found
        runs, _ = self._induction
        voltage: Any = lu_solve(self._runs, np.asarray(runs.T @ found))
        return found + self._factored(np.asarray(runs @ voltage))

    def _times(self, unknowns: Numbers) -> Numbers:
        """The equations applied."""
        found = np.asarray(self._matrix @ unknowns)
        if self._induction is None:
            return found
        runs, induced = self._induction
        return np.asarray(found - runs @ (induced @ (runs.T @ unknowns)))

    def __call__(self, right: Numbers) -> Numbers:
        """Solution; from the first on it holds the laws of Kirchhoff to round-off."""
        size = float(np.linalg.norm(right))
        x = self._nearly(right)
        left = right - self._times(x)
        z = self._nearly(left)
        way, product = z, left @ z
        for _ in range(_most_steps):
            if np.linalg.norm(left) <= _left * size:
                return x
            seen = self._times(way)
            step = product / (way @ seen)
            x = x + step * way
            left = left - step * seen
            z = self._nearly(left)
            before, product = product, left @ z
            way = z + (product / before) * way
        msg = (
            f"the equations of metal with {len(right)} unknowns are not solved in "
            f"{_most_steps} steps; metal that lies in other metal is the usual cause: leave "
            "one out"
        )
        raise ConvergenceError(msg)
