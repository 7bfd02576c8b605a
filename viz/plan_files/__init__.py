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


plan_writers = {"dxf": PlanWriter("plan.dxf", _dxf)}
"""By what the command line calls them."""
