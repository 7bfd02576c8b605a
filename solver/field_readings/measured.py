"""Field measurements of a case: readings, and what outputs say beside them."""

from dataclasses import dataclass

from .readings import Readings


@dataclass(frozen=True)
class Series:
    """Readings of one set-up, as far as outputs speak of it.

    Attributes
    ----------
    name, date, note : str
        The user's words.
    across : tuple of str
        What the meter was across.
    electrode, returns : str
        Where the current entered the soil, and where it left it.
    """

    name: str
    date: str
    note: str
    across: tuple[str, str]
    electrode: str
    returns: str


@dataclass(frozen=True)
class ReadingNote:
    """What was noted beside one reading.

    Attributes
    ----------
    series : int
        Index of its series.
    number : int
        Number in the series, counted from 1; 0 for source voltage over current.
    distance : float
        Of the probe along the line, or in plan from the axis of the nearest metal of the
        electrode that carries the current; nan without a probe. [m]
    note : str
        The user's words.
    """

    series: int
    number: int
    distance: float
    note: str


@dataclass(frozen=True)
class Measured:
    """Field measurements of a case.

    Attributes
    ----------
    series : tuple of Series
        The set-ups.
    readings : Readings
        All readings, in the order of the file.
    notes : tuple of ReadingNote
        What was noted beside each.
    fit : tuple of str
        Names of what to fit; empty to leave it to the program.
    warnings : tuple of str
        What looks doubtful; nothing was changed.
    tables : tuple of tuple of str
        Name and hash of each table read.
    """

    series: tuple[Series, ...]
    readings: Readings
    notes: tuple[ReadingNote, ...]
    fit: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    tables: tuple[tuple[str, str], ...] = ()
