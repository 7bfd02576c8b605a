"""What a meter was across in one series: its rows made into readings that the solver takes."""

import math
from typing import Literal

import numpy as np

from ...solver.errors import CaseError
from ...solver.field_readings import End, Reading, ReadingNote
from ...solver.field_readings.transfer import refuse_places_in_metal
from ...solver.model import Conductors
from ...solver.polygons import nearest_on_segments
from . import schema as schema
from .schema import PROBE, REFERENCE, REMOTE_EARTH, SECOND_PROBE

# A background above this share of a reading makes it doubtful.
_much_background = 0.2


class Setup:
    """Makes solver readings of the rows of one series.

    Parameters
    ----------
    series : schema_measured.Series
        The block of the series; the names in it have been checked.
    usual : float
        Deviation of readings that give none, as a share of the reading. [1]

    Attributes
    ----------
    warnings : list of str
        What looks doubtful in the readings made so far.
    """

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

    def reading(self, row: schema.MeterReading, *, number: int) -> tuple[Reading, ReadingNote]:
        """One reading, counted from 1 in its series, and what was noted beside it.

        `CaseError` if it gives no value or two, a probe's place is missing or not used or in
        metal, or its deviation would be nought.
        """
        s = self._series
        at, distance = self._probe(row)
        value, volts, per = self._value(row)
        deviation = (row.deviation or self._usual) * abs(value)
        background = abs(
            s.background_voltage if row.background_voltage is None else row.background_voltage
        )
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
        return item, ReadingNote(self._number, number, distance, row.note)

    def _value(
        self, row: schema.MeterReading
    ) -> tuple[float, float, Literal["ampere", "source"]]:
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

    def _probe(self, row: schema.MeterReading) -> tuple[tuple[float, ...] | None, float]:
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
        place = np.array([at[:2]])
        nearest = nearest_on_segments(place, start=c.start[mine, :2], end=c.end[mine, :2])
        return float(np.linalg.norm(place - nearest))

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
