"""Cases with plates, run whole: what is shown and told of them, and what is not worked out."""

import csv
from pathlib import Path

import meshio
import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.loading import load_case_text
from ohmscape.jobs.run import run_case
from ohmscape.jobs.understood import understood
from ohmscape.solver.errors import RoundMetalOnlyError
from ohmscape.solver.metal.network import network_of
from ohmscape.solver.model import same_metal
from ohmscape.solver.results.plausible import field_at_metal
from ohmscape.solver.results.storage import load, save
from ohmscape.solver.thin_wire.wires import cut_into_wires
from ohmscape.viz.plates import as_lines, outline_of, shown_lines
from ohmscape.viz.section.plane import SectionPlane
from ohmscape.viz.section.samples import section_metal
from ohmscape.viz.tables.metal import write_leakage, write_parts
from ohmscape.viz.tables.volumes import conductor_mesh
from ohmscape.viz.terminal.summary import summary

CASE = """
ohmscape: 1
title: An earth plate and a rod
numerics: {accuracy: coarse}
soil: {layers: [{resistivity: 100 ohm*m}]}
electrodes:
  - name: earth
    drive: {current: 10 A}
    parts:
      - {kind: plate, name: earth plate, centre: [0 m, 0 m], size: [1 m, 1 m], depth: 0.6 m}
  - name: tank
    drive: {current: 0 A}
    parts:
      - {kind: tank bottom, name: bottom, centre: [6 m, 0 m], tank_diameter: 2 m}
      - {kind: rod, name: rod, at: [8 m, 0 m], top_depth: 0 m, length: 2 m, diameter: 16 mm}
"""


@pytest.fixture(scope="module")
def case():
    return load_case_text(CASE)


@pytest.fixture(scope="module")
def result(case):
    return run_case(case)


def test_a_plate_of_a_case_has_its_resistance(result):
    # Boundary elements, made without this code: 27.540 alone; a floating tank lowers it little.
    assert_allclose(result.operating.resistance[0, 0].real, 27.540, rtol=0.01)
    assert result.operating.resistance[0, 0].real < 27.56


def test_feet_on_the_tank_are_at_its_voltage(result):
    on = np.array([[6.0, 0.0], [6.7, 0.5], [5.1, 0.1]])
    assert_allclose(result.field.surface_potential(on), result.operating.voltage[1], rtol=1e-9)


def test_a_second_opinion_and_no_voltage_along_metal(result):
    found, estimates = result.agreement, result.accuracy.estimates
    stated = {"resistance_error": estimates[0], "voltage_error": max(estimates)}
    assert found.standing(**stated) == "agree"
    assert_allclose(found.resistance[0], 27.540, rtol=0.01)
    assert found.resistance_difference < 0.003
    assert "panels of plates" in summary(result)
    assert result.one_potential is None
    (check,) = result.order_checks
    assert check.formula == "level round plate of its area"
    assert_allclose(check.formula_resistance, check.field_resistance, rtol=0.05)


def test_check_counts_plates(case):
    text = understood(case)
    assert "earth plate (plate): 1 plate, 1 m² on one side" in text
    assert "2.00 m in 1 straight piece and 2 plate faces, 4.14 m² on one side" in text


def test_tables_give_areas_and_currents_that_add_up(result, tmp_path):
    write_parts(result, tmp_path / "parts.csv")
    write_leakage(result, tmp_path / "leakage.csv")
    parts, leakage = (
        list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))
        for text in map(Path.read_text, (tmp_path / "parts.csv", tmp_path / "leakage.csv"))
    )
    by_name = {row["part"]: row for row in parts}
    assert_allclose(float(by_name["earth plate"]["area [m²]"]), 1.0)
    assert_allclose(float(by_name["earth plate"]["current [A]"]), 10.0, rtol=1e-6)
    assert_allclose(float(by_name["rod"]["length [m]"]), 2.0)
    own = [row for row in leakage if row["part"] == "earth plate"]
    assert_allclose(sum(float(row["current [A]"]) for row in own), 10.0, rtol=1e-6)
    assert_allclose(sum(float(row["area [m²]"]) for row in own), 1.0, rtol=1e-6)
    assert all(row["leakage [A/m]"] == "" for row in own)


def test_mesh_of_the_metal_has_quadrilaterals(result):
    mesh = conductor_mesh(result)
    assert isinstance(mesh, meshio.Mesh)
    assert [block.type for block in mesh.cells] == ["line", "quad"]
    total = sum(values.sum() for values in mesh.cell_data["current [A]"])
    assert_allclose(total, 10.0, atol=1e-5)


def test_plates_are_drawn_by_outline_and_hatching(case, result):
    metal = case.conductors
    own = metal.part == 0
    outline = outline_of(metal.corners[own])
    assert sorted(map(tuple, outline[:, :2].tolist())) == [
        (-0.5, -0.5),
        (-0.5, 0.5),
        (0.5, -0.5),
        (0.5, 0.5),
    ]
    drawn = as_lines(metal)
    assert (~drawn.flat).sum() == 1
    hatch = drawn.start[drawn.flat & (drawn.part == 0)]
    assert len(hatch) == 4 + 9
    assert np.abs(hatch[:, :2]).max() <= 0.5 + 1e-9
    # Per length of its outline, 4 m.
    lines = shown_lines(result)
    assert_allclose(lines.leakage.max(), 10.0 / 4, rtol=1e-6)


def test_mean_field_at_a_plate_is_current_over_both_faces(result):
    assert_allclose(field_at_metal(result)[0], 100.0 * 10.0 / 2.0, rtol=1e-6)


def test_methods_for_round_metal_refuse_plates(case, result):
    with pytest.raises(RoundMetalOnlyError, match="there are plates: 'earth plate', 'bottom'"):
        cut_into_wires(case.conductors, soil=case.soil, longest=1.0, most=100)
    with pytest.raises(RoundMetalOnlyError, match="networks of metal know round metal only"):
        network_of(case.conductors, elements=result.solution.elements)


def test_a_result_with_plates_is_kept_whole(result, tmp_path):
    save(result, tmp_path / "result.npz")
    again = load(tmp_path / "result.npz")
    assert same_metal(again.solution.conductors, result.solution.conductors)
    places = np.array([[0.4, 0.3, -0.5], [6.0, 1.3, 0.0]])
    assert_allclose(again.field.potential(places), result.field.potential(places), rtol=1e-12)


def test_a_section_shows_a_plate_as_the_line_where_it_cuts_it(result):
    across = SectionPlane(
        np.array([0.0, 0.2]), np.array([1.0, 0.0]), -2.0, 9.0, 3.0, "", "", np.array([1.0, 0.2])
    )
    metal = section_metal(result, plane=across)
    inside = metal.lines[metal.inside & (metal.line_group == 0)]
    assert_allclose(np.sort(inside[:, :, 0]), [[-0.5, 0.5]], atol=1e-9)
    assert_allclose(inside[:, :, 1], -0.6)
    tank = metal.lines[metal.inside & (metal.line_group == 1)][0]
    assert_allclose(np.sort(tank[:, 0]), 6 + np.sqrt(1 - 0.04) * np.array([-1, 1]), atol=0.01)
