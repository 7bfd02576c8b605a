"""Field measurements of a case: readings, and what outputs say beside them."""

from dataclasses import dataclass

from .readings import Readings


@dataclass(frozen=True)
class Series:
    """Readings of one set-up, as far as outputs speak of it."""

    name: str  # the user's words
    date: str
    note: str
    across: tuple[str, str]  # what the meter was across
    electrode: str  # where the current entered the soil, and where it left it
    returns: str


@dataclass(frozen=True)
class ReadingNote:
    """What was noted beside one reading."""

    series: int  # index of its series
    number: int  # number in the series, counted from 1; 0 for source voltage over current
    # Of the probe along the line, or in plan from the axis of the nearest metal of the
    # electrode that carries the current; nan without a probe. [m]
    distance: float
    note: str  # the user's words


@dataclass(frozen=True)
class Measured:
    """Field measurements of a case."""

    series: tuple[Series, ...]  # the set-ups
    readings: Readings  # all readings, in the order of the file
    notes: tuple[ReadingNote, ...]  # what was noted beside each
    fit: tuple[str, ...] = ()  # names of what to fit; empty to leave it to the program
    warnings: tuple[str, ...] = ()  # what looks doubtful; nothing was changed
    tables: tuple[tuple[str, str], ...] = ()  # name and hash of each table read
