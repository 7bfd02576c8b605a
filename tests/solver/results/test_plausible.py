"""The field at the metal, by hand for one rod in uniform soil."""

from types import SimpleNamespace

import field_layouts as lay
import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.drives import Drive
from ohmscape.solver.model import Soil
from ohmscape.solver.results.plausible import BREAKDOWN_FIELD, bounds_of, field_at_metal
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


LAYOUTS = {
    "wide apart": lay.rods([[0.0, 0.0], [40.0, 3.0]], length=3.0, radius=0.01),
    "deep": lay.rods([[1.0, 2.0]], length=6.0, radius=0.02, top=9.0),
    "fill": lay.encased_rod(length=2.0, radius=0.01, shell_radius=0.2, shell_resistivity=9.0),
}


@pytest.mark.parametrize("soil", [Soil((170.0,)), Soil((40.0, 900.0), (2.2,))])
@pytest.mark.parametrize("name", LAYOUTS)
def test_what_is_known_without_solving_is_never_too_much(name, soil):
    metal = LAYOUTS[name]
    solution = second_opinion(metal, soil=soil)
    bounds = bounds_of(
        metal, soil=soil, drives=[Drive("current", 70.0)], bonds=[], circuit=None
    )
    field = Field(solution, np.array([70.0 / solution.current_matrix[0, 0]]))
    assert 0 < bounds.rise < field.voltage[0]
    found = field_at_metal(SimpleNamespace(field=field, solution=solution))
    assert (bounds.field <= found * (1 + 1e-9)).all()
    # And not idle: in uniform soil a rod has some ten times as much as the half ball round it.
    assert soil.thickness or field.voltage[0] < 40 * bounds.rise
