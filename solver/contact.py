r"""Contact resistances in series with electrodes, over any solved soil.

A contact resistance r stands between the metal of one electrode and a face that leaks into the
soil as the metal would without it: with the current I of that electrode the face is at

.. math:: U = V - r I, \qquad I = Y U

and Y is the current matrix of the soil. So the soil per ampere does not know of it, whatever
the layers, while the voltage of the metal does. That is what readings at an electrode show,
and all they show. It is one number of an electrode; a film (`Conductors.contact`) has a place,
and evens out where the current leaves.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from .errors import CaseError
from .model import Conductors, Floats, Phasors, Soil
from .solved_soil import Lines, SolvedSoil, with_metal


@dataclass(frozen=True)
class BehindContact:
    """A solved soil with a contact resistance at each group; itself a `SolvedSoil`."""

    soil_alone: SolvedSoil
    resistance: Floats  # (g,): in series with each group, >= 0 [Ω]

    @property
    def soil(self) -> Soil:
        """Layers."""
        return self.soil_alone.soil

    @property
    def conductors(self) -> Conductors:
        """The pieces of metal."""
        return self.soil_alone.conductors

    @property
    def elements(self) -> Lines:
        """The line elements that the metal leaks from."""
        return self.soil_alone.elements

    @cached_property
    def current(self) -> Floats:
        """Current out of each element with group k at 1 V, the others at 0 V, (g, m). [A/V]"""
        return self._face.T @ self.soil_alone.current

    @cached_property
    def current_matrix(self) -> Floats:
        """Current out of group i with group k at 1 V, symmetric, shape (g, g). [S]"""
        return self.soil_alone.current_matrix @ self._face

    @property
    def resistance_error(self) -> float:
        """Estimated error of a resistance in the soil alone, relative: that of all is less."""
        return self.soil_alone.resistance_error

    def potential(self, points: Floats, *, voltage: Phasors) -> Phasors:
        """Potential of the soil; on metal that reaches the surface its voltage, (n,). [V]

        Parameters
        ----------
        points : ndarray of float, shape (n, 3)
            In the soil or on its surface, z <= 0. [m]
        voltage : ndarray of float or complex, shape (g,)
            Of the metal of each group. [V]

        Raises
        ------
        OhmscapeError
            As the method that solved the soil.
        """
        found = self.soil_alone.potential(points, voltage=self._face @ voltage)
        feet = points[:, 2] == 0
        found[feet] = with_metal(
            found[feet], points=points[feet], conductors=self.conductors, voltage=voltage
        )
        return found

    @cached_property
    def _face(self) -> Floats:
        """Voltage behind the contact of each group with group k at 1 V, (g, g)."""
        matrix = self.soil_alone.current_matrix
        loaded = np.eye(len(matrix)) + self.resistance[:, None] * matrix
        return np.asarray(np.linalg.inv(loaded))


def behind_contact(solved: SolvedSoil, resistance: Sequence[float]) -> SolvedSoil:
    """A solved soil with contact resistances; as it is where there are none.

    Parameters
    ----------
    solved : SolvedSoil
        Of g groups, by whatever method.
    resistance : sequence of float, length g or 0
        In series with each group, >= 0. [Ω]

    Raises
    ------
    CaseError
        If there is not one for each group, or one is below zero or not finite.
    """
    ohms = np.array(resistance, dtype=float)
    if not ohms.any():
        return solved
    groups = solved.conductors.group_names
    if len(ohms) != len(groups) or not (np.isfinite(ohms).all() and (ohms >= 0).all()):
        msg = (
            f"contact resistances {ohms.tolist()} ohm for {len(groups)} electrodes; give each "
            "one of zero or more"
        )
        raise CaseError(msg)
    return BehindContact(solved, ohms)
