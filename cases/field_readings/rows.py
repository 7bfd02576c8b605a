"""Readings of one series as written, from the case file itself or from a table beside it."""

import hashlib
import math
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

from ...solver.errors import Problem
from ..reading import quantities as q
from ..reading.beside import content_beside
from ..reading.documents import Document, Step
from ..reading.table_columns import DEPTH, DEVIATION, PLACE, Column, Headings
from ..reading.tables import Row, Table
from . import schema as schema

_share = q.Kind("share of the source voltage", "1", ("0.56",))
_headings = Headings(
    columns={
        "distance": DEPTH,
        "x": PLACE,
        "y": PLACE,
        "depth": DEPTH,
        "second_x": PLACE,
        "second_y": PLACE,
        "second_depth": DEPTH,
        "voltage": Column(q.VOLTAGE, -1e6, 1e6),
        "current": Column(q.CURRENT, -1e5, 1e5),
        "resistance": Column(q.RESISTANCE, -1e6, 1e6),
        "fraction": Column(_share, -2.0, 2.0, units={"1": 1.0, "%": 0.01}),
        "background_voltage": Column(q.VOLTAGE, -1e6, 1e6),
        "deviation": DEVIATION,
    },
    words=("note",),
    wanted=(
        "a heading is a name and a unit: distance [m], or x [m] and y [m]; optional depth [m], "
        "second_x [m], second_y [m], second_depth [m]; one of voltage [V], resistance [ohm], "
        "fraction [%]; optional current [A], background_voltage [V], deviation [%], note"
    ),
)

# A reading, and what makes a problem of a message at its place.
WrittenReading = tuple[schema.MeterReading, Callable[[str], Problem]]


def measured_rows(
    series: schema.Series,
    *,
    path: tuple[Step, ...],
    document: Document,
    folder: Path | None,
) -> tuple[list[WrittenReading], str]:
    """Readings of one series, and the hash of the table they stand in; empty without one.

    Raises as `measured_of`.
    """
    if series.file is None:
        return [
            (reading, partial(document.problem, path=(*path, "readings", number)))
            for number, reading in enumerate(series.readings or ())
        ], ""
    content = content_beside(series.file, folder=folder, document=document, path=path)
    table = Table(content, file=series.file, headings=_headings, sheet=series.sheet)
    rows: list[WrittenReading] = [(_reading(row), row.problem) for row in table.rows()]
    return rows, hashlib.sha256(content).hexdigest()


def _reading(row: Row) -> schema.MeterReading:
    """Reading of a row; the table has checked its values, and `Setup` checks their choice."""
    values: dict[str, Any] = dict(row.values)
    values["at"] = _vertex(values, "")
    values["second_at"] = _vertex(values, "second_")
    if "deviation" in values:
        values["deviation"] /= 100
    return schema.MeterReading.model_construct(**values, note=row.words["note"])


def _vertex(values: dict[str, float], prefix: str) -> tuple[float, ...] | None:
    """Place in a row of a table, taken out of its values; nan stands for what is missing."""
    keys = [f"{prefix}{axis}" for axis in ("x", "y", "depth")]
    if not any(key in values for key in keys):
        return None
    x, y, depth = (values.pop(key, math.nan) for key in keys)
    return (x, y, 0.0 if math.isnan(depth) else depth)
