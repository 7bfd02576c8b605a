"""All rows of a family together: ranked, their bad ones, and how far two methods differ."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from .record import Record
from .remedy import Remedy

Place = tuple[float, float]


@dataclass(frozen=True)
class BadLine:
    """A row that makes no case.

    Attributes
    ----------
    number, line : int
        From 1; its line in the file.
    name : str
    problems : tuple of (str, str)
        Column, or place in the case, and what is wrong there.
    """

    number: int
    line: int
    name: str
    problems: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class RowFound:
    """What was found of one row.

    Attributes
    ----------
    number, line : int
        From 1; its line in the file.
    name : str
    sha256 : str
        Of its case.
    thin : Record
        By thin conductors.
    elements : Record or None
        By finite elements; None where they were not asked.
    why : str
        Why they were; empty where not.
    place : tuple of float, length 2, or None
        East and north, or longitude and latitude. [m, °]
    notes : mapping of str to str
        What its row carries along.
    remedy : Remedy or None
        What would make it pass; None where it passes, or that was not asked.
    """

    number: int
    line: int
    name: str
    sha256: str
    thin: Record
    elements: Record | None = None
    why: str = ""
    place: Place | None = None
    notes: Mapping[str, str] = field(default_factory=dict)
    remedy: Remedy | None = None

    @property
    def best(self) -> Record:
        """By finite elements where they could, else by thin conductors."""
        return (
            self.elements if self.elements is not None and self.elements.solved else self.thin
        )

    @property
    def fault(self) -> str:
        """Why there is no answer; empty where there is one."""
        if self.best.solved:
            return ""
        return self.thin.fault if self.elements is None else self.elements.fault

    @property
    def doubts(self) -> tuple[str, ...]:
        """What of it cannot be, by either method."""
        more = () if self.elements is None else self.elements.doubts
        return tuple(dict.fromkeys((*self.thin.doubts, *more)))

    @property
    def rank(self) -> tuple[float, float, float, int]:
        """To sort by, worst first: no answer, what fails for sure, then by share, by rise."""
        best = self.best
        order = (
            0.0 if not best.solved else 1.0 if best.standing in ("melts", "not judged") else 2.0
        )
        share = 0.0 if math.isnan(best.share) else best.share
        rise = 0.0 if math.isnan(best.rise) else best.rise
        return (order, -share, -rise, self.number)


@dataclass(frozen=True)
class Difference:
    """What finite elements find of a row against thin conductors.

    Attributes
    ----------
    row : RowFound
    share : float
        Of the share of what is allowed, relative; of the rise where nothing is held.
    resistance : float
        Of the largest resistance, relative.
    """

    row: RowFound
    share: float
    resistance: float


@dataclass(frozen=True)
class Batch:
    """A family that was solved.

    Attributes
    ----------
    title, template, table : str
        Of the template; names of the two files.
    units : {"SI", "US"}
        Of printed output.
    rows : tuple of RowFound
        Worst first.
    bad : tuple of BadLine
        Rows that make no case, in their order.
    band, widened : float
        Half the width of the band round a limit that was asked for, and that which the
        differences found asked for; the same where they are smaller.
    sample, seed : int
        Rows drawn for proof, and the seed.
    coordinates : {"plan", "geographic", ""}
        What `place` of rows is.
    lost : tuple of str
        Workers that died, each once.
    conditions : tuple of str
        The case as it stands (empty) and its variants.
    offers : {"option", "design", ""}
        What was looked at to make rows pass.
    currency : str
        Of what that costs; empty where it is the length of the metal.
    """

    title: str
    template: str
    table: str
    units: str
    rows: tuple[RowFound, ...]
    bad: tuple[BadLine, ...]
    band: float
    widened: float
    sample: int
    seed: int
    coordinates: str = ""
    lost: tuple[str, ...] = ()
    conditions: tuple[str, ...] = ("",)
    offers: str = ""
    currency: str = ""

    @property
    def differences(self) -> tuple[Difference, ...]:
        """What the methods differ by, wherever both gave an answer."""
        return tuple(difference(row) for row in self.rows if _both(row))

    @property
    def contradicted(self) -> tuple[RowFound, ...]:
        """Rows of which one method says that they pass and the other that they do not."""
        told = {"passes", "misses"}
        return tuple(
            item.row
            for item in self.differences
            if {item.row.thin.standing, item.row.best.standing} == told
        )

    @property
    def unanswered(self) -> tuple[RowFound, ...]:
        """Rows that could not be solved."""
        return tuple(row for row in self.rows if row.fault)

    @property
    def remedied(self) -> tuple[tuple[RowFound, Remedy], ...]:
        """Rows that do not pass, each with what would make it, in their order."""
        return tuple((row, row.remedy) for row in self.rows if row.remedy is not None)

    @property
    def unplaced(self) -> int:
        """Rows without coordinates, in a table that has some."""
        return sum(row.place is None for row in self.rows) if self.coordinates else 0

    def count(self, standing: str) -> int:
        """Number of rows of a standing."""
        return sum(row.best.standing == standing for row in self.rows)


def difference(row: RowFound) -> Difference:
    """Relative differences of a row that both methods have solved."""
    one, other = row.thin, row.elements
    assert other is not None
    share = other.share / one.share - 1.0
    if math.isnan(share):
        share = other.rise / one.rise - 1.0
    return Difference(row, share, other.resistance / one.resistance - 1.0)


def _both(row: RowFound) -> bool:
    return row.thin.solved and row.elements is not None and row.elements.solved
