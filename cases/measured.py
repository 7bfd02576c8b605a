"""From the measured block of a case to readings that the solver takes."""

import hashlib
import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Literal

import numpy as np

from ..errors import BudgetError, CaseError, Problem
from ..solver.measured import End, Reading, Readings
from ..solver.measured.transfer import refuse_places_in_metal
from ..solver.model import Conductors
from . import schema_measured as schema
from .documents import Document, Step
from .limits import MOST_READINGS
from .measured_table import read_measured_table
from .schema_measured import PROBE, REFERENCE, REMOTE_EARTH, SECOND_PROBE
from .tables import content_beside

# A background above this share of a reading makes it doubtful.
_much_background = 0.2


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
class Told:
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
    volts : float
        Voltage per unit of the reading: current or source voltage; nan where not known.
    note : str
        The user's words.
    """

    series: int
    number: int
    distance: float
    volts: float
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
    told : tuple of Told
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
    told: tuple[Told, ...]
    fit: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    tables: tuple[tuple[str, str], ...] = ()


def measured_of(
    given: schema.Measured, *, conductors: Conductors, document: Document, folder: Path | None
) -> Measured:
    """Field measurements of a case.

    Parameters
    ----------
    given : schema_measured.Measured
        The block.
    conductors : Conductors
        Metal of the case.
    document : Document
        Document of the case, for lines and places.
    folder : Path or None
        Folder of the case file, for tables.

    Raises
    ------
    CaseError
        If a table is missing, or readings are wrong; with line numbers.
    BudgetError
        If a table is larger than the limits allow.
    """
    problems: list[Problem] = []
    tables: list[tuple[str, str]] = []
    items: list[Reading] = []
    told: list[Told] = []
    warnings: list[str] = []
    for number, series in enumerate(given.series):
        setup = _Setup(
            series, number, conductors, usual=series.deviation or given.deviation,
        )  # fmt: skip
        try:
            rows = _rows(
                series, path=("measured", "series", number), document=document, folder=folder,
                tables=tables,
            )  # fmt: skip
        except BudgetError:
            raise
        except CaseError as error:
            problems += error.problems
            continue
        if (whole := setup.loop()) is not None:
            items.append(whole)
            told.append(Told(number, 0, math.nan, series.current or math.nan, ""))
        for count, row in enumerate(rows, start=1):
            try:
                item, beside = setup.reading(row, number=count)
            except CaseError as error:
                problems += [row.problem(found.message) for found in error.problems]
                continue
            items.append(item)
            told.append(beside)
        warnings += setup.warnings
    if problems:
        raise CaseError(problems)
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
        told=tuple(told),
        fit=given.fit,
        warnings=tuple(warnings),
        tables=tuple(tables),
    )


@dataclass(frozen=True)
class _Row:
    """One reading as written, with its place for messages."""

    problem: Callable[[str], Problem]
    at: tuple[float, ...] | None
    second_at: tuple[float, ...] | None
    distance: float | None
    voltage: float | None
    resistance: float | None
    fraction: float | None
    current: float | None
    background: float | None
    deviation: float | None
    note: str


def _rows(
    series: schema.Series,
    *,
    path: tuple[Step, ...],
    document: Document,
    folder: Path | None,
    tables: list[tuple[str, str]],
) -> list[_Row]:
    if series.readings is not None:
        return [
            _Row(
                problem=partial(document.problem, path=(*path, "readings", number)),
                at=r.at, second_at=r.second_at, distance=r.distance, voltage=r.voltage,
                resistance=r.resistance, fraction=r.fraction, current=r.current,
                background=r.background_voltage, deviation=r.deviation, note=r.note,
            )
            for number, r in enumerate(series.readings)
        ]  # fmt: skip
    assert series.file is not None
    try:
        content = content_beside(series.file, folder=folder)
    except CaseError as error:
        found = [
            document.problem(p.message.removeprefix("file: "), path=(*path, "file"))
            for p in error.problems
        ]
        raise type(error)(found) from error
    tables.append((series.file, hashlib.sha256(content).hexdigest()))
    rows = []
    for row in read_measured_table(content, file=series.file):
        v = row.values
        rows.append(
            _Row(
                problem=partial(Problem, file=series.file, line=row.line),
                at=_vertex(v, ""), second_at=_vertex(v, "second_"), distance=v.get("distance"),
                voltage=v.get("voltage"), resistance=v.get("resistance"),
                fraction=v.get("fraction"), current=v.get("current"),
                background=v.get("background_voltage"), deviation=v.get("deviation"),
                note=row.note,
            )
        )  # fmt: skip
    return rows


def _vertex(values: dict[str, float], prefix: str) -> tuple[float, ...] | None:
    """Place in a row of a table; nan stands for what is missing."""
    keys = [f"{prefix}{axis}" for axis in ("x", "y", "depth")]
    if not any(key in values for key in keys):
        return None
    x, y, depth = (values.get(key, math.nan) for key in keys)
    return (x, y, 0.0 if math.isnan(depth) else depth)


class _Setup:
    """Makes solver readings of the rows of one series."""

    def __init__(
        self, series: schema.Series, number: int, conductors: Conductors, *, usual: float
    ) -> None:
        self._series = series
        self._number = number
        self._conductors = conductors
        self._usual = usual
        self._groups = {name: k for k, name in enumerate(conductors.group_names)}
        self.warnings: list[str] = []

    @property
    def _source(self) -> int:
        return self._groups[self._series.electrode]

    @property
    def _returns(self) -> End:
        back = self._series.current_returns
        if isinstance(back, str):
            return End() if back == REMOTE_EARTH else End(group=self._groups[back])
        return End(place=_place(back))

    def loop(self) -> Reading | None:
        """Source voltage over current, where the series gives both."""
        s = self._series
        if s.source_voltage is None or s.current is None or self._returns.is_pin:
            return None
        value = s.source_voltage / s.current
        return Reading(
            plus=End(group=self._source), minus=self._returns, current_from=self._source,
            current_to=self._returns, value=value, deviation=self._usual * abs(value),
            return_resistance=s.return_resistance, series=self._number, loop=True,
        )  # fmt: skip

    def reading(self, row: _Row, *, number: int) -> tuple[Reading, Told]:
        """One reading, and what was noted beside it."""
        s = self._series
        at, distance = self._probe(row)
        value, volts, per = self._value(row)
        deviation = (row.deviation or self._usual) * abs(value)
        background = abs(s.background_voltage if row.background is None else row.background)
        if background:
            if math.isnan(volts):
                msg = "background_voltage needs the current or the source voltage beside it"
                raise CaseError(msg)
            # Its phase is not known: root mean square over all phases.
            deviation = math.hypot(deviation, background / abs(volts) / math.sqrt(2))
            if background > _much_background * abs(value * volts):
                self.warnings.append(
                    f"{s.name}, reading {number}: the background is above a fifth of the "
                    "reading; reverse the current or change its frequency and read again"
                )
        if deviation == 0:
            msg = "a reading of 0 has no deviation in %; give a background_voltage with it"
            raise CaseError(msg)
        plus, minus = (self._end(name, at=at, second=row.second_at) for name in s.across)
        item = Reading(
            plus=plus, minus=minus, current_from=self._source, current_to=self._returns,
            per=per, value=value, deviation=deviation, return_resistance=s.return_resistance,
            meter_resistance=s.meter_resistance or math.inf, pin_resistance=s.probe_resistance,
            series=self._number,
        )  # fmt: skip
        pins = [end.place for end in item.ends if end.place]
        refuse_places_in_metal(np.array(pins).reshape(-1, 3), conductors=self._conductors)
        return item, Told(self._number, number, distance, volts, row.note)

    def _value(self, row: _Row) -> tuple[float, float, Literal["ampere", "source"]]:
        """Value, volts per unit of it, and what it was divided by."""
        s = self._series
        given = [v for v in (row.voltage, row.resistance, row.fraction) if v is not None]
        if len(given) != 1:
            msg = "give one of voltage, resistance and fraction"
            raise CaseError(msg)
        current = row.current if row.current is not None else s.current
        if current == 0:
            msg = "current: 0 A; a reading needs a current"
            raise CaseError(msg)
        source = s.source_voltage
        if row.fraction is not None:
            return row.fraction, source or math.nan, "source"
        if row.resistance is not None:
            return row.resistance, current or math.nan, "ampere"
        assert row.voltage is not None
        if current is not None:
            return row.voltage / current, current, "ampere"
        if source is not None:
            return row.voltage / source, source, "source"
        msg = "a voltage needs the current, or the source voltage of its series, beside it"
        raise CaseError(msg)

    def _probe(self, row: _Row) -> tuple[tuple[float, ...] | None, float]:
        """Place of the probe, and how far out it is."""
        s = self._series
        at = row.at
        uses = PROBE in s.across
        if row.distance is not None:
            if at is not None:
                msg = "give the place of the probe or its distance, not both"
                raise CaseError(msg)
            if s.line is None:
                msg = "distance: the series needs a line: {start: [x, y], azimuth: ...}"
                raise CaseError(msg)
            x, y = s.line.start
            d, along = row.distance, s.line.azimuth
            at = (x + d * math.cos(along), y + d * math.sin(along))
        if uses and (at is None or any(map(math.isnan, at))):
            msg = "the place of the probe is missing: give at: [x, y], or distance (x and y)"
            raise CaseError(msg)
        if not uses and at is not None:
            msg = f"the meter is not on a '{PROBE}'; name it in 'across' or leave the place out"
            raise CaseError(msg)
        second = SECOND_PROBE in s.across
        if second != (row.second_at is not None) or any(map(math.isnan, row.second_at or ())):
            msg = (
                f"the place of the second probe is missing or not used: give second_at "
                f"(second_x and second_y) and name '{SECOND_PROBE}' in 'across'"
            )
            raise CaseError(msg)
        if at is None:
            return None, math.nan
        return at, row.distance if row.distance is not None else self._gap(at)

    def _gap(self, at: tuple[float, ...]) -> float:
        """Distance in plan from the nearest axis of the electrode's metal. [m]"""
        c = self._conductors
        mine = c.group == self._source
        start, along = c.start[mine, :2], (c.end - c.start)[mine, :2]
        square = np.maximum((along**2).sum(axis=1), 1e-30)
        share = np.clip(((np.array(at[:2]) - start) * along).sum(axis=1) / square, 0, 1)
        return float(np.hypot(*(np.array(at[:2]) - start - share[:, None] * along).T).min())

    def _end(
        self, name: str, *, at: tuple[float, ...] | None, second: tuple[float, ...] | None
    ) -> End:
        if name == REMOTE_EARTH:
            return End(reference=True)
        if name == REFERENCE:
            assert self._series.reference is not None
            return End(place=_place(self._series.reference), reference=True)
        if name in (PROBE, SECOND_PROBE):
            place = at if name == PROBE else second
            assert place is not None
            return End(place=_place(place))
        return End(group=self._groups[name])


def _place(vertex: tuple[float, ...]) -> tuple[float, float, float]:
    """Place of a vertex of the case file, whose depth is positive down."""
    return (vertex[0], vertex[1], -vertex[2] if len(vertex) > 2 else 0.0)


def _words(returns: str | tuple[float, ...]) -> str:
    if isinstance(returns, str):
        return returns
    return f"a pin at ({returns[0]:g}, {returns[1]:g}) m"
