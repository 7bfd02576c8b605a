"""Soils of many thin layers are meshed, and solved alike, at every preset."""

import pytest

from ohmscape.cases.loading import load_case_text
from ohmscape.jobs.solving import plan
from ohmscape.meshes import build_mesh
from ohmscape.solver.field.solution import solve
from ohmscape.solver.thin_wire import second_opinion

pytestmark = pytest.mark.slow

LAYERS = ", ".join(
    f"{{resistivity: {value} ohm*m, thickness: 5 cm}}" for value in (3000, 30) * 4 + (3000,)
)
CASE = f"""
ohmscape: 1
title: ten thin layers
soil: {{layers: [{LAYERS}, {{resistivity: 30 ohm*m}}]}}
electrodes:
  - name: rod
    drive: {{current: 10 A}}
    parts: [{{kind: rod, at: [0 m, 0 m], top_depth: 0 m, length: 2.4 m, diameter: 16 mm}}]
study: {{area: {{margin: 4 m, spacing: 1 m}}}}
"""


@pytest.fixture(scope="module")
def opinion():
    case = load_case_text(CASE)
    return second_opinion(case.conductors, soil=case.soil)


@pytest.mark.parametrize(
    ("accuracy", "coarser"), [("coarse", 1.0), ("normal", 1.0), ("normal", 1.5), ("fine", 1.0)]
)
def test_ten_layers_of_five_centimetres_are_solved(accuracy, coarser, opinion):
    case = load_case_text(CASE)
    mesh = build_mesh(plan(case, accuracy=accuracy, coarser=coarser))
    solution = solve(mesh, soil=case.soil, conductors=case.conductors)
    found = float(1 / solution.current_matrix.sum())
    # What the other method states of its own error.
    other = float(1 / opinion.current_matrix.sum())
    assert found == pytest.approx(other, rel=opinion.resistance_error)
