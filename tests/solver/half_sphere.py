"""A half sphere of metal in uniform soil by its closed form, as a solved soil."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ohmscape.solver.model import Conductors, Soil
from ohmscape.solver.thin_wire.wires import cut_into_wires


@dataclass(frozen=True)
class Hemisphere:
    """Flush with the surface of uniform soil: φ = V a / r outside, V inside."""

    radius: float
    soil: Soil = Soil((100.0,))  # noqa: RUF009
    resistance_error: float = 0.0

    @cached_property
    def conductors(self):
        return Conductors.bare([0.0, 0.0, 0.0], end=[0.0, 0.0, -self.radius], radius=0.01)

    @cached_property
    def elements(self):
        return cut_into_wires(self.conductors, soil=self.soil, longest=1.0, most=10)

    @property
    def current(self):
        share = self.elements.length / self.elements.length.sum()
        return share[None, :] * self.current_matrix

    @property
    def current_matrix(self):
        return np.array([[2 * np.pi * self.radius / self.soil.resistivity[0]]])

    def potential(self, points, *, voltage):
        r = np.linalg.norm(points, axis=1)
        return voltage[0] * self.radius / np.maximum(r, self.radius)
