"""A saved mesh is the mesh, with its layers, in both formats."""

from pathlib import Path

import meshio
import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from ohmscape.meshes import build_mesh, mesh_plan, save_mesh
from ohmscape.solver.errors import MeshError
from ohmscape.solver.model import Conductors, Soil

SOIL = Soil((70.0, 310.0), (1.3,))


@pytest.fixture(scope="module")
def mesh():
    rod = Conductors.bare([0.0, 0.0, 0.0], end=[0.0, 0.0, -2.1], radius=0.007)
    return build_mesh(mesh_plan(rod, soil=SOIL))


@pytest.mark.parametrize("name", ["soil.vtu", "soil.msh"])
def test_a_saved_mesh_reads_back_with_its_layers(mesh, name, tmp_path):
    read = meshio.read(save_mesh(mesh, tmp_path / name, soil=SOIL))
    assert_allclose(read.points, mesh.points, rtol=1e-12, atol=1e-12)
    assert_array_equal(read.cells_dict["tetra"], mesh.tetrahedra)
    layer = np.asarray(read.cell_data["layer"][0])
    depth = -mesh.points[mesh.tetrahedra].mean(axis=1)[:, 2]
    assert_array_equal(layer, np.where(depth < 1.3, 1, 2))


def test_a_mesh_that_cannot_be_finished_leaves_what_was_there(mesh, tmp_path, monkeypatch):
    target = tmp_path / "soil.vtu"
    target.write_text("of another run")

    def half(self, path, **options):
        Path(path).write_text("<VTK")
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(meshio.Mesh, "write", half)
    with pytest.raises(MeshError, match=r"cannot write the mesh to .*: No space left"):
        save_mesh(mesh, target, soil=SOIL)
    assert target.read_text() == "of another run"
    assert [target] == list(tmp_path.iterdir())


def test_a_mesh_takes_the_place_of_another_behind_a_link(mesh, tmp_path):
    real, link = tmp_path / "real.vtu", tmp_path / "soil.vtu"
    real.write_text("of another run")
    link.symlink_to(real)
    save_mesh(mesh, link, soil=SOIL)
    assert link.is_symlink()
    assert_allclose(meshio.read(real).points, mesh.points, rtol=1e-12, atol=1e-12)


def test_another_ending_is_refused(mesh, tmp_path):
    with pytest.raises(MeshError, match=r"end its name in \.vtu or \.msh"):
        save_mesh(mesh, tmp_path / "soil.obj", soil=SOIL)
