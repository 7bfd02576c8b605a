r"""What metal answers to currents fed in and to the potential of the soil round it.

With node voltages U, leakages I and branch currents i, P half of each end node of an element, D
one where a branch starts and less one where it ends,

.. math:: P^T I + D^T i = J, \qquad P U - C I = A \phi, \qquad D U - Z i - Q e = 0,
          \qquad e = M Q^T i,

with internal impedances Z, and the voltages e that runs of metal, Q, induce in each other by M.
Branch currents are unknowns, so metal may be as good as it likes: with admittances in their
place digits go. It is a tableau (Hachtel, Brayton and Gustavson 1971; from memory), symmetric
but not Hermitian, and factored once.
"""

from collections.abc import Callable
from typing import Any

import numpy as np
import scipy.sparse as sparse

from ..model import Phasors
from .induction import Induction
from .internal import Complexes
from .step_by_step import StepByStep, factored
from .wired import Wired

# Entries of the short-range matrix; more fill the factors of all so that steps cost less.
_directly = 400_000
_near = 1e-3  # of the geometric mean of two diagonal entries; less is left to the steps


class Tableau:
    """The equations of metal, factored.

    Parameters
    ----------
    wired : Wired
        n nodes and b branches.
    induction : Induction or None
        What runs induce in each other; None for direct current.
    beside : sparse matrix, shape (m, m)
        Voltage of each line element per current of each, beside the mesh. [Ω]
    """

    def __init__(
        self,
        wired: Wired,
        *,
        induction: Induction | None,
        beside: sparse.csc_matrix,
    ) -> None:
        direct = induction is None
        self.dtype = np.dtype(float if direct else complex)
        self._sizes = (wired.nodes, beside.shape[0], len(wired.first))
        incidence, leak = wired.incidence, wired.leak
        own = sparse.diags_array(
            wired.impedance.real if induction is None else wired.impedance + induction.own
        )

        def rows(short: sparse.csc_matrix) -> list[list[Any]]:
            return [
                [None, leak, incidence.T],
                [leak.T, -short, None],
                [incidence, None, -own],
            ]

        self._solve: Callable[[Phasors], Phasors]
        self._further = 0  # unknowns: voltages of runs
        if beside.nnz > _directly:
            self._solve = StepByStep(
                self._matrix(rows(beside)),
                near=self._matrix(rows(_mostly_near(beside))),
                induction=None if induction is None else self._placed(induction),
            )
            return
        whole = rows(beside)
        if induction is not None:
            shares, induced = induction.runs.of_branch, induction.mutual
            self._further = len(induced)
            for row, block in zip(whole, (None, None, -shares), strict=True):
                row.append(block)
            whole.append([None, None, -shares.T, _inverse(induced)])
        self._solve = factored(self._matrix(whole))

    def _matrix(self, rows: list[list[Any]]) -> sparse.csc_matrix:
        return sparse.csc_matrix(sparse.block_array(rows), dtype=self.dtype)

    def _placed(self, induction: Induction) -> tuple[sparse.csc_matrix, Complexes]:
        """What the runs share with all unknowns."""
        nodes, elements, _ = self._sizes
        shares = induction.runs.of_branch
        empty = sparse.csr_matrix((nodes + elements, shares.shape[1]))
        return sparse.vstack([empty, shares], format="csc"), induction.mutual

    def __call__(
        self, entering: Phasors, potential: Phasors
    ) -> tuple[Phasors, Phasors, Phasors]:
        """Voltages of nodes, leakages and branch currents.

        Parameters
        ----------
        entering : ndarray, shape (n,)
            Currents into nodes. [A]
        potential : ndarray, shape (m,)
            Mean potential of the soil under the balls of each line element. [V]
        """
        nodes, elements, branches = self._sizes
        leaks = nodes + elements
        right: Phasors = np.zeros(leaks + branches + self._further, dtype=self.dtype)
        right[:nodes], right[nodes:leaks] = entering, potential
        found = self._solve(right)
        return found[:nodes], found[nodes:leaks], found[leaks : leaks + branches]


def _inverse(induced: Complexes) -> sparse.csr_matrix:
    """Inverse of what runs induce in each other, of which some only act on themselves. [S]"""
    diagonal = induced.diagonal()
    coupled = np.count_nonzero(induced, axis=1) > 1
    together, alone = np.flatnonzero(coupled), np.flatnonzero(~coupled)
    block = np.linalg.inv(induced[np.ix_(together, together)])
    row, column = np.meshgrid(together, together, indexing="ij")
    values = np.concatenate([block.ravel(), 1.0 / diagonal[alone]])
    rows, columns = np.append(row.ravel(), alone), np.append(column.ravel(), alone)
    return sparse.csr_matrix((values, (rows, columns)), shape=induced.shape)


def _mostly_near(beside: sparse.csc_matrix) -> sparse.csc_matrix:
    """The short-range matrix with what elements farther away do taken to the diagonal."""
    all_of_it = beside.tocoo()
    scale = 1.0 / np.sqrt(beside.diagonal())
    size = np.abs(all_of_it.data) * scale[all_of_it.row] * scale[all_of_it.col]
    near = size >= _near
    kept = sparse.csc_matrix(
        (all_of_it.data[near], (all_of_it.row[near], all_of_it.col[near])), shape=beside.shape
    )
    moved = np.bincount(all_of_it.row[~near], all_of_it.data[~near], len(scale))
    return sparse.csc_matrix(kept + sparse.diags_array(moved.astype(np.float64)))
