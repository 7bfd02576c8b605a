"""A result as arrays by name, as meshes for three dimensions, and as files for others."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from ...solver.drives import in_phase
from ...solver.errors import CaseError, MissingLibraryError
from ...solver.exposure.surface import steepest_steps
from ...solver.model import Floats
from ...solver.results.result import Result
from ..cautions import BELOW_PICTURES
from ..result_folder import add_to_result
from ..tables.volumes import conductor_mesh, soil_mesh, surface_mesh
from . import export_writers
from .about import what_it_is

_most = 4_000_000  # places of a raster


def map_arrays(result: Result, *, spacing: float | None = None) -> dict[str, Floats]:
    """Maps of a result on an even raster, by name.

    Parameters
    ----------
    spacing : float, optional
        Distance between its places; that of the map of the result when left out. [m]

    Returns
    -------
    arrays : dict of str to ndarray of float
        ``x``, shape (n,), and ``y``, shape (m,) [m]; and of shape (m, n) ``potential``, to
        remote earth and in phase with the largest rise, ``step``, the largest prospective step
        voltage from each place, and ``touch NAME`` for each metal that can be touched, not a
        number out of its reach [V]. All of them are those of the field itself, not joined from
        the samples of the map.

    Raises
    ------
    CaseError
        If the raster would have more than four million places.
    """
    area = result.area
    step = area.spacing if spacing is None else spacing
    if not step > 0:
        msg = f"a spacing of {step:g} m; give one above 0"
        raise CaseError(msg)
    counts = [
        int(np.floor((high - low) / step + 1e-9)) + 1
        for low, high in zip(area.low, area.high, strict=True)
    ]
    if counts[0] * counts[1] > _most:
        msg = (
            f"{counts[0]:,} by {counts[1]:,} places are more than {_most:,}; give a spacing "
            "above that"
        )
        raise CaseError(msg)
    x, y = (
        np.asarray(low + step * np.arange(count), dtype=np.float64)
        for low, count in zip(area.low, counts, strict=True)
    )
    places = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    field = result.field
    potential = field.surface_potential(places)
    steps, _ = steepest_steps(
        places, potential=potential, field=field, area=area, pace=result.surface.pace
    )
    shape = (len(y), len(x))
    found = {
        "x": x,
        "y": y,
        "potential": in_phase(potential).reshape(shape),
        "step": steps.reshape(shape),
    }
    for metal in result.metals:
        held = field.metal_voltage(metal.group, places=places)
        voltage = np.abs(held - potential)
        reached = metal.within_reach(places) & field.on_ground(places)
        found[f"touch {metal.name}"] = np.where(reached, voltage, np.nan).reshape(shape)
    return found


def map_dataset(result: Result, *, spacing: float | None = None) -> Any:
    """Maps of a result as a labelled dataset of xarray.

    Parameters
    ----------
    spacing : float, optional
        As for `map_arrays`, whose values these are.

    Returns
    -------
    maps : xarray.Dataset
        ``potential``, ``step`` (y, x) and, where metal can be touched, ``touch`` (metal, y, x)
        [V], over ``x``, ``y`` [m] and ``metal``. Each has ``units`` and ``long_name``. Where
        the case says its site, ``easting`` and ``northing`` (y, x) [m] stand beside them, and
        ``epsg`` among the attributes.

    Raises
    ------
    MissingLibraryError
        If xarray, which this package does not need elsewhere, is not installed.
    CaseError
        As `map_arrays`.
    """
    try:
        import xarray as xr
    except ImportError as error:
        msg = "maps as a dataset need xarray, which is not installed: pip install xarray"
        raise MissingLibraryError(msg) from error
    arrays = map_arrays(result, spacing=spacing)
    plan = ("y", "x")
    metre = {"units": "m"}
    remote = "to remote earth, in phase with the largest rise"
    names = [metal.name for metal in result.metals]
    touch = {
        "touch": (
            ("metal", *plan),
            np.array([arrays[f"touch {name}"] for name in names]),
            {"units": "V", "long_name": "touch voltage, prospective, within reach"},
        )
    }
    coordinates: dict[str, Any] = {
        "x": ("x", arrays["x"], {**metre, "long_name": "x of the case"}),
        "y": ("y", arrays["y"], {**metre, "long_name": "y of the case"}),
        **({"metal": ("metal", names)} if names else {}),
    }
    title, case = what_it_is(result)
    about: dict[str, Any] = {"title": title, "case": case, "comment": BELOW_PICTURES}
    if result.site is not None:
        place = result.site.place
        places = np.stack(np.meshgrid(arrays["x"], arrays["y"]), axis=-1).reshape(-1, 2)
        shape = (len(arrays["y"]), len(arrays["x"]))
        for name, values in zip(
            ("easting", "northing"), place.other(places).T * place.metres, strict=True
        ):
            coordinates[name] = (plan, values.reshape(shape), {**metre, "long_name": name})
        about["epsg"] = result.site.epsg
    return xr.Dataset(
        {
            "potential": (
                plan,
                arrays["potential"],
                {"units": "V", "long_name": f"surface potential {remote}"},
            ),
            "step": (
                plan,
                arrays["step"],
                {"units": "V", "long_name": "largest step voltage, prospective"},
            ),
            **(touch if names else {}),
        },
        coords=coordinates,
        attrs=about,
    )


def result_meshes(result: Result) -> dict[str, Any]:
    """Meshes of a result for PyVista, by name: ``soil``, ``surface`` and ``conductors``.

    They hold what ``soil.vtu``, ``surface.vtu`` and ``conductors.vtu`` of a run hold, each
    array named with its unit.
    """
    import pyvista as pv  # loads VTK

    meshes = {"soil": soil_mesh, "surface": surface_mesh, "conductors": conductor_mesh}
    return {name: pv.from_meshio(mesh(result)) for name, mesh in meshes.items()}


def export_result(
    result: Result, folder: str | Path, *, kinds: Sequence[str] = ("dxf",)
) -> tuple[Path, ...]:
    """Write a result for other programs, as the command ``export``.

    Parameters
    ----------
    folder : str or Path
        Folder to make, or that of a result.
    kinds : sequence of str
        Of ``dxf``, ``geojson``, ``gpkg``, ``xlsx``.

    Returns
    -------
    files : tuple of Path

    Raises
    ------
    CaseError
        If a kind is not known, or a map is asked for and the case does not say its site.
    ResultError
        If somebody's file is where one of these must go.
    """
    unknown = [kind for kind in kinds if kind not in export_writers]
    if unknown:
        msg = f"no kind {unknown[0]!r}; there are {', '.join(export_writers)}"
        raise CaseError(msg)
    writers = [export_writers[kind] for kind in dict.fromkeys(kinds)]

    def written(into: Path) -> list[Path]:
        return [writer.write(result, into) for writer in writers]

    return add_to_result(folder, write=written, command="export")
