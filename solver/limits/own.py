"""Limits of the user's own: volts, milliamperes, or a table of volts by duration."""

import math
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from ..errors import CaseError
from ..wording import AS_GIVEN, listed, plain
from .contract import (
    EVERY_EXPOSURE,
    Effect,
    Exposure,
    Limit,
    Standing,
    duration_in_words,
    ohms_in_words,
    refuse_duration,
    refuse_exposure,
    refuse_unless_counted,
    refuse_unless_positive,
)
from .feet import feet_resistance
from .time_current import straight_on_logs, zone_or_none

_SOURCE = "the user's own limit"
_PROTECTS = "those its author set it for"
_CAUTION = "set by the user; nothing here checks whom it protects"


@dataclass(frozen=True)
class OwnVoltage:
    """The same prospective voltage for every duration, or one for each of several.

    Attributes
    ----------
    name : str
        The user's own name of the limit.
    points : tuple of (float, float)
        Duration [s] and prospective voltage [V]. One point alone holds for every duration,
        whatever its own; several are joined by straight lines on logarithmic axes and hold
        from the first to the last, nowhere else.
    body_resistance : float
        Body whose current is printed, > 0. [Ω]

    Raises
    ------
    CaseError
        If a value is not positive and finite, durations do not rise, or a voltage rises.
    """

    name: str
    points: tuple[tuple[float, float], ...]
    body_resistance: float = 1000.0

    exposures: ClassVar[tuple[Exposure, ...]] = EVERY_EXPOSURE
    pace: ClassVar[float | None] = None
    source: ClassVar[str] = _SOURCE
    caution: ClassVar[str] = _CAUTION
    protects: ClassVar[str] = _PROTECTS

    def __post_init__(self) -> None:
        if not self.points:
            msg = "a table of limits needs one or more points of duration and voltage"
            raise CaseError(msg)
        for duration, voltage in self.points:
            refuse_unless_positive(duration, what="duration of a limit", unit="s")
            refuse_unless_positive(voltage, what="limit", unit="V")
        durations, voltages = np.array(self.points).T
        if (np.diff(durations) <= 0).any():
            msg = f"durations of a table of limits must rise; got {listed(durations)} s"
            raise CaseError(msg)
        if (np.diff(voltages) > 0).any():
            msg = f"a limit cannot rise with the duration; got {listed(voltages)} V"
            raise CaseError(msg)
        refuse_unless_positive(self.body_resistance, what="body resistance", unit="ohm")

    @property
    def durations(self) -> tuple[float, float]:
        """Shortest and longest duration it holds for. [s]"""
        if len(self.points) == 1:
            return 0.0, math.inf
        return self.points[0][0], self.points[-1][0]

    def permissible(self, exposure: Exposure, *, duration: float, standing: Standing) -> Limit:
        """Prospective voltage set by the user; see `LimitSet.permissible`."""
        refuse_exposure(exposure, allowed=self.exposures, by="your own limit")
        refuse_duration(
            duration,
            allowed=self.durations,
            by=f"the table of limit {self.name!r}",
            too_long="add a point to it; it is not extrapolated",
        )
        if len(self.points) == 1:
            voltage, how = self.points[0][1], "for every duration"
            words = plain(voltage, figures=AS_GIVEN)
        else:
            voltage = straight_on_logs(self.points, duration)
            words = plain(voltage)
            how = f"at {duration_in_words(duration)}, from a table of {len(self.points)}"
        return Limit(voltage, f"{words} V {how}", self.source)

    def effect(
        self, exposure: Exposure, *, voltage: float, duration: float, standing: Standing
    ) -> Effect:
        """Current through the stated body with feet on the soil; see `LimitSet.effect`."""
        refuse_exposure(exposure, allowed=self.exposures, by="your own limit")
        feet = feet_resistance(exposure, standing=standing)
        return _effect(voltage, self.body_resistance, feet, duration)


@dataclass(frozen=True)
class OwnCurrent:
    """A body current through a given body resistance, for every duration.

    Attributes
    ----------
    name : str
        The user's own name of the limit.
    current : float
        Largest body current, > 0. [A]
    body_resistance : float
        Resistance of the body, > 0. [Ω]
    feet : bool
        Whether the soil under the feet (1.5 ρ, 6 ρ) counts in series.

    Raises
    ------
    CaseError
        If a value is not positive and finite.
    """

    name: str
    current: float
    body_resistance: float
    feet: bool = False

    exposures: ClassVar[tuple[Exposure, ...]] = EVERY_EXPOSURE
    durations: ClassVar[tuple[float, float]] = (0.0, math.inf)
    pace: ClassVar[float | None] = None
    source: ClassVar[str] = _SOURCE
    caution: ClassVar[str] = _CAUTION
    protects: ClassVar[str] = _PROTECTS

    def __post_init__(self) -> None:
        refuse_unless_positive(self.current, what="largest body current", unit="A")
        refuse_unless_positive(self.body_resistance, what="body resistance", unit="ohm")

    def permissible(self, exposure: Exposure, *, duration: float, standing: Standing) -> Limit:
        """Prospective voltage that drives the current; see `LimitSet.permissible`."""
        refuse_exposure(exposure, allowed=self.exposures, by="your own limit")
        refuse_duration(duration, allowed=self.durations, by="your own limit")
        feet = self._feet(exposure, standing)
        words = (
            f"{plain(1e3 * self.current, figures=AS_GIVEN)} mA through body "
            f"{ohms_in_words(self.body_resistance, figures=AS_GIVEN)} + "
            f"feet {ohms_in_words(feet)} for every duration"
        )
        return Limit(self.current * (self.body_resistance + feet), words, self.source)

    def effect(
        self, exposure: Exposure, *, voltage: float, duration: float, standing: Standing
    ) -> Effect:
        """Current through the stated body; see `LimitSet.effect`."""
        refuse_exposure(exposure, allowed=self.exposures, by="your own limit")
        feet = self._feet(exposure, standing)
        return _effect(voltage, self.body_resistance, feet, duration)

    def _feet(self, exposure: Exposure, standing: Standing) -> float:
        counts = self.feet or standing.solved_feet is not None
        return feet_resistance(exposure, standing=standing) if counts else 0.0


def _effect(voltage: float, body: float, feet: float, duration: float) -> Effect:
    refuse_unless_counted(voltage, what="prospective voltage", unit="V")
    current = voltage / (body + feet)
    label = zone_or_none(current, duration=duration)
    return Effect(
        current,
        body * current,
        label,
        f"body {ohms_in_words(body, figures=AS_GIVEN)} + feet {ohms_in_words(feet)}",
    )
