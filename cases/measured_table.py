"""Tables of meter readings: one reading a row, columns found by their headings."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches

from ..errors import BudgetError, CaseError, Problem
from . import quantities as q
from .documents import decoded
from .limits import LARGEST_LENGTH, MOST_READINGS
from .survey_columns import PERCENT
from .survey_marks import Line, table_lines
from .tables import MOST_FAULTS, Column, heading_form, number_form

SHARE = q.Kind("share of the source voltage", "1", ("0.56",))
_place = Column(q.LENGTH, -LARGEST_LENGTH, LARGEST_LENGTH)
_depth = Column(q.LENGTH, 0.0, LARGEST_LENGTH)
COLUMNS = {
    "distance": _depth,
    "x": _place,
    "y": _place,
    "depth": _depth,
    "second_x": _place,
    "second_y": _place,
    "second_depth": _depth,
    "voltage": Column(q.VOLTAGE, -1e6, 1e6),
    "current": Column(q.CURRENT, -1e5, 1e5),
    "resistance": Column(q.RESISTANCE, -1e6, 1e6),
    "fraction": Column(SHARE, -2.0, 2.0),
    "background_voltage": Column(q.VOLTAGE, -1e6, 1e6),
    "deviation": Column(PERCENT, 1e-3, 99.0),
}
# Shares have units of their own: (unit, factor to the value kept).
_shares = {"fraction": {"1": 1.0, "%": 0.01}, "deviation": {"%": 0.01}}


@dataclass(frozen=True)
class TableRow:
    """One row in SI units.

    Attributes
    ----------
    line : int
        Line in the file, counted from 1.
    values : dict of str to float
        What its cells hold, by heading; empty cells are not in it.
    note : str
        The user's words.
    """

    line: int
    values: dict[str, float]
    note: str


def read_measured_table(content: bytes, *, file: str) -> tuple[TableRow, ...]:
    """Rows of a table of meter readings.

    Parameters
    ----------
    content : bytes
        Bytes of the file, UTF-8 text. Separators, decimal mark and comments as in tables of
        surveys.
    file : str
        Name of the file, for messages.

    Raises
    ------
    CaseError
        If anything is wrong, with all that is wrong and the lines.
    BudgetError
        If there are more readings than the limits allow.
    """
    return _Reader(file).read(table_lines(decoded(content, file=file), file=file))


def wanted() -> str:
    """What headings such a table may have, in one line."""
    return (
        "a heading is a name and a unit: distance [m], or x [m] and y [m]; optional depth [m], "
        "second_x [m], second_y [m], second_depth [m]; one of voltage [V], resistance [ohm], "
        "fraction [%]; optional current [A], background_voltage [V], deviation [%], note"
    )


@dataclass
class _Reader:
    """Reads rows and collects what is wrong with them."""

    file: str
    problems: list[Problem] = field(default_factory=list)
    names: list[str] = field(default_factory=list)
    factors: dict[str, float] = field(default_factory=dict)

    def read(self, lines: Sequence[Line]) -> tuple[TableRow, ...]:
        headings, *rest = lines
        for heading in headings.cells:
            name = self._heading(heading, line=headings.number)
            if name in self.names:
                self._fault(headings.number, f"heading {heading[:40]!r} stands twice; keep one")
            self.names.append(name)
        if not rest:
            self._fault(headings.number, "holds no readings below its headings")
        if len(rest) > MOST_READINGS:
            msg = f"has {len(rest):,} readings; at most {MOST_READINGS:,} are read"
            raise BudgetError([Problem(msg, file=self.file, line=rest[MOST_READINGS].number)])
        if self.problems:
            raise CaseError(self.problems)
        rows = []
        for line in rest:
            if len(self.problems) >= MOST_FAULTS:
                self._fault(line.number, "more rows are wrong; reading stopped here")
                break
            rows.append(self._row(line))
        if self.problems:
            raise CaseError(self.problems)
        return tuple(rows)

    def _heading(self, heading: str, *, line: int) -> str:
        """Name of a column; the factor of its unit is kept."""
        if heading == "note":
            return heading
        match = heading_form.fullmatch(heading)
        if match is None or match["name"] not in COLUMNS:
            bare = heading.split("[")[0].strip().lower().replace(" ", "_")
            close = get_close_matches(bare, [*COLUMNS, "note"], n=1)
            hint = f"did you mean {close[0]!r}? " if close else ""
            self._fault(line, f"heading {heading[:40]!r}; {hint}{wanted()}")
            return heading
        name, unit = match["name"], match["unit"].strip()
        try:
            if name in _shares:
                if unit not in _shares[name]:
                    allowed = " or ".join(f"[{known}]" for known in _shares[name])
                    msg = f"unit {unit!r}; write {allowed}"
                    raise CaseError(msg)
                self.factors[name] = _shares[name][unit]
            else:
                self.factors[name] = q.quantity(f"1 {unit}", kind=COLUMNS[name].kind)
        except CaseError as error:
            self._fault(line, f"heading {heading[:40]!r}: {error}")
        return name

    def _row(self, line: Line) -> TableRow:
        if len(line.cells) != len(self.names):
            msg = (
                f"{len(line.cells)} cells, the headings name {len(self.names)}; write a "
                "separator for an empty cell too"
            )
            self._fault(line.number, msg)
            return TableRow(line.number, {}, "")
        cells = dict(zip(self.names, line.cells, strict=True))
        note = cells.pop("note", "")
        if not note.isprintable() or len(note) > 200:
            self._fault(line.number, "a note has at most 200 printable characters")
        values = {
            name: self._number(cell, name, line.number) for name, cell in cells.items() if cell
        }
        return TableRow(line.number, values, note)

    def _number(self, cell: str, name: str, line: int) -> float:
        column = COLUMNS[name]
        if not number_form.fullmatch(cell):
            self._fault(line, f"{name}: {cell[:40]!r} is not a plain number")
            return 0.0
        value = float(cell) * self.factors[name]
        # Deviations are bounded in per cent and kept as shares.
        size = 100 * value if name == "deviation" else value
        if not column.least <= size <= column.most:
            self._fault(
                line,
                f"{name}: {cell} is {size:g} {column.kind.unit}; allowed from "
                f"{column.least:g} to {column.most:g} {column.kind.unit}",
            )
        return value

    def _fault(self, line: int, message: str) -> None:
        self.problems.append(Problem(message, file=self.file, line=line))
