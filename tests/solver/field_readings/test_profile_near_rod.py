"""The three-dimensional field within centimetres of a rod, reconstructed from elements."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.axisymmetric import Cylinder, solve_axisymmetric
from ohmscape.solver.model import Soil
from ohmscape.solver.solved_soil import Field

# Boundary integral of the true metal surface, computed independently [V per A].
EXACT = {
    0.25: 16.1739, 0.5: 12.7603, 1.0: 9.3991, 2.0: 6.2436, 3.0: 4.6324, 5.0: 3.0048,
    10.0: 1.5667, 20.0: 0.7926,
}  # fmt: skip
CLOSE = np.array([0.025, 0.03, 0.04, 0.06, 0.1, 0.16, 0.25])


@pytest.mark.parametrize("azimuth", [0.0, 0.7, 2.1, 4.4])
class TestRodOfThreeMetres:
    def profile(self, solution, distances, azimuth):
        ohms = 1 / solution.current_matrix[0, 0]
        places = np.outer(distances, [np.cos(azimuth), np.sin(azimuth)])
        return Field(solution, np.array([ohms])).surface_potential(places)

    def test_it_is_right_to_one_percent_from_25_cm_on(self, rod_solution, azimuth):
        found = self.profile(rod_solution, list(EXACT), azimuth)
        assert_allclose(found, list(EXACT.values()), rtol=0.01)

    def test_it_is_right_to_one_percent_from_25_mm_on(self, rod_solution, azimuth):
        # Closer than the exact column goes: triangles with the metal's face in the mesh,
        # themselves within 0.15 % of that column.
        rod = solve_axisymmetric(Cylinder(radius=0.008, length=3.0), soil=Soil((100.0,)))
        exact = rod.potential(list(EXACT), current=1.0)
        assert_allclose(exact, list(EXACT.values()), rtol=0.0015)
        found = self.profile(rod_solution, CLOSE, azimuth)
        assert_allclose(found, rod.potential(CLOSE, current=1.0), rtol=0.01)
