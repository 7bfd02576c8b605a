"""Results as plans for other programs: drawings and maps."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from ...solver.results.result import Result


@dataclass(frozen=True)
class PlanWriter:
    """Writes one kind of plan."""

    name: str  # of its file
    write: Callable[[Result, Path], Path]  # into a folder


def _dxf(result: Result, folder: Path) -> Path:
    from .dxf import write_dxf  # takes time to load

    return write_dxf(result, folder)


def _geojson(result: Result, folder: Path) -> Path:
    from .maps import write_geojson

    return write_geojson(result, folder)


def _geopackage(result: Result, folder: Path) -> Path:
    from .maps import write_geopackage

    return write_geopackage(result, folder)


plan_writers = {
    "dxf": PlanWriter("plan.dxf", _dxf),
    "geojson": PlanWriter("plan.geojson", _geojson),
    "gpkg": PlanWriter("plan.gpkg", _geopackage),
}
"""By what the command line calls them."""
