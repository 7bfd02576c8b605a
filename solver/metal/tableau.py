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
from scipy.sparse.linalg import splu

from ..errors import TrustError
from ..model import Phasors
from .induction import Runs
from .internal import Complexes
from .wired import Wired


class Tableau:
    """The equations of metal, factored.

    Parameters
    ----------
    wired : Wired
        n nodes and b branches.
    induction : tuple of (Runs, ndarray of complex), or None
        Runs, and what they induce in each other [Ω]; None for direct current.
    beside : sparse matrix, shape (m, m)
        Voltage of each line element per current of each, beside the mesh. [Ω]
    """

    def __init__(
        self,
        wired: Wired,
        *,
        induction: tuple[Runs, Complexes] | None,
        beside: sparse.csc_matrix,
    ) -> None:
        direct = induction is None
        self.dtype = np.dtype(float if direct else complex)
        self._sizes = (wired.nodes, beside.shape[0], len(wired.first))
        incidence, leak = wired.incidence, wired.leak
        own = sparse.diags_array(wired.impedance.real if direct else wired.impedance)
        rows: list[list[Any]] = [
            [None, leak, incidence.T, None],
            [leak.T, -beside, None, None],
            [incidence, None, -own, None],
        ]
        if induction is None:
            rows = [row[:3] for row in rows]
        else:
            runs, induced = induction
            rows[2][3] = -runs.of_branch
            rows.append([None, None, -runs.of_branch.T, _inverse(induced)])
        matrix = sparse.csc_matrix(sparse.block_array(rows), dtype=self.dtype)
        self._size = matrix.shape[0]
        try:
            # Ordered as if it were symmetric, pivots fill its factors nine times as much.
            self._solve: Callable[[Phasors], Phasors] = splu(matrix, permc_spec="COLAMD").solve
        except RuntimeError as error:
            msg = (
                "the equations of the metal have no single solution: impedances cancel in them"
            )
            raise TrustError(msg) from error

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
        right: Phasors = np.zeros(self._size, dtype=self.dtype)
        right[:nodes], right[nodes : nodes + elements] = entering, potential
        found = self._solve(right)
        leaks = nodes + elements
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
