"""Saving a mesh for other programs, by meshio."""

from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from ..solver.anisotropy import unstretched
from ..solver.errors import MeshError
from ..solver.model import Mesh, Soil

formats = {".vtu": "vtu", ".msh": "gmsh22"}


def check_mesh_path(path: str | Path) -> Path:
    """Path to save a mesh to, if it can be one.

    Raises
    ------
    MeshError
        If the ending of the file name is no known format, or its folder is missing.
    """
    target = Path(path)
    if target.suffix.lower() not in formats:
        msg = f"'{target}' is no mesh format known here; end its name in {' or '.join(formats)}"
        raise MeshError(msg)
    if not target.parent.is_dir():
        msg = f"no folder '{target.parent}' to save the mesh in; make it first"
        raise MeshError(msg)
    return target


def save_mesh(mesh: Mesh, path: str | Path, *, soil: Soil) -> Path:
    """Write the tetrahedra with the soil layer or body of each, numbered from 1.

    Parameters
    ----------
    path : str or Path
        File to write: ``.vtu`` for VTK, ``.msh`` for gmsh (format 2.2).
    soil : Soil
        Layers, then bodies; an element that crosses a face gets what its centre is in.

    Raises
    ------
    MeshError
        If the ending of the file name is neither, or the file cannot be written.
    """
    import meshio  # half a second that most runs do not need

    target = check_mesh_path(path)
    points = unstretched(mesh.points, soil=soil)
    centres = points[mesh.tetrahedra].mean(axis=1)
    layer = (soil.material_at(centres) + 1).astype(np.int32)
    data = {"layer": [layer]}
    if target.suffix.lower() == ".msh":
        data |= {"gmsh:physical": [layer], "gmsh:geometrical": [layer]}
    content = meshio.Mesh(points, [("tetra", mesh.tetrahedra)], cell_data=data)
    whole = target.resolve()  # of a link what it leads to
    # Beside it until it is whole: who is killed meanwhile leaves what was there.
    try:
        with TemporaryDirectory(prefix=".ohmscape-mesh-", dir=whole.parent) as beside:
            draft = Path(beside) / f"mesh{target.suffix.lower()}"
            content.write(draft, file_format=formats[target.suffix.lower()])
            draft.replace(whole)
    except OSError as error:
        msg = f"cannot write the mesh to {target}: {error.strerror or error}"
        raise MeshError(msg) from error
    return target
