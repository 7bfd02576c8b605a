"""Time-current curves and zones of IEC 60479-1, alternating current of 15 to 100 Hz.

All points are from memory. Zones:

AC-1
    below curve a: perhaps felt.
AC-2
    a to b: felt, muscles may contract; usually no harm.
AC-3
    above b: strong involuntary contraction, difficulty in breathing; unable to let go.
AC-4.1
    above c1: ventricular fibrillation, up to about 5 %.
AC-4.2
    above c2: ventricular fibrillation, up to about 50 %.
AC-4.3
    above c3: ventricular fibrillation, more than about 50 %.
"""

import math
from typing import Literal

import numpy as np
from scipy.interpolate import PchipInterpolator

from ..errors import CaseError
from .contract import refuse_duration, refuse_unless_counted
from .touch_table import TOUCH_POINTS

Curve = Literal["a", "b", "c1", "c2", "c3"]
LimitCurve = Literal["a", "b", "c1", "c2"]

SHORTEST = 0.01  # s; shorter impulses are another part of the standard

CURVE_MEANING: dict[str, str] = {
    "a": "perception",
    "b": "let-go",
    "c1": "threshold of ventricular fibrillation",
    "c2": "ventricular fibrillation of about 5 %",
    "c3": "ventricular fibrillation of about 50 %",
}

_FIBRILLATION: tuple[tuple[str, Curve], ...] = (
    ("AC-4.3", "c3"),
    ("AC-4.2", "c2"),
    ("AC-4.1", "c1"),
)

_PERCEPTION = 0.5e-3
# Both ends from memory; between them a straight line on logarithmic axes, which is ours and
# lies below 10 mA + 10 mA s / t of the 1994 edition (from memory).
_LET_GO = ((0.01, 0.200), (10.0, 0.005))
_C1 = ((0.01, 0.500), (0.10, 0.400), (1.0, 0.050), (3.0, 0.040))
_C2 = tuple((duration, current) for duration, current, _ in TOUCH_POINTS)

# The figure ends near 1 A and 50 mA (c2), 1.5 A and 80 mA (c3), from memory: the same ratio at
# both ends. That it holds between them is ours; c3 divides two zones and limits nothing.
_C3_OVER_C2 = 1.6

_smooth_c1 = PchipInterpolator(*np.log(_C1).T)


def curve_current(curve: Curve, *, duration: float) -> float:
    """Current on a time-current curve. [A]

    Parameters
    ----------
    curve : {"a", "b", "c1", "c2", "c3"}
        a perception, b let-go, c1 to c3 ventricular fibrillation, left hand to feet.
    duration : float
        How long the current flows, >= 0.01; `math.inf` for continuous. [s]

    Raises
    ------
    CaseError
        If the curve is not known here or the duration is shorter than 0.01 s.

    Notes
    -----
    a: 0.5 mA. b: 200 mA at 10 ms to 5 mA from 10 s on. c1: 500 mA at 10 ms, 400 mA at
    100 ms, 50 mA at 1 s, 40 mA from 3 s on, smooth between (monotone cubic on logarithmic
    axes). c2: the body currents of EN 50522, straight between on logarithmic axes, level
    outside 0.05 to 10 s: lower than the curve below 0.05 s. c3: 1.6 times c2, rough. All from
    memory.
    """
    if curve not in CURVE_MEANING:
        msg = f"no time-current curve {curve!r}; there are {', '.join(CURVE_MEANING)}"
        raise CaseError(msg)
    refuse_duration(duration, allowed=(SHORTEST, math.inf), by="a curve of IEC 60479-1")
    if curve == "a":
        return _PERCEPTION
    if curve == "c1":
        within = min(duration, _C1[-1][0])
        return float(np.exp(_smooth_c1(math.log(within))))
    if curve == "b":
        return straight_on_logs(_LET_GO, duration)
    c2 = straight_on_logs(_C2, duration)
    return c2 if curve == "c2" else _C3_OVER_C2 * c2


def straight_on_logs(points: tuple[tuple[float, float], ...], at: float) -> float:
    """Value between points, places rising, straight on logarithmic axes, level outside."""
    places, values = np.log(points).T
    return float(np.exp(np.interp(min(math.log(at), places[-1]), places, values)))


def zone_or_none(current: float, *, duration: float) -> str:
    """Time-current zone of a body current through the heart; empty below 0.01 s."""
    return zone(current, duration=duration) if duration >= SHORTEST else ""


def zone(current: float, *, duration: float, heart_factor: float = 1.0) -> str:
    """Time-current zone of a body current.

    Parameters
    ----------
    current : float
        Body current, effective value, >= 0. [A]
    duration : float
        How long it flows, >= 0.01; `math.inf` for continuous. [s]
    heart_factor : float
        Heart-current factor of the path, > 0; it weighs the c curves, not a and b. [1]

    Returns
    -------
    zone : str
        ``AC-1``, ``AC-2``, ``AC-3``, ``AC-4.1``, ``AC-4.2`` or ``AC-4.3``.

    Raises
    ------
    CaseError
        If the current is negative or the duration below 0.01 s.

    Examples
    --------
    >>> zone(0.030, duration=0.2), zone(0.030, duration=math.inf)
    ('AC-2', 'AC-3')
    """
    refuse_unless_counted(current, what="body current", unit="A")
    at_heart = current * heart_factor
    for label, curve in _FIBRILLATION:
        if at_heart > curve_current(curve, duration=duration):
            return label
    if current > curve_current("b", duration=duration):
        return "AC-3"
    return "AC-2" if current > curve_current("a", duration=duration) else "AC-1"
