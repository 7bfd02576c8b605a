"""Rods and conductors from comma-separated tables beside the case file."""

import csv
import hashlib
import io
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from ...solver.errors import BudgetError, CaseError, Problem
from ...solver.model import Floats
from ..reading import quantities as q
from ..reading.beside import content_beside
from ..reading.documents import decoded
from ..reading.size_limits import LARGEST_LENGTH, MOST_PIECES, THICKEST, THINNEST
from ..reading.table_columns import DEPTH, MOST_FAULTS, PLACE, Column, Headings
from .pieces import Pieces, elevated
from .schema import ConductorTable, RodTable

# As short as the thinnest metal is wide: zero and negative lengths are refused here.
_length = Column(q.LENGTH, THINNEST, LARGEST_LENGTH)
_diameter = Column(q.DIAMETER, THINNEST, THICKEST)
_tilt = Column(q.ANGLE, 0.0, float(np.radians(89.9)), required=False)
_azimuth = Column(q.ANGLE, -6.2832, 6.2832, required=False)

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
class Table:
    """Columns of a table in SI units.

    Attributes
    ----------
    file : str
        Name of the file as the case file gives it.
    sha256 : str
        Hash of its bytes.
    columns : dict of str to ndarray of float, shape (n,)
        Values by heading, without the unit.
    """

    file: str
    sha256: str
    columns: dict[str, Floats]


def read_table(part: RodTable | ConductorTable, *, folder: Path | None) -> Table:
    """Columns of the table a part names.

    Parameters
    ----------
    folder : Path or None
        Folder of the case file; None when the case did not come from a file.

    Raises
    ------
    CaseError
        If the file is missing, outside `folder`, or wrong; with line numbers.
    BudgetError
        If it is larger than the limits allow.
    """
    rods = isinstance(part, RodTable)
    columns = dict(_rod_columns if rods else _conductor_columns)
    if part.radius is not None:
        # The part gives one size for all rows; a column beside it would contradict it.
        del columns["diameter"]
    content = content_beside(part.file, folder=folder)
    values = _Reader(part.file, columns, content).read()
    found = Table(part.file, hashlib.sha256(content).hexdigest(), values)
    if rods and "tilt" in values and "azimuth" not in values:
        msg = "column 'tilt' needs a column 'azimuth' beside it"
        raise CaseError([Problem(msg, file=part.file, line=1)])
    widest = float(values["diameter"].max()) if "diameter" in values else 0.0
    if part.backfill is not None and part.backfill.diameter <= widest:
        msg = (
            f"backfill: diameter {part.backfill.diameter:g} m does not hold the metal, up to "
            f"{widest:g} m wide in the table; it must be wider"
        )
        raise CaseError(msg)
    return found


def table_pieces(part: RodTable | ConductorTable, *, table: Table) -> Pieces:
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


class _Reader:
    """Reads rows and collects what is wrong with them."""

    def __init__(self, file: str, columns: dict[str, Column], content: bytes) -> None:
        self._file = file
        self._columns = columns
        self._problems: list[Problem] = []
        text = decoded(content, file=file)
        self._rows = csv.reader(io.StringIO(text, newline=""), strict=True)

    def read(self) -> dict[str, Floats]:
        try:
            names, factors = self._headings(next(self._rows, []))
            values = self._values(names, factors)
        except csv.Error as error:
            self._fault(f"is not comma-separated text: {error}")
            raise CaseError(self._problems) from error
        if not values and not self._problems:
            self._fault("holds no rows below its headings")
        if self._problems:
            raise CaseError(self._problems)
        return dict(zip(names, np.array(values).T, strict=True))

    def _headings(self, row: list[str]) -> tuple[list[str], list[float]]:
        wanted = self._wanted()
        names, factors, faults = Headings(self._columns, wanted).read(row)
        missing = [n for n, c in self._columns.items() if c.required and n not in names]
        if missing and not faults:
            faults.append(f"no column {', '.join(missing)}; {wanted}")
        for message in faults:
            self._fault(message)
        if self._problems:
            raise CaseError(self._problems)
        return names, factors

    def _values(self, names: list[str], factors: list[float]) -> list[list[float]]:
        values: list[list[float]] = []
        for row in self._rows:
            if not any(cell.strip() for cell in row):
                continue
            if len(values) >= MOST_PIECES:
                msg = f"has more rows than the {MOST_PIECES:,} pieces allowed; split the case"
                raise BudgetError([Problem(msg, file=self._file, line=self._rows.line_num)])
            if len(self._problems) >= MOST_FAULTS:
                self._fault("more rows are wrong; reading stopped here")
                break
            if len(row) != len(names):
                self._fault(
                    f"{len(row)} cells, the headings name {len(names)}; write decimal points, "
                    "not commas, and leave no cell out"
                )
                continue
            values.append(
                [self._number(*cell) for cell in zip(row, names, factors, strict=True)]
            )
        return values

    def _number(self, cell: str, name: str, factor: float) -> float:
        try:
            return self._columns[name].value(cell.strip(), name=name, factor=factor)
        except CaseError as error:
            self._fault(str(error))
            return np.nan

    def _wanted(self) -> str:
        wanted = [
            column.heading(name) + ("" if column.required else " (optional)")
            for name, column in self._columns.items()
        ]
        return f"each heading is a name and a unit: {', '.join(wanted)}"

    def _fault(self, message: str) -> None:
        line = max(self._rows.line_num, 1)
        self._problems.append(Problem(message, file=self._file, line=line))
