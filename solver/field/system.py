"""The coupled system of soil and metal, solved for given voltages of the metal."""

from collections.abc import Callable

import numpy as np
import scipy.sparse as sparse

from ..model import Floats, Integers
from .elements import LineElements
from .linear import LinearSolution, TwoLevel, conjugate_gradients
from .short_range import ShortRange
from .space import Space


class System:
    """Matrices of the coupled problem, and how they are solved.

    Parameters
    ----------
    soil_matrix : csr_matrix, shape (n, n)
        Stiffness plus open boundary. [S]
    average : csr_matrix, shape (k, n)
        Averages under the balls of source.
    short_range : ShortRange
        Short-range matrix of the m elements.
    piece : ndarray of int, shape (m,)
        That each element belongs to.
    """

    def __init__(
        self,
        soil_matrix: sparse.csr_matrix,
        *,
        average: sparse.csr_matrix,
        short_range: ShortRange,
        piece: Integers,
    ) -> None:
        self.soil_matrix = soil_matrix
        self.average, self._shares = average, short_range.shares
        self.short_range = short_range
        self._inverse = short_range.inverse(piece)

    def element_currents(self, excess: Floats) -> Floats:
        """Current of each element for its voltage above the cloud average. [A]"""
        return self._inverse(excess)

    def averages(self, potential: Floats) -> Floats:
        """Mean potential of the soil under the balls of each element. [V]"""
        return self._shares @ (self.average @ potential)

    def source(self, current: Floats) -> Floats:
        """What currents of the elements feed into each unknown. [A]"""
        return self.average.T @ (self._shares.T @ current)

    def __call__(self, potential: Floats) -> Floats:
        """Apply the coupled operator."""
        drawn = self.element_currents(self.averages(potential))
        return self.soil_matrix @ potential + self.source(drawn)

    def solve(
        self,
        voltage: Floats,
        *,
        preconditioner: Callable[[Floats], Floats],
        fed: Floats | None = None,
    ) -> tuple[LinearSolution, Floats]:
        """Potential and element currents for given voltages of the elements.

        `fed` is current that something else feeds into each unknown. [A]
        """
        right = self.source(self.element_currents(voltage))
        if fed is not None:
            right = right + fed
        solution = conjugate_gradients(right, operator=self, preconditioner=preconditioner)
        return solution, self.element_currents(voltage - self.averages(solution.unknowns))


def preconditioner_of(
    soil_matrix: sparse.csr_matrix,
    *,
    short_range: ShortRange,
    space: Space,
    elements: LineElements,
) -> TwoLevel:
    """Two-level preconditioner of the soil with the metal felt at the elements' midpoints.

    The cloud averages would fill the matrix; their value at the midpoint is as good here.
    """
    conductance = 1.0 / (short_range @ np.ones(len(elements)))
    middle = space.interpolation(elements.middle)
    felt = (middle.T @ sparse.diags_array(np.maximum(conductance, 0.0)) @ middle).tocsr()
    return TwoLevel((soil_matrix + felt).tocsr(), prolongation=space.vertex_prolongation)
