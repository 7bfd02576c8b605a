"""Permissible touch voltage of EN 50522 and IEC 61936-1, by duration."""

import math
from dataclasses import dataclass
from functools import cache
from typing import ClassVar

from scipy.optimize import brentq

from ..wording import plain
from .body import Body
from .body_table import HEART_CURRENT_FACTOR
from .contract import (
    Effect,
    Exposure,
    Limit,
    Standing,
    duration_in_words,
    in_shoes,
    ohms_in_words,
    refuse_duration,
    refuse_exposure,
    refuse_unless_counted,
)
from .feet import feet_resistance
from .own import OwnVoltage
from .time_current import straight_on_logs, zone
from .touch_table import LONG_TOUCH_VOLTAGE, TOUCH_POINTS

# Paths of the mean and what the standard makes of each voltage (method read in a secondary
# source, factors from memory).
_PATH_WEIGHT = {
    "left hand to both feet": 1.0,
    "right hand to both feet": 1.0,
    "both hands to both feet": 1.0,
    "hand to hand": 0.7,
}
_LONGEST_POINT = TOUCH_POINTS[-1][0]
_BODY = Body("left hand to both feet", percentile=50)


def rebuilt_touch_voltage(current: float) -> float:
    """Touch voltage that the standard's own method makes of a body current. [V]

    Parameters
    ----------
    current : float
        Permissible body current, left hand to feet, >= 0. [A]

    Raises
    ------
    CaseError
        If the current is negative or not finite.

    Notes
    -----
    Mean over left hand, right hand and both hands to both feet, and hand to hand (counted
    0.7), of the U that solves U = I/F × Z₅₀(U) × body factor. EN 50522:2010 annexes A and B
    (method read in a secondary source, numbers from memory).
    """
    voltages = [
        weight * Body(path, percentile=50).voltage(current / HEART_CURRENT_FACTOR[path])
        for path, weight in _PATH_WEIGHT.items()
    ]
    return sum(voltages) / len(voltages)


@dataclass(frozen=True)
class En50522:
    """Touch voltage of EN 50522:2010 with additional resistances.

    Attributes
    ----------
    name : str
        The user's own name of the limit.
    footwear : float
        Additional resistance R_a1 of the footwear, both feet together, >= 0. [Ω]
    ground : bool
        Whether the soil or surface layer under the feet counts as R_a2 = 1.5 ρ_s.
    table : tuple of (float, float), optional
        Duration [s] and U_Tp [V] of the edition in force, in place of what is remembered; no
        longer and no shorter duration is judged by it.
    edition : str
        Where the table was read.

    Raises
    ------
    CaseError
        If the resistance is negative or not finite, or the table does not fall.

    Notes
    -----
    Of touch voltages remembered and rebuilt from curve c2 the lower counts; I_B of a table is
    the current that rebuilds it.
    U_vTp = U_Tp + (R_a1 + R_a2) I_B. Between its points the curve is read as straight lines
    on logarithmic axes, as it is drawn; 80 V beyond 10 s. I_B is taken for left hand to
    feet, the smallest of the paths in the mean. R_a2 on a layer uses the field of a disc on
    it, less than 1.5 ρ_s where the layer is the poorer conductor. The standard sets no step
    voltage. Between bare metals (hands) U_Tp holds without additional resistance.
    """

    name: str
    footwear: float = 0.0
    ground: bool = True
    table: tuple[tuple[float, float], ...] | None = None
    edition: str = ""

    exposures: ClassVar[tuple[Exposure, ...]] = ("touch", "hands")
    pace: ClassVar[float | None] = None

    @property
    def durations(self) -> tuple[float, float]:
        """Shortest and longest duration it holds for. [s]"""
        if self.table is not None:
            return self.table[0][0], self.table[-1][0]
        return TOUCH_POINTS[0][0], math.inf

    @property
    def source(self) -> str:
        """Standard, edition and clause."""
        if self.table is not None:
            return f"EN 50522, table given in the case ({self.edition or 'edition not said'})"
        return "EN 50522:2010 annexes A and B, same curve in IEC 61936-1 (from memory)"

    @property
    def caution(self) -> str:
        """For whom it does not hold."""
        held = (
            "high-voltage installations, adults, against ventricular fibrillation only: "
            "currents permitted beyond 1 s are too large to let go"
        )
        return held if self.table is not None else f"{held}; {apart_in_words()}"

    @property
    def protects(self) -> str:
        """Whom it protects."""
        return f"adults{in_shoes(self.footwear, 'both together')}"

    def __post_init__(self) -> None:
        refuse_unless_counted(self.footwear, what="resistance of the footwear", unit="ohm")
        if self.table is not None:
            OwnVoltage(self.name, self.table)  # refuses what does not fall

    def permissible(self, exposure: Exposure, *, duration: float, standing: Standing) -> Limit:
        """Prospective touch voltage; see `LimitSet.permissible`."""
        added = self._added(exposure, standing)
        refuse_duration(duration, allowed=self.durations, by="the touch voltage of EN 50522")
        voltage, current = self._voltage_and_current(duration)
        words = f"UTp {plain(voltage)} V, {duration_in_words(duration)}"
        if added:
            words += (
                f" + {ohms_in_words(added)} of footwear and ground × {plain(1e3 * current)} mA"
            )
        return Limit(voltage + added * current, words, self.source)

    def effect(
        self, exposure: Exposure, *, voltage: float, duration: float, standing: Standing
    ) -> Effect:
        """Effect on a median body of IEC 60479-1; see `LimitSet.effect`."""
        added = self._added(exposure, standing)
        body = _BODY if exposure == "touch" else Body("hand to hand", percentile=50)
        across, current = body.loaded(voltage, series=added)
        # Left hand to feet for both: no credit for the path.
        label = zone(current, duration=duration)
        words = (
            f"{body.path}, 50 % body {ohms_in_words(body.impedance(across))} + footwear and "
            f"ground {ohms_in_words(added)}"
        )
        return Effect(current, across, label, words)

    def _voltage_and_current(self, duration: float) -> tuple[float, float]:
        """U_Tp [V] and I_B [A] of a duration."""
        if self.table is None:
            return _remembered(duration)
        voltage = straight_on_logs(self.table, duration)
        return voltage, _current_for(voltage)

    def _added(self, exposure: Exposure, standing: Standing) -> float:
        """Additional resistance R_a1 + R_a2. [Ω]"""
        refuse_exposure(
            exposure,
            allowed=self.exposures,
            by="EN 50522",
            hint=(
                "it holds that steps are covered where touch voltages are; to judge a step "
                "use IEEE 80, IEC 60479-1 or a limit of your own"
            ),
        )
        if exposure == "hands":
            return 0.0
        counts = self.ground or standing.solved_feet is not None
        return self.footwear + (feet_resistance("touch", standing=standing) * counts)


def _remembered(duration: float) -> tuple[float, float]:
    """Touch voltage [V] and body current [A] of a duration, from memory and rebuilt."""
    if duration > _LONGEST_POINT:
        # What the last point's current becomes at the lower voltage, on the safe side:
        # impedance rises as voltage falls.
        _, current, voltage = TOUCH_POINTS[-1]
        return LONG_TOUCH_VOLTAGE, current * (LONG_TOUCH_VOLTAGE / voltage) ** 2
    current = straight_on_logs(tuple((t, i) for t, i, _ in TOUCH_POINTS), duration)
    return straight_on_logs(_safe_points(), duration), current


@cache
def _safe_points() -> tuple[tuple[float, float], ...]:
    """Duration [s] and the lower of touch voltage remembered and rebuilt. [V]"""
    return tuple((t, min(u, rebuilt_touch_voltage(i))) for t, i, u in TOUCH_POINTS)


@cache
def apart_in_words() -> str:
    """How far each remembered touch voltage is from the one rebuilt."""
    each = ", ".join(
        f"{t:g} s {u:g} V against {rebuilt_touch_voltage(i):.0f} V" for t, i, u in TOUCH_POINTS
    )
    return (
        f"touch voltages remembered against those rebuilt from curve c2 and the 50 % body: "
        f"{each}; the lower one is used everywhere (give the table of the edition in force as "
        "'table')"
    )


@cache
def _current_for(voltage: float) -> float:
    """Body current whose rebuilt touch voltage is a given one. [A]"""
    return float(brentq(lambda current: rebuilt_touch_voltage(current) - voltage, 0.0, 1e3))
