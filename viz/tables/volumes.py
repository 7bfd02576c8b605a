"""Meshes with values as VTU files, for any viewer that reads that format."""

import shutil
from pathlib import Path
from typing import Any

import numpy as np

from ...solver.anisotropy import unstretched
from ...solver.drives import in_phase
from ...solver.model import Floats
from ...solver.progress import Progress, parts, unwatched
from ...solver.results.result import Result
from ..wording import file_stems


def write_volumes(
    result: Result,
    folder: str | Path,
    *,
    written: Path | None = None,
    progress: Progress = unwatched,
) -> list[Path]:
    """Write soil, surface and conductors as VTU files into a folder that exists, in SI units.

    ``soil.vtu`` holds tetrahedra with the potential at vertices, layer and current density;
    ``surface.vtu`` triangles with potential, step and touch voltages; ``conductors.vtu``
    lines with leakage, rise, and the numbers of electrode and part (counted from 0, in the
    order of ``electrodes.csv`` and ``parts.csv``). Names of arrays carry the unit.

    Parameters
    ----------
    written : Path, optional
        Folder with those of a result for which `same_volumes` holds: they are copied.
    progress : callable, optional
        Told the name of each file as it is begun, and the share of the work done by then.
    """
    target = Path(folder)
    meshes = (
        ("soil.vtu", soil_mesh),
        ("surface.vtu", surface_mesh),
        ("conductors.vtu", conductor_mesh),
    )
    files = []
    for (name, mesh), each in zip(meshes, parts(progress, [3, 1, 1]), strict=True):
        each(name, 0.0)
        if written is None:
            mesh(result).write(target / name)
        else:
            shutil.copyfile(written / name, target / name)
        files.append(target / name)
    return files


def same_volumes(one: Result, other: Result) -> bool:
    """Whether results of one run have one field and one map, and so the same volumes."""
    return (
        one.solution is other.solution
        and one.surface is other.surface
        and one.contact_resistance == other.contact_resistance
        and np.array_equal(one.operating.voltage, other.operating.voltage)
    )


def soil_mesh(result: Result) -> Any:
    """Tetrahedra of the soil as a meshio mesh.

    The potential is that of the field, with the short range of the metal, not the bare
    unknowns. The current density comes from it linearly in each tetrahedron, in the layer
    of its centroid: for a look at the flow, too coarse close to metal for anything else. Where
    layers conduct otherwise upright, their vertical resistivity stands beside the other.
    """
    import meshio  # takes 0.2 s

    mesh, soil = result.solution.mesh, result.solution.soil
    points = unstretched(mesh.points, soil=soil)
    potential = in_phase(result.field.potential(points))
    centroids = points[mesh.tetrahedra].mean(axis=1)
    layer, resistivity = soil.material_at(centroids), soil.resistivity_at(centroids)
    gradient = linear_gradient(points[mesh.tetrahedra], potential[mesh.tetrahedra])
    density = -gradient / resistivity[:, None]
    vertical = {}
    if not soil.isotropic:
        upright = resistivity * soil.anisotropy[soil.layer_at(-centroids[:, 2])] ** 2
        density[:, 2] *= resistivity / upright
        vertical = {"vertical resistivity [ohm m]": [upright]}
    return meshio.Mesh(
        points,
        [("tetra", mesh.tetrahedra)],
        point_data={"potential [V]": potential},
        cell_data={
            "layer": [layer],
            "resistivity [ohm m]": [resistivity],
            **vertical,
            "current density [A/m2]": [density],
        },
    )


def linear_gradient(corners: Floats, values: Floats) -> Floats:
    """Gradient of linear functions in tetrahedra.

    Parameters
    ----------
    corners : ndarray of float, shape (m, 4, 3)
        [m]
    values : ndarray of float, shape (m, 4)
        At the corners.

    Returns
    -------
    gradient : ndarray of float, shape (m, 3)
    """
    edges = corners[:, 1:] - corners[:, :1]
    rises = values[:, 1:] - values[:, :1]
    gradient: Floats = np.linalg.solve(edges, rises[:, :, None])[:, :, 0].astype(float)
    return gradient


def surface_mesh(result: Result) -> Any:
    """Triangles of the surface map as a meshio mesh; touch is not a number out of reach."""
    import meshio  # takes 0.2 s

    surface = result.surface
    points = np.column_stack([surface.places, np.zeros(len(surface.places))])
    stems = file_stems(tuple(metal.name for metal in result.metals))
    touches = {
        f"touch {stem} [V]": values for stem, values in zip(stems, surface.touch, strict=True)
    }
    return meshio.Mesh(
        points,
        [("triangle", surface.triangles)],
        point_data={
            "potential [V]": in_phase(surface.potential),
            "step [V]": surface.step,
            "step direction [rad]": surface.step_direction,
            **touches,
        },
    )


def conductor_mesh(result: Result) -> Any:
    """Elements of the metal as a meshio mesh: lines, and quadrilaterals of plates."""
    import meshio  # takes 0.2 s

    elements, metal = result.elements, result.solution.conductors
    flat = elements.flat
    points = np.stack([elements.start, elements.end], axis=1)[~flat].reshape(-1, 3)
    cells = [("line", np.arange(len(points)).reshape(-1, 2), ~flat)]
    if elements.corners is not None:
        corners = elements.corners[flat].reshape(-1, 3)
        cells.append(("quad", len(points) + np.arange(len(corners)).reshape(-1, 4), flat))
        points = np.concatenate([points, corners])
    leakage = np.where(flat, np.nan, in_phase(result.field.leakage))
    data = {
        "leakage [A/m]": leakage,
        "current [A]": in_phase(result.field.element_current),
        "rise [V]": in_phase(result.operating.voltage)[elements.group],
        "radius [m]": np.where(flat, 0.0, elements.radius),
        "electrode": elements.group,
        "part": metal.part[elements.piece],
    }
    blocks = [(kind, which, own) for kind, which, own in cells if len(which)]
    return meshio.Mesh(
        points,
        [(kind, which) for kind, which, _ in blocks],
        cell_data={name: [each[own] for *_, own in blocks] for name, each in data.items()},
    )
