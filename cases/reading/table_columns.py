"""Columns of a table: headings with units, and what each column of numbers may hold."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from ...solver.errors import CaseError
from . import quantities as q
from .messages import closest
from .size_limits import LARGEST_LENGTH, MOST_READINGS

_heading = re.compile(r"\s*(?P<name>[a-z_0-9]+)\s*\[(?P<unit>[^\]]+)\]\s*")
_number = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,2})?")
# Units to suggest where the SI unit is not the trade's.
_usual_units = {q.ANGLE: "deg", q.DIAMETER: "mm"}


def plain_number(cell: str) -> bool:
    """Whether a cell is a number with a decimal point at most, and nothing else."""
    return _number.fullmatch(cell) is not None


@dataclass(frozen=True)
class Column:
    """What a column of numbers may hold."""

    kind: q.Kind
    least: float  # bounds, both allowed [`kind.unit`]
    most: float
    optional: bool = False  # whether a table that must be `filled` may do without the column
    # The only units it may have and how many of `kind.unit` one is, for shares, which have no
    # dimension; empty for any unit of the kind.
    units: Mapping[str, float] = field(default_factory=dict)

    def heading(self, name: str) -> str:
        """Heading of the column as it is written, with the unit to suggest."""
        return f"{name} [{_usual_units.get(self.kind, self.kind.unit)}]"

    def factor(self, unit: str) -> float:
        """How many of `kind.unit` one unit of a heading is; `CaseError` if of another kind."""
        if self.units:
            if unit not in self.units:
                allowed = " or ".join(f"[{known}]" for known in self.units)
                msg = f"unit {unit!r}; write {allowed}"
                raise CaseError(msg)
            return self.units[unit]
        if "AWG" in unit:
            # Gauges fall as metal gets wider, so that no factor turns a column of them into m.
            msg = "a column cannot be in AWG; give diameters in mm or in"
            raise CaseError(msg)
        return q.quantity(f"1 {unit}", kind=self.kind)

    def value(self, cell: str, *, name: str, factor: float) -> float:
        """Value of a cell without blanks round it, by the factor of its heading. [`kind.unit`]

        `CaseError` if it is no plain number, or one that the column may not hold.
        """
        if not plain_number(cell):
            msg = f"{name}: {cell[:40]!r} is not a plain number"
            raise CaseError(msg)
        value = float(cell) * factor
        if not self.least <= value <= self.most:
            unit = self.kind.unit
            msg = (
                f"{name}: {cell} is {value:g} {unit}; allowed from {self.least:g} to "
                f"{self.most:g} {unit}"
            )
            raise CaseError(msg)
        return value


PLACE = Column(q.LENGTH, -LARGEST_LENGTH, LARGEST_LENGTH)
DEPTH = Column(q.LENGTH, 0.0, LARGEST_LENGTH)
DEVIATION = Column(q.Kind("percentage", "%", ("5 %",)), 1e-3, 99.0, units={"%": 1.0})
"""Standard deviation of a reading, in per cent of it."""


@dataclass(frozen=True)
class Headings:
    """Headings that a table may have."""

    columns: Mapping[str, Column]  # columns of numbers, whose headings are a name and a unit
    wanted: str  # what a table should hold, in one line, for messages
    words: tuple[str, ...] = ()  # headings of columns of text, which have no unit
    also: Mapping[str, str] = field(default_factory=dict)  # other names by which a column goes
    # Whether there must be all columns that are not optional, and no cell may be empty; else
    # what a row needs is for its reader to say.
    filled: bool = False
    rows: str = "readings"  # what rows are called in messages
    most: int = MOST_READINGS  # number of rows allowed

    @property
    def too_many(self) -> str:
        """Message about a table with more rows than allowed."""
        if self.filled:
            return f"has more rows than the {self.most:,} pieces allowed; split the case"
        return f"has more {self.rows} than allowed; at most {self.most:,} are read"

    @property
    def uneven(self) -> str:
        """Message about a line whose quotes do not close."""
        if self.filled:
            return "is not comma-separated text, nor separated by semicolons or tabs"
        return "cannot be split into cells"

    @property
    def hint(self) -> str:
        """What to do about a row with too many or too few cells."""
        if self.filled:
            return "write decimal points, not commas, and leave no cell out"
        return "write a separator for an empty cell too"

    def missing(self, names: Sequence[str]) -> str:
        """Message about the columns that these lack; empty where they lack none."""
        lacking = [n for n, c in self.columns.items() if not c.optional and n not in names]
        if self.filled and lacking:
            return f"no column {', '.join(lacking)}; {self.wanted}"
        return ""

    def read(self, cells: Sequence[str]) -> tuple[list[str], list[float], list[str]]:
        """Headings of a table: names, factors of their units, and a message for each wrong one.

        The factor of a column of text is 1.
        """
        names: list[str] = []
        factors: list[float] = []
        faults: list[str] = []
        for cell in cells:
            try:
                name, factor = self._found(cell)
            except CaseError as error:
                faults.append(str(error))
                continue
            if name in names:
                faults.append(f"heading {cell[:40]!r} stands twice; keep one")
            names.append(name)
            factors.append(factor)
        return names, factors, faults

    def _found(self, cell: str) -> tuple[str, float]:
        """Name and factor of one heading."""
        if cell in self.words:
            return cell, 1.0
        match = _heading.fullmatch(cell)
        name = "" if match is None else self.also.get(match["name"], match["name"])
        if match is None or name not in self.columns:
            bare = cell.split("[")[0].strip().lower().replace(" ", "_")
            close = closest(bare, [*self.columns, *self.words])
            hint = f"did you mean {self._written(close)!r}? " if close else ""
            msg = f"heading {cell[:40]!r}; {hint}{self.wanted}"
            raise CaseError(msg)
        try:
            return name, self.columns[name].factor(match["unit"].strip())
        except CaseError as error:
            msg = f"heading {cell[:40]!r}: {error}"
            raise CaseError(msg) from error

    def _written(self, name: str) -> str:
        return name if name in self.words else self.columns[name].heading(name)
