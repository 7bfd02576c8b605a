"""The coupled system of soil and metal that is not at one potential."""

from collections.abc import Callable

import numpy as np
import scipy.sparse as sparse

from ..metal.tableau import Tableau
from ..model import Floats
from .linear import LinearSolution, Numbers, conjugate_gradients
from .short_range import ShortRange
from .symmetric_gradients import symmetric_gradients, times


class AlongSystem:
    """Matrices of the coupled problem, and how they are solved for currents fed in.

    Parameters
    ----------
    soil_matrix : csr_matrix, shape (n, n)
        Stiffness plus open boundary. [S]
    average : csr_matrix, shape (k, n)
        Averages under the balls of source.
    short_range : ShortRange
        Short-range matrix of the m elements.
    tableau : Tableau
        What the metal answers.
    """

    def __init__(
        self,
        soil_matrix: sparse.csr_matrix,
        *,
        average: sparse.csr_matrix,
        short_range: ShortRange,
        tableau: Tableau,
        nodes: int,
    ) -> None:
        self.soil_matrix, self.short_range = soil_matrix, short_range
        self._average, self._spread = average, average.T.tocsr()
        self._shares, self._given = short_range.shares, short_range.shares.T.tocsr()
        self._tableau, self._silent = tableau, np.zeros(nodes)
        self._direct = tableau.dtype == np.dtype(float)

    def averages(self, potential: Numbers) -> Numbers:
        """Mean potential of the soil under the balls of each element. [V]"""
        return times(self._shares, times(self._average, potential))

    def source(self, current: Numbers) -> Numbers:
        """What currents of the elements feed into each unknown. [A]"""
        return times(self._spread, times(self._given, current))

    def in_soil(self, potential: Numbers) -> Numbers:
        """Current that the soil takes at each unknown. [A]"""
        return times(self.soil_matrix, potential)

    def beside(self, current: Numbers) -> Numbers:
        """Voltage of each element beside the mesh for currents of all. [V]"""
        if self._direct:
            return np.asarray(self.short_range @ current)
        return self.short_range @ current.real + 1j * (self.short_range @ current.imag)

    def __call__(self, potential: Numbers) -> Numbers:
        """Apply the coupled operator."""
        _, drawn, _ = self._tableau(self._silent, self.averages(potential))
        return self.in_soil(potential) - self.source(drawn)

    def solve(
        self, entering: Floats, *, preconditioner: Callable[[Floats], Floats]
    ) -> tuple[LinearSolution, tuple[Numbers, Numbers, Numbers]]:
        """Potential of the soil, and node voltages, leakages and branch currents.

        Parameters
        ----------
        entering : ndarray of float, shape (nodes,)
            Current into each node. [A]
        """
        _, fed, _ = self._tableau(entering, np.zeros(self._shares.shape[0]))
        right = self.source(fed)
        solving = conjugate_gradients if self._direct else symmetric_gradients
        solution = solving(right, operator=self, preconditioner=preconditioner)
        return solution, self._tableau(entering, self.averages(solution.unknowns))
