"""What runs, files and pictures make of soil that conducts otherwise upright than sideways."""

import meshio
import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.loading import case_file, case_from, load_case, load_case_text
from ohmscape.jobs.field_readings import compare_case
from ohmscape.jobs.run import run_case
from ohmscape.jobs.uncertainty import uncertainty_of_case
from ohmscape.meshes import save_mesh
from ohmscape.solver.distances.wide import WideField
from ohmscape.solver.drives import Drive, operating_point
from ohmscape.solver.errors import CaseError, LayersOnlyError
from ohmscape.solver.field_readings import point_to_point
from ohmscape.solver.handbook.order_check import order_checks
from ohmscape.solver.model import Soil
from ohmscape.solver.results.plausible import field_at_metal
from ohmscape.solver.results.storage import load, save
from ohmscape.solver.soil_survey.layers import SoilBatch
from ohmscape.solver.thin_wire import second_opinion
from ohmscape.solver.uncertainty.draw import Draw
from ohmscape.solver.verdict import Ground
from ohmscape.viz.section.deciding import power_density
from ohmscape.viz.tables.volumes import linear_gradient, soil_mesh
from ohmscape.viz.terminal.summary import summary

HORIZONTAL, VERTICAL, DEPTH, AMPERES = 60.0, 540.0, 2.0, 20.0
SHORT = """
ohmscape: 1
title: A short wire in beds
soil:
  layers:
    - {resistivity: 60 ohm*m, vertical_resistivity: 540 ohm*m}
electrodes:
  - name: wire
    drive: {current: 20 A}
    parts:
      - kind: conductor
        name: short
        points: [[-0.2 m, 0 m], [0.2 m, 0 m]]
        depth: 2 m
        diameter: 8 mm
study:
  area: {margin: 6 m}
  profiles:
    - {name: deep, start: [3 m, 0 m], end: [9 m, 0 m], depth: 5 m}
"""


def potential(points):
    """Of a point source in an anisotropic half-space (Maillet 1947, from memory)."""
    total = 0.0
    for z in (-DEPTH, DEPTH):
        square = HORIZONTAL * (points[:, :2] ** 2).sum(axis=1)
        square += VERTICAL * (points[:, 2] - z) ** 2
        total += AMPERES * HORIZONTAL * np.sqrt(VERTICAL) / (4 * np.pi * np.sqrt(square))
    return total


def gradient(points, step=1e-4):
    """Of the same, by central differences."""
    moves = step * np.eye(3)
    return np.stack(
        [(potential(points + move) - potential(points - move)) / (2 * step) for move in moves],
        axis=1,
    )


@pytest.fixture(scope="module")
def short():
    return run_case(load_case_text(SHORT))


@pytest.fixture(scope="module")
def shipped():
    return run_case(load_case("switch-pole-on-varved-clay"), accuracy="coarse")


def test_profiles_at_depth_are_where_they_say(short):
    profile = short.profiles[0]
    assert_allclose(profile.points[:, 2], -5.0)
    assert_allclose(profile.potential, potential(profile.points), rtol=0.01)


def test_current_of_the_volumes_is_that_of_both_resistivities(short):
    mesh = soil_mesh(short)
    cells = mesh.points[mesh.cells[0].data]
    places = cells.mean(axis=1)
    size = np.ptp(cells, axis=1).max(axis=1)
    away = np.linalg.norm(places - [0.0, 0.0, -DEPTH], axis=1)
    some = (away > 1.5) & (size < 0.35 * away) & (places[:, 2] < -0.5) & (away < 12.0)
    assert some.sum() > 100
    volts = potential(cells[some].reshape(-1, 3)).reshape(-1, 4)
    exact = -linear_gradient(cells[some], volts) / [HORIZONTAL, HORIZONTAL, VERTICAL]
    found = mesh.cell_data["current density [A/m2]"][0][some]
    off = np.linalg.norm(found - exact, axis=1) / np.linalg.norm(exact, axis=1)
    assert np.median(off) < 0.02
    assert_allclose(mesh.cell_data["vertical resistivity [ohm m]"][0], VERTICAL)


def test_power_is_that_of_both_resistivities(short):
    places = np.array([(3.0, 0.0, -2.0), (0.0, 1.0, -4.0), (2.0, 2.0, -0.5), (0.0, 0.0, -5.0)])
    flow = gradient(places) ** 2 / [HORIZONTAL, HORIZONTAL, VERTICAL]
    fed = AMPERES * float(np.real(short.operating.voltage[0]))
    assert_allclose(power_density(short, places), flow.sum(axis=1) / fed, rtol=0.05)


def test_beyond_the_mesh_it_is_the_same_point(short):
    wide = WideField(short.field)
    places = np.array([(500.0, 100.0, 0.0), (5.0, 0.0, -300.0), (3e3, 0.0, -1e3)])
    assert_allclose(wide.potential(places), potential(places), rtol=0.005)
    # Where it takes currents as points, it goes on from the field.
    near = np.array([(0.0, 4.0, -6.0), (5.0, 0.0, -2.0)])
    assert_allclose(wide.potential(near), potential(near), rtol=0.01)


def test_field_at_level_metal_is_the_mean_over_its_face(short):
    # ρ i / (2 π a) with the root of both: current leaves evenly, through 60 to 540 Ω·m.
    leaking = AMPERES / 0.4
    exact = np.sqrt(HORIZONTAL * VERTICAL) * leaking / (2 * np.pi * 0.004)
    assert_allclose(field_at_metal(short), exact, rtol=1e-6)


def test_results_are_read_again_as_they_were(short, tmp_path):
    again = load(save(short, tmp_path / "result.npz"))
    assert again.solution.soil == short.solution.soil
    places = np.array([(1.0, 2.0, 0.0), (2.0, 0.0, -3.0)])
    assert_allclose(again.field.potential(places), short.field.potential(places), rtol=1e-12)
    assert_allclose(
        again.solution.elements.start, short.solution.elements.start, rtol=1e-12, atol=1e-12
    )


def test_a_saved_mesh_lies_where_the_soil_is(shipped, tmp_path):
    path = save_mesh(shipped.solution.mesh, tmp_path / "soil.vtu", soil=shipped.solution.soil)
    mesh = meshio.read(path)
    layer = mesh.cell_data["layer"][0]
    ends = mesh.points[mesh.cells[0].data][:, :, 2]
    near = np.abs(mesh.points[mesh.cells[0].data][:, :, :2]).max(axis=(1, 2)) < 3.0
    assert ends[near & (layer == 2)].max() <= -0.4 + 1e-9
    assert ends[near & (layer == 1)].min() >= -0.4 - 1e-9
    assert set(layer[near].tolist()) == {1, 2}
    # The hemisphere of the twin is flatter by λ.
    deepest = -mesh.points[:, 2].min()
    assert_allclose(
        deepest, 0.4 + (shipped.solution.mesh.outer_radius - 0.4) / np.sqrt(110 / 36), rtol=0.01
    )


def test_metal_of_a_run_is_real_metal(shipped):
    elements = shipped.solution.elements
    assert_allclose(elements.length.sum(), 18.0, rtol=1e-9)
    assert_allclose(shipped.field.leakage @ elements.length, 45.0, rtol=1e-9)
    assert_allclose(min(elements.start[:, 2].min(), elements.end[:, 2].min()), -3.6)
    assert set(np.round(elements.radius, 6).tolist()) == {0.0045, 0.008}
    assert shipped.agreement is not None
    assert shipped.agreement.resistance_difference < 0.01
    assert "vertically 110 Ω·m" in summary(shipped)


def test_shares_of_the_shipped_case_add_up(shipped):
    assert_allclose(shipped.soil_shares.layers.sum(), 1.0, atol=0.005)


def test_feet_stand_on_the_root_of_both():
    bedded = Soil((40.0,), vertical_resistivity=(360.0,))
    assert Ground(bedded).standings == Ground(Soil((120.0,))).standings
    # A thin top counts as thick as its twin is.
    top = Soil((300.0, 40.0), (0.1,), vertical_resistivity=(1200.0, 40.0))
    assert Ground(top).standings == Ground(Soil((600.0, 40.0), (0.2,))).standings


def test_pins_on_the_surface_see_the_twin():
    # The paradox of anisotropy: even soil of the root of both, and layers λ times as thick.
    bedded = Soil((60.0, 20.0), (3.0,), vertical_resistivity=(540.0, 80.0))
    seen = Soil((180.0, 40.0), (9.0,))
    pins = (0.0, 0.0, 0.0), (7.0, 0.0, 0.0)
    assert_allclose(point_to_point(*pins, soil=bedded), point_to_point(*pins, soil=seen))
    with pytest.raises(LayersOnlyError, match="leads alike in all directions"):
        SoilBatch.of(bedded)


def test_the_handbook_formula_of_a_rod_is_that_of_the_twin():
    case = load_case("driven-rod")
    soil = Soil((100.0,), vertical_resistivity=(400.0,))
    opinion = second_opinion(case.conductors, soil=soil)
    point = operating_point(opinion.current_matrix, drives=[Drive("current", 1.0)])
    (check,) = order_checks(case.conductors, soil=soil, operating=point)
    assert "stretched" in check.formula
    # Of an even current: a few percent above one potential.
    assert_allclose(check.formula_resistance, check.field_resistance, rtol=0.05)
    length, radius = 2 * case.conductors.length.sum(), case.conductors.radius[0]
    exact = 200.0 / (2 * np.pi * length) * (np.log(4 * length / radius) - 1)
    assert_allclose(check.formula_resistance, exact, rtol=0.002)


def in_beds(name, **changes):
    """A shipped case with twice the resistivity upright in all its soil."""
    file = case_file(name)
    content = load_case(file).document.content
    content = {key: item for key, item in content.items() if key != "variants"}
    layers = [{"resistivity": "80 ohm*m", "vertical_resistivity": "160 ohm*m"}]
    return case_from(content | {"soil": {"layers": layers}} | changes, folder=file.parent)


def doubt(reading):
    return {
        "draws": 64,
        "inputs": [
            {
                "name": "upright",
                "set": ["soil", "layers", 1, "vertical_resistivity"],
                "uniform": {"from": "100 ohm*m", "to": "640 ohm*m"},
            }
        ],
        "next_readings": [{"name": "next", "error": 0.05, **reading}],
    }


def test_commands_that_know_even_layers_only_say_so():
    with pytest.raises(CaseError, match=r"soil\.layers\[1\].*one resistivity for each layer"):
        compare_case(in_beds("measured-fresh-rod"))
    rod = {"rod": {"length": "2.4 m", "diameter": "16 mm"}}
    with pytest.raises(CaseError, match=r"soil\.layers\[1\].*followed in even layers only"):
        uncertainty_of_case(in_beds("pad-in-doubt", uncertainty=doubt(rod)))


@pytest.mark.slow
def test_what_is_not_known_of_the_beds_can_be_drawn():
    case = in_beds("pad-in-doubt", uncertainty=doubt({"wenner": ["24 m", "32 m"]}))
    found = uncertainty_of_case(case)
    (swing,) = found.answer("resistance").swings
    exact = [
        1 / second_opinion(case.conductors, soil=soil).current_matrix[0, 0]
        for soil in (Soil((80.0,), vertical_resistivity=(up,)) for up in (127.0, 613.0))
    ]
    assert_allclose(swing, exact, rtol=0.005)
    assert exact[1] > 1.2 * exact[0]
    for proof in found.proofs:
        assert_allclose(*proof.resistance, rtol=0.01)


def test_draws_keep_both_resistivities():
    soil = Soil((60.0, 20.0), (3.0,), vertical_resistivity=(540.0, 80.0))
    draw = Draw(soil, (1.0,), (2.0,), ((0.5,),))
    assert Draw.of_tree(draw.as_tree()) == draw
    even = Draw(Soil((60.0,)), (1.0,), (2.0,), ((0.5,),))
    assert Draw.of_tree(even.as_tree()) == even
