"""What the tables of one result share: what stands on top, and columns of phasors."""

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from ...solver.model import Phasors
from ...solver.results.result import Result
from ..cautions import caution_texts
from .csv_files import write_table


def write_result_table(
    path: Path,
    *,
    result: Result,
    notes: Sequence[str],
    header: Sequence[str],
    rows: Iterable[Sequence[object]],
) -> None:
    """Write one table of a result, headed by its case and what to mind."""
    top = (" ".join(result.title.split()), f"case SHA-256 {result.case_hash}")
    notes = (*top, *notes, *caution_texts([result]))
    write_table(path, notes=notes, header=header, rows=rows)


def phasor_columns(values: Any, *, like: Phasors) -> list[Any]:
    """Columns of an effective value: one, or real and imaginary part out of phase."""
    return [np.real(values), np.imag(values)] if np.iscomplexobj(like) else [np.real(values)]


def phasor_heading(name: str, unit: str, *, like: Phasors) -> list[str]:
    """Headings of such columns."""
    if not np.iscomplexobj(like):
        return [f"{name} [{unit}]"]
    return [
        f"{name}, in phase with the largest rise [{unit}]",
        f"{name}, 90 deg ahead [{unit}]",
    ]
