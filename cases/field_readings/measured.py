"""From the measured block of a case to readings that the solver takes."""

import math
from dataclasses import dataclass
from pathlib import Path

from ...solver.errors import BudgetError, CaseError, Problem
from ...solver.field_readings import Measured, Reading, ReadingNote, Readings, Series
from ...solver.model import Conductors
from ..reading.documents import Document
from ..reading.size_limits import MOST_READINGS
from . import schema as schema
from .rows import measured_rows
from .setup import Setup


def measured_of(
    given: schema.Measured, *, conductors: Conductors, document: Document, folder: Path | None
) -> Measured:
    """Field measurements of a case.

    `CaseError` if a table is missing, or readings are wrong, with line numbers; `BudgetError`
    if a table is larger than the limits allow.
    """
    problems: list[Problem] = []
    read: list[_ReadSeries] = []
    for number, series in enumerate(given.series):
        usual = series.deviation or given.deviation
        setup = Setup(series, number, conductors, usual=usual)
        try:
            read.append(_read(series, setup, number, document=document, folder=folder))
        except BudgetError:
            raise
        except CaseError as error:
            problems += error.problems
    if problems:
        raise CaseError(problems)
    items = [item for each in read for item in each.items]
    if len(items) > MOST_READINGS:
        msg = f"{len(items):,} readings in all; at most {MOST_READINGS:,} are compared at once"
        raise BudgetError([document.problem(msg, path=("measured", "series"))])
    try:
        readings = Readings(tuple(items))
    except CaseError as error:
        found = [document.problem(p.message, path=("measured",)) for p in error.problems]
        raise CaseError(found) from error
    return Measured(
        series=tuple(
            Series(s.name, s.date, s.note, s.across, s.electrode, _words(s.current_returns))
            for s in given.series
        ),
        readings=readings,
        notes=tuple(note for each in read for note in each.notes),
        fit=given.fit,
        warnings=tuple(warning for each in read for warning in each.warnings),
        tables=tuple((each.file, each.sha256) for each in read if each.file),
    )


@dataclass(frozen=True)
class _ReadSeries:
    """Readings of one series with what was noted beside them, and the table they are from."""

    items: list[Reading]
    notes: list[ReadingNote]
    warnings: list[str]
    file: str
    sha256: str


def _read(
    series: schema.Series,
    setup: Setup,
    number: int,
    *,
    document: Document,
    folder: Path | None,
) -> _ReadSeries:
    path = ("measured", "series", number)
    rows, sha256 = measured_rows(series, path=path, document=document, folder=folder)
    items: list[Reading] = []
    notes: list[ReadingNote] = []
    problems: list[Problem] = []
    if (whole := setup.loop()) is not None:
        items.append(whole)
        notes.append(ReadingNote(number, 0, math.nan, ""))
    for count, (row, problem) in enumerate(rows, start=1):
        try:
            item, beside = setup.reading(row, number=count)
        except CaseError as error:
            problems += [problem(found.message) for found in error.problems]
            continue
        items.append(item)
        notes.append(beside)
    if problems:
        raise CaseError(problems)
    return _ReadSeries(items, notes, setup.warnings, series.file or "", sha256)


def _words(returns: str | tuple[float, ...]) -> str:
    if isinstance(returns, str):
        return returns
    return f"a pin at ({returns[0]:g}, {returns[1]:g}) m"
