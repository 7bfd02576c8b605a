"""Inverse-time relays of IEC 60255-151, and a clearing time that is simply given."""

import math
from dataclasses import dataclass
from typing import ClassVar, Literal

from ..errors import CaseError
from ..limits.contract import duration_in_words, refuse_unless_counted, refuse_unless_positive
from ..wording import AS_GIVEN, plain
from .contract import Trip, amperes, never, refuse_current

InverseCurve = Literal["standard inverse", "very inverse", "extremely inverse"]

# k [s] and α of curves A, B and C of IEC 60255-151:2009 annex A (from memory).
INVERSE_CONSTANTS: dict[str, tuple[float, float]] = {
    "standard inverse": (0.14, 0.02),
    "very inverse": (13.5, 1.0),
    "extremely inverse": (80.0, 2.0),
}

SURE_FROM = 1.3  # times the pickup: a relay must have started (older relay rules, from memory)
LEVEL_FROM = 20.0  # times the pickup: the time falls no further (from memory)
NO_CURRENT = 1e-6  # A, round-off of a path that is open or of metal that floats


@dataclass(frozen=True)
class InverseTimeRelay:
    r"""Overcurrent or earth-fault relay with the breaker it opens.

    Attributes
    ----------
    curve : {"standard inverse", "very inverse", "extremely inverse"}
        Curve A, B or C of the standard.
    pickup : float
        Setting G_s, as current in the circuit, not behind a transformer, > 0. [A]
    time_multiplier : float
        Time multiplier setting TMS, > 0. [1]
    opening_time : float
        From the relay's order to the end of the arc in the breaker, >= 0. [s]
    tolerance : float
        Error of the relay's time, share of it, from 0 to below 1. [1]

    Raises
    ------
    CaseError
        If a value is out of range or the curve is not one of these.

    Notes
    -----
    .. math:: t = TMS\,\frac{k}{(I/G_s)^\alpha - 1}

    IEC 60255-151:2009 equation 1 with c = 0 (from memory). Never up to the pickup; possibly
    up to 1.3 times it, where relays may not start and the formula runs to infinity; level from
    20 times it on, the end of the standard's effective range.

    Examples
    --------
    >>> relay = InverseTimeRelay("very inverse", pickup=200.0, time_multiplier=1.0)
    >>> round(relay.trip(2000.0).longest, 6)
    1.5
    """

    curve: InverseCurve
    pickup: float
    time_multiplier: float
    opening_time: float = 0.0
    tolerance: float = 0.0

    source: ClassVar[str] = (
        "IEC 60255-151:2009, inverse-time characteristic, annex A (from memory)"
    )
    caution: ClassVar[str] = (
        "settings in circuit amperes; a steady current without reset or overshoot"
    )

    def __post_init__(self) -> None:
        if self.curve not in INVERSE_CONSTANTS:
            there = ", ".join(INVERSE_CONSTANTS)
            msg = f"no relay curve {self.curve!r}; there are {there}"
            raise CaseError(msg)
        refuse_unless_positive(self.pickup, what="pickup of a relay", unit="A")
        refuse_unless_positive(self.time_multiplier, what="time multiplier of a relay", unit="")
        refuse_unless_counted(self.opening_time, what="opening time", unit="s")
        if not 0 <= self.tolerance < 1:
            msg = (
                f"tolerance {self.tolerance:g} of a relay's time: a share of it, 0 or more "
                "and below 1; 0.05 is 5 %"
            )
            raise CaseError(msg)

    def trip(self, current: float) -> Trip:
        """Whether and when the breaker opens; see `Characteristic.trip`."""
        refuse_current(current)
        multiple = current / self.pickup
        times = plain(multiple, 1.0, SURE_FROM, LEVEL_FROM)
        pickup = amperes(self.pickup, figures=AS_GIVEN)
        where = f"{amperes(current)} is {times} times the pickup {pickup}"
        if multiple <= 1:
            return never(f"{where}: the relay does not start")
        k, alpha = INVERSE_CONSTANTS[self.curve]
        # expm1: the difference of nearly equal numbers just above the pickup.
        above = math.expm1(alpha * math.log(min(multiple, LEVEL_FROM)))
        time = self.time_multiplier * k / above
        shortest = time * (1 - self.tolerance) + self.opening_time
        if multiple < SURE_FROM:
            words = (
                f"{where}: below {SURE_FROM:g} times it may start, not before "
                f"{duration_in_words(shortest)}, or never"
            )
            return Trip("possibly", shortest, math.inf, words)
        longest = time * (1 + self.tolerance) + self.opening_time
        level = f", level from {LEVEL_FROM:g} times on" if multiple > LEVEL_FROM else ""
        words = (
            f"{where}: {self.curve}{level}, {duration_in_words(time)} + opening "
            f"{duration_in_words(self.opening_time, figures=AS_GIVEN)}"
        )
        return Trip("certainly", shortest, longest, words)


@dataclass(frozen=True)
class FixedTime:
    """A clearing time that is given, from a pickup on if there is one.

    Attributes
    ----------
    clearing_time : float
        From the start of the fault to its end, > 0. [s]
    pickup : float or None
        Current up to which it does not act, > 0; None: it acts at any current. [A]

    Raises
    ------
    CaseError
        If a value is not positive and finite.

    Notes
    -----
    Without a current (below 1 µA) it never acts: its path is open, and the fault stays.
    """

    clearing_time: float
    pickup: float | None = None

    source: ClassVar[str] = "the user's own clearing time"
    caution: ClassVar[str] = (
        "taken as given; nothing here checks that any device opens in that time"
    )

    def __post_init__(self) -> None:
        refuse_unless_positive(self.clearing_time, what="clearing time", unit="s")
        if self.pickup is not None:
            refuse_unless_positive(self.pickup, what="pickup", unit="A")

    def trip(self, current: float) -> Trip:
        """The given time; see `Characteristic.trip`."""
        refuse_current(current)
        if current < NO_CURRENT:
            return never("no current flows where it measures: it does not act")
        if self.pickup is not None and current <= self.pickup:
            return never(
                f"{amperes(current, self.pickup)}: up to the pickup "
                f"{amperes(self.pickup, figures=AS_GIVEN)} it does not act"
            )
        given = duration_in_words(self.clearing_time, figures=AS_GIVEN)
        words = f"{amperes(current)}: cleared in the {given} given"
        return Trip("certainly", self.clearing_time, self.clearing_time, words)
