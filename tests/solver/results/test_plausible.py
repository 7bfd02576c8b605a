"""The field at the metal, by hand for one rod in uniform soil."""

from types import SimpleNamespace

import field_layouts as lay
import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.model import Soil
from ohmscape.solver.results.plausible import BREAKDOWN_FIELD, field_at_metal
from ohmscape.solver.solved_soil import Field
from ohmscape.solver.thin_wire import second_opinion


@pytest.mark.parametrize(("amperes", "can_be"), [(10.0, True), (600.0, False)])
def test_field_at_a_rod_is_that_of_its_mean_leakage(amperes, can_be):
    # 600 A into a rod of 2.4 m in 170 ohm*m: 170 x 250 / (2 pi 0.008) = 846 kV/m.
    solution = second_opinion(lay.rod(length=2.4, radius=0.008), soil=Soil((170.0,)))
    field = Field(solution, np.array([amperes / solution.current_matrix[0, 0]]))
    (found,) = field_at_metal(SimpleNamespace(field=field, solution=solution))
    assert_allclose(found, 170.0 * (amperes / 2.4) / (2 * np.pi * 0.008), rtol=1e-6)
    assert (found < BREAKDOWN_FIELD) == can_be
