"""VTU files read back with the values of the result."""

from pathlib import Path

import meshio
import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.results.result import Result
from ohmscape.viz import write_volumes
from ohmscape.viz.tables.volumes import linear_gradient

# Arrays are written in binary: what comes back is what went in.
_exact = 1e-15


@pytest.fixture(scope="module")
def folder(result: Result, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("volumes")
    told: list[str] = []
    files = write_volumes(result, folder, progress=lambda name, share: told.append(name))
    assert [path.name for path in files] == told == [
        "soil.vtu", "surface.vtu", "conductors.vtu",
    ]  # fmt: skip
    return folder


def test_soil_file_holds_the_field_and_not_the_bare_unknowns(result, folder):
    mesh = meshio.read(folder / "soil.vtu")
    solution = result.solution
    assert_allclose(mesh.points, solution.mesh.points, rtol=_exact)
    assert_allclose(mesh.cells_dict["tetra"], solution.mesh.tetrahedra)
    potential = mesh.point_data["potential [V]"]
    chosen = np.linalg.norm(mesh.points, axis=1).argsort()[:50]
    assert_allclose(potential[chosen], result.field.potential(mesh.points[chosen]), rtol=1e-12)
    # Near the metal the short range adds a good part of the rise; the bare unknowns lack it.
    bare = (result.operating.voltage @ solution.unknowns)[: len(mesh.points)]
    assert (potential - bare)[chosen].max() > 0.01 * result.rise


def test_soil_file_tells_the_layer_of_each_tetrahedron(result, folder):
    mesh = meshio.read(folder / "soil.vtu")
    depth = -mesh.points[mesh.cells_dict["tetra"]].mean(axis=1)[:, 2]
    layer = mesh.cell_data_dict["layer"]["tetra"]
    assert set(layer[depth < 1.3]) == {0}
    assert set(layer[depth > 1.3]) == {1}
    resistivity = mesh.cell_data_dict["resistivity [ohm m]"]["tetra"]
    assert_allclose(resistivity, np.where(layer == 0, 130.0, 40.0), rtol=_exact)


def test_current_density_flows_away_from_the_electrode(result, folder):
    mesh = meshio.read(folder / "soil.vtu")
    centroids = mesh.points[mesh.cells_dict["tetra"]].mean(axis=1)
    density = mesh.cell_data_dict["current density [A/m2]"]["tetra"]
    outward = centroids - [0.2, 0.1, -1.0]
    distance = np.linalg.norm(outward, axis=1)
    far = distance > 10  # beyond that the floating rod does not matter
    assert ((density * outward).sum(axis=1)[far] > 0).all()


def test_gradient_of_a_linear_function_is_exact():
    corners = np.random.default_rng(3).normal(size=(7, 4, 3))
    slope = np.array([3.7, -1.2, 0.4])
    gradient = linear_gradient(corners, corners @ slope + 4.3)
    # A random tetrahedron can be flat enough to cost some digits.
    assert_allclose(gradient, np.tile(slope, (7, 1)), rtol=1e-9)


def test_surface_file_returns_the_map(result, folder):
    mesh = meshio.read(folder / "surface.vtu")
    surface = result.surface
    assert_allclose(mesh.points[:, :2], surface.places, rtol=_exact)
    assert_allclose(mesh.cells_dict["triangle"], surface.triangles)
    for name, values in {
        "potential [V]": surface.potential,
        "step [V]": surface.step,
        "step direction [rad]": surface.step_direction,
        "touch box [V]": surface.touch[0],
        "touch far-pole [V]": surface.touch[2],
    }.items():
        assert_allclose(mesh.point_data[name], values, rtol=_exact)


def test_conductor_file_returns_leakage_rise_and_numbers(result, folder):
    mesh = meshio.read(folder / "conductors.vtu")
    elements = result.solution.elements
    ends = mesh.points[mesh.cells_dict["line"]]
    assert_allclose(ends[:, 0], elements.start, rtol=_exact)
    assert_allclose(ends[:, 1], elements.end, rtol=_exact)
    data = {name: values["line"] for name, values in mesh.cell_data_dict.items()}
    assert_allclose(data["leakage [A/m]"], result.field.leakage, rtol=_exact)
    assert_allclose(data["rise [V]"], result.operating.voltage[elements.group], rtol=_exact)
    assert_allclose(data["electrode"], elements.group)
    assert set(data["part"][elements.group == 0]) == {0, 1}
    assert set(data["part"][elements.group == 1]) == {2}
