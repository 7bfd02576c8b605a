"""Rods and conductors from tables beside the case file."""

import hashlib
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from ...solver.errors import CaseError
from ...solver.model import Floats
from ..reading import quantities as q
from ..reading.beside import content_beside
from ..reading.documents import Document, Step
from ..reading.size_limits import LARGEST_LENGTH, MOST_PIECES, THICKEST, THINNEST
from ..reading.table_columns import DEPTH, PLACE, Column, Headings
from ..reading.tables import Table
from .pieces import Pieces, elevated
from .schema import ConductorTable, RodTable

# As short as the thinnest metal is wide: zero and negative lengths are refused here.
_length = Column(q.LENGTH, THINNEST, LARGEST_LENGTH)
_diameter = Column(q.DIAMETER, THINNEST, THICKEST)
_tilt = Column(q.ANGLE, 0.0, float(np.radians(89.9)), optional=True)
_azimuth = Column(q.ANGLE, -6.2832, 6.2832, optional=True)

_rod_columns = {
    "x": PLACE,
    "y": PLACE,
    "top_depth": DEPTH,
    "length": _length,
    "diameter": _diameter,
    "tilt": _tilt,
    "azimuth": _azimuth,
}
_conductor_columns = {
    "x1": PLACE,
    "y1": PLACE,
    "depth1": DEPTH,
    "x2": PLACE,
    "y2": PLACE,
    "depth2": DEPTH,
    "diameter": _diameter,
}


@dataclass(frozen=True)
class MetalTable:
    """Columns of a table in SI units."""

    file: str  # name of the file as the case file gives it
    sha256: str
    columns: dict[str, Floats]  # (n,): values by heading, without the unit


def read_table(
    part: RodTable | ConductorTable,
    *,
    folder: Path | None,
    document: Document,
    path: tuple[Step, ...],
) -> MetalTable:
    """Columns of the table a part names.

    `CaseError` if the file is missing, outside the case's folder, or wrong, with line
    numbers; `BudgetError` if it is larger than the limits allow.
    """
    columns = dict(_rod_columns if isinstance(part, RodTable) else _conductor_columns)
    if part.radius is not None:
        # The part gives one size for all rows; a column beside it would contradict it.
        del columns["diameter"]
    content = content_beside(part.file, folder=folder, document=document, path=path)
    wanted = ", ".join(
        column.heading(name) + " (optional)" * column.optional
        for name, column in columns.items()
    )
    table = Table(
        content,
        file=part.file,
        sheet=part.sheet,
        headings=Headings(
            columns,
            wanted=f"each heading is a name and a unit: {wanted}",
            filled=True,
            rows="rows",
            most=MOST_PIECES,
        ),
    )
    if "tilt" in table.names and "azimuth" not in table.names:
        table.refuse_headings("column 'tilt' needs a column 'azimuth' beside it")
    rows = np.array([[row.values[name] for name in table.names] for row in table.rows()])
    values = dict(zip(table.names, rows.T, strict=True))
    widest = float(values["diameter"].max()) if "diameter" in values else 0.0
    if part.backfill is not None and part.backfill.diameter <= widest:
        msg = (
            f"backfill: diameter {part.backfill.diameter:g} m does not hold the metal, up to "
            f"{widest:g} m wide in the table; it must be wider"
        )
        raise CaseError(msg)
    return MetalTable(part.file, hashlib.sha256(content).hexdigest(), values)


def table_pieces(part: RodTable | ConductorTable, *, table: MetalTable) -> Pieces:
    """One piece for each row of a table."""
    c = table.columns
    radius = c["diameter"] / 2 if "diameter" in c else None
    if isinstance(part, ConductorTable):
        start = elevated(np.column_stack([c["x1"], c["y1"]]), depth=c["depth1"])
        end = elevated(np.column_stack([c["x2"], c["y2"]]), depth=c["depth2"])
        return Pieces(start=start, end=end, radius=radius)
    top = elevated(np.column_stack([c["x"], c["y"]]), depth=c["top_depth"])
    tilt = c.get("tilt", np.zeros(len(top)))
    azimuth = c.get("azimuth", np.zeros(len(top)))
    sideways = np.sin(tilt)
    along = np.column_stack(
        [sideways * np.cos(azimuth), sideways * np.sin(azimuth), -np.cos(tilt)]
    )
    return Pieces(start=top, end=top + c["length"][:, None] * along, radius=radius, rod=True)
