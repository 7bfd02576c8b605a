"""Surface over metal that lies shallow, held against methods that share no field code.

Wires that meet are judged by fine thin conductors, whose potential at these places changes
by 0.015 % of the rise at most when each piece is cut into two or three times as many.
"""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.jobs.solving import fineness_of, result_growth
from ohmscape.meshes import build_mesh, mesh_plan
from ohmscape.solver.field.solution import Solution, solve
from ohmscape.solver.model import Conductors, Soil
from ohmscape.solver.solved_soil import Field
from ohmscape.solver.thin_wire import second_opinion

_soil = Soil((100.0,))


def _solved(conductors: Conductors, preset: str, *, soil: Soil = _soil) -> Solution:
    """Solution on the mesh of a preset."""

    def planned(fineness: float):
        return mesh_plan(conductors, soil=soil, fineness=fineness, growth_limit=result_growth)

    mesh = build_mesh(planned(fineness_of(preset, planned=planned)))
    return solve(mesh, soil=soil, conductors=conductors)


def _star(angles, *, arm: float, depth: float, radius: float, rod: float = 0.0) -> Conductors:
    """Arms that leave one place, and a rod under it."""
    angle = np.radians(angles)
    tips = np.column_stack([arm * np.cos(angle), arm * np.sin(angle), np.full(len(angle), 0.0)])
    below = np.array([0.0, 0.0, -depth])
    ends = [*(below + tips), *([below - [0.0, 0.0, rod]] if rod else [])]
    return Conductors.bare([below] * len(ends), end=ends, radius=radius)


_lopsided = (0.0, 83.0, 171.0, 262.0)
_stars = {
    "four arms half a metre deep": _star(_lopsided, arm=15.0, depth=0.5, radius=0.005),
    "a rod under shallow arms": _star(_lopsided, arm=12.7, depth=0.17, radius=0.004, rod=3.0),
    "long arms of a mast": _star(_lopsided, arm=40.0, depth=0.3, radius=0.004),
}
_places = np.array(
    [[0.0, 0.0], [0.11, 0.07], [0.31, -0.17], [-0.53, 0.61], [1.3, 0.4], [-1.9, -0.8]]
)


@pytest.mark.parametrize("preset", ["coarse", "normal"])
@pytest.mark.parametrize("name", _stars)
def test_over_wires_that_meet_the_surface_is_within_half_a_percent_of_the_rise(name, preset):
    conductors = _stars[name]
    truth = Field(second_opinion(conductors, soil=_soil), np.ones(1))
    found = Field(_solved(conductors, preset), np.ones(1)).surface_potential(_places)
    # Elements at the joint as long as those of the mesh: 2.1, 6.7 and 9.4 % when coarse.
    assert_allclose(found, truth.surface_potential(_places), atol=0.005, rtol=0)
