"""Results for other programs: drawings, maps, workbooks."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from ...solver.results.result import Result


@dataclass(frozen=True)
class ExportWriter:
    """Writes one kind of file."""

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


def _workbook(result: Result, folder: Path) -> Path:
    from .workbook import write_workbook

    return write_workbook(result, folder)


export_writers = {
    "dxf": ExportWriter("plan.dxf", _dxf),
    "geojson": ExportWriter("plan.geojson", _geojson),
    "xlsx": ExportWriter("result.xlsx", _workbook),
    "gpkg": ExportWriter("plan.gpkg", _geopackage),
}
"""By what the command line calls them."""
