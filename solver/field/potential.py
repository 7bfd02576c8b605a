"""The potential anywhere in the soil, for given voltages of the groups."""

from dataclasses import dataclass

import numpy as np

from ..errors import CaseError
from ..model import Floats, Phasors
from ..threads import in_threads
from .near_field import point_matrix
from .solution import Solution

_batch = 10_000  # points evaluated at once, to bound the memory of the near field


@dataclass(frozen=True)
class Field:
    """Potential of a solution under given group voltages.

    Attributes
    ----------
    solution : Solution
        Unit solutions of g groups.
    voltage : ndarray of float or complex, shape (g,)
        Rise of each group over remote earth. [V]
    """

    solution: Solution
    voltage: Phasors

    @property
    def element_current(self) -> Phasors:
        """Current from each line element into the soil, shape (m,). [A]"""
        return self.voltage @ self.solution.current

    @property
    def leakage(self) -> Phasors:
        """Current per length of each line element, shape (m,). [A/m]"""
        return self.element_current / self.solution.elements.length

    def part_current(self) -> Phasors:
        """Current of each part the user named, shape (number of parts,). [A]"""
        conductors = self.solution.conductors
        part = conductors.part[self.solution.elements.piece]
        total = np.zeros(len(conductors.part_names), dtype=self.voltage.dtype)
        np.add.at(total, part, self.element_current)
        return total

    def unknowns(self) -> Phasors:
        """Finite-element unknowns, shape (n,). [V]"""
        return self.voltage @ self.solution.potential

    def potential(self, points: Floats) -> Phasors:
        """Potential to remote earth at points in the soil or on its surface.

        Parameters
        ----------
        points : array_like of float, shape (n, 3)
            Places, z <= 0. [m]

        Returns
        -------
        potential : ndarray of float or complex, shape (n,)
            Inside the metal, the value at its face. [V]

        Raises
        ------
        CaseError
            If a point is above the surface or not a number.
        MeshError
            If a point is outside the mesh.
        """
        points = np.asarray(points, dtype=float).reshape(-1, 3)
        if not np.isfinite(points).all() or (points[:, 2] > 0).any():
            msg = "points must be finite and have z <= 0 (the surface is z = 0, z points up)"
            raise CaseError(msg)
        smooth, current = self.unknowns(), self.element_current
        solution = self.solution

        def of_batch(first: int) -> Phasors:
            batch = points[first : first + _batch]
            value = solution.space.interpolation(batch) @ smooth
            near = point_matrix(batch, elements=solution.elements, soil=solution.soil)
            return np.asarray(value + near @ current)

        parts = in_threads(of_batch, range(0, len(points), _batch))
        return np.concatenate([np.zeros(0), *parts])

    def surface_potential(self, places: Floats) -> Phasors:
        """Potential of the soil surface, for places of shape (n, 2). [V]"""
        places = np.asarray(places, dtype=float).reshape(-1, 2)
        return self.potential(np.column_stack([places, np.zeros(len(places))]))
