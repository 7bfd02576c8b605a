"""Fuses and relays by time-current points that the user reads off the maker's curve."""

import math
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from ..errors import CaseError
from ..limits.contract import duration_in_words, refuse_unless_counted, refuse_unless_positive
from ..limits.time_current import straight_on_logs
from ..wording import AS_GIVEN, listed, plain
from .contract import Trip, amperes, never, refuse_current

Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class TimeCurrentPoints:
    """One curve, or the two that bound a band, straight on logarithmic axes between points.

    Attributes
    ----------
    first : tuple of (float, float)
        Current and time of the only curve, or of the one before which nothing opens
        (minimum melting), currents rising, times not. [A, s]
    last : tuple of (float, float), or None
        The same of the curve by which everything has opened (total clearing). [A, s]
    opening_time : float
        What a breaker takes after its relay, added to both, >= 0. [s]

    Raises
    ------
    CaseError
        If points are not positive, do not rise in current or rise in time, or the second
        curve lies below the first.

    Notes
    -----
    Below the smallest current of the first curve it never opens; between the smallest
    currents of the two it may. Beyond the largest current the time of the last point is kept.

    Examples
    --------
    >>> link = TimeCurrentPoints(((20.0, 100.0), (2000.0, 0.01)))
    >>> round(link.trip(200.0).longest, 6)
    1.0
    """

    first: Points
    last: Points | None = None
    opening_time: float = 0.0

    source: ClassVar[str] = "the user's time-current points"
    caution: ClassVar[str] = (
        "points as the user read them; one curve alone holds no tolerance: for a verdict use "
        "the slowest device of the kind"
    )

    def __post_init__(self) -> None:
        refuse_unless_counted(self.opening_time, what="opening time", unit="s")
        _refuse_points(self.first)
        if self.last is not None:
            _refuse_points(self.last)
            _refuse_crossing(self.first, self.last)

    def trip(self, current: float) -> Trip:
        """Whether and when the device opens; see `Characteristic.trip`."""
        refuse_current(current)
        clearing = self.first if self.last is None else self.last
        least, sure = self.first[0][0], clearing[0][0]
        if current < least:
            return never(
                f"{amperes(current, least)} is below the smallest current of the points, "
                f"{amperes(least, figures=AS_GIVEN)}: it stays closed"
            )
        shortest = straight_on_logs(self.first, current) + self.opening_time
        if current < sure:
            words = (
                f"{amperes(current, least, sure)}: between the smallest currents of the two "
                f"curves, {amperes(least, figures=AS_GIVEN)} and "
                f"{amperes(sure, figures=AS_GIVEN)}, it may open, not before "
                f"{duration_in_words(shortest)}, or never"
            )
            return Trip("possibly", shortest, math.inf, words)
        longest = straight_on_logs(clearing, current) + self.opening_time
        beyond = current > clearing[-1][0]
        where = ", beyond the last point, whose time is kept" if beyond else ""
        span = duration_in_words(longest)
        if longest > shortest:
            span = f"{duration_in_words(shortest)} to {span}"
        words = f"{amperes(current, sure)}{where}: opens in {span}"
        return Trip("certainly", shortest, longest, words)


def _refuse_points(points: Points) -> None:
    if len(points) < 2:
        msg = f"a time-current curve needs two or more points; got {len(points)}"
        raise CaseError(msg)
    for current, time in points:
        refuse_unless_positive(current, what="current of a point", unit="A")
        refuse_unless_positive(time, what="time of a point", unit="s")
    currents, times = np.array(points).T
    if (np.diff(currents) <= 0).any():
        msg = f"currents of a time-current curve must rise; got {listed(currents)} A"
        raise CaseError(msg)
    if (np.diff(times) > 0).any():
        msg = f"times of a time-current curve cannot rise; got {listed(times)} s"
        raise CaseError(msg)


def _refuse_crossing(first: Points, last: Points) -> None:
    """Raise `CaseError` if total clearing is anywhere below minimum melting."""
    if last[0][0] < first[0][0]:
        melts, starts = (amperes(curve[0][0], figures=AS_GIVEN) for curve in (first, last))
        msg = (
            f"total clearing starts at {starts}, below minimum melting at "
            f"{melts}; the first curve must start at the smaller current"
        )
        raise CaseError(msg)
    corners = {c for c, _ in (*first, *last) if c >= last[0][0]}
    for current in sorted(corners):
        melting, clearing = (straight_on_logs(curve, current) for curve in (first, last))
        # Round-off of the logarithms where the two curves meet.
        if clearing < melting * (1 - 1e-9):
            msg = (
                f"total clearing {plain(clearing, melting)} s is below minimum melting "
                f"{plain(melting, clearing)} s at {amperes(current, figures=AS_GIVEN)}; "
                "check that the curves are not swapped"
            )
            raise CaseError(msg)
