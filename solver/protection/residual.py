"""Residual-current devices: class A of UL 943, general and delayed type of IEC 61008-1."""

import math
from dataclasses import dataclass
from typing import ClassVar

from ..errors import CaseError
from ..limits.contract import duration_in_words, refuse_unless_counted
from .contract import Trip, amperes, never, refuse_current
from .stepped import Band

RATED_RESIDUAL_CURRENTS = (0.010, 0.030, 0.100, 0.300, 0.500)

# IEC 60364-4-41: R_A times rated residual current keeps to this in a TT system (from memory).
CONVENTIONAL_TOUCH_VOLTAGE = 50.0

_HOLDS_BELOW, _OPENS_FROM, _FORMULA_UPTO = 4e-3, 6e-3, 264e-3
# Up to this rating a maker may prove the fastest time at 0.25 A in place of 5 times it.
_SMALL, _SMALL_FASTEST = 0.030, 0.25
_LARGEST_TESTED = 500.0  # A


@dataclass(frozen=True)
class GroundFaultInterrupter:
    """Ground-fault circuit interrupter of class A, UL 943.

    Notes
    -----
    Stays closed below 4 mA, may open from 4 to 6 mA, opens from 6 mA on within
    T = (20 mA / I)^1.43 s; beyond 264 mA within 25 ms, the formula's value there.

    Examples
    --------
    >>> print(f"{GroundFaultInterrupter().trip(0.100).longest:.4f} s")
    0.1001 s
    """

    source: ClassVar[str] = "UL 943 class A, levels and trip-time formula (secondary sources)"
    caution: ClassVar[str] = (
        "a device that works, tested by its button as its maker says; it does not see a "
        "current from conductor to conductor through a person"
    )

    def trip(self, current: float) -> Trip:
        """Whether and when the device opens; see `Characteristic.trip`."""
        refuse_current(current)
        if current < _HOLDS_BELOW:
            return never(f"{amperes(current, _HOLDS_BELOW)}: below 4 mA it stays closed")
        if current < _OPENS_FROM:
            seen = amperes(current, _HOLDS_BELOW, _OPENS_FROM)
            words = f"{seen}: between 4 mA and 6 mA it may open, or never"
            return Trip("possibly", 0.0, math.inf, words)
        longest = (0.020 / min(current, _FORMULA_UPTO)) ** 1.43
        words = f"{amperes(current, _OPENS_FROM)}: from 6 mA on it opens, here within "
        return Trip("certainly", 0.0, longest, words + duration_in_words(longest))


@dataclass(frozen=True)
class ResidualCurrentDevice:
    """Residual-current device of IEC 61008-1 and IEC 61009-1, sinusoidal current.

    Attributes
    ----------
    rating : float
        Rated residual current I_Δn: 0.01, 0.03, 0.1, 0.3 or 0.5. [A]
    delayed : bool
        Type S, selective, which lets a device behind it open first; from 0.1 A on.

    Raises
    ------
    CaseError
        If there is no such rating, or none of that type.

    Notes
    -----
    Stays closed up to 0.5 I_Δn. Opens within 0.3, 0.15, 0.04 s from 1, 2, 5 I_Δn on; delayed
    within 0.5, 0.2, 0.15 s and not before 0.13, 0.06, 0.05 s, at 500 A not before 0.04 s.
    Up to 30 mA a maker may prove the last time at 0.25 A in place of 5 I_Δn: it counts from
    the larger of the two. Between these `Band` steps.

    Examples
    --------
    >>> ResidualCurrentDevice(0.030).trip(2.0).longest
    0.04
    """

    rating: float
    delayed: bool = False

    source: ClassVar[str] = (
        "IEC 61008-1 and 61009-1, table of break and non-actuating times (from memory)"
    )
    caution: ClassVar[str] = (
        "a device that works and a sinusoidal residual current; direct current can blind "
        "devices that are not made for it"
    )

    def __post_init__(self) -> None:
        # Round-off of ratings written in other units.
        if not any(math.isclose(self.rating, one) for one in RATED_RESIDUAL_CURRENTS):
            there = ", ".join(f"{1e3 * one:g}" for one in RATED_RESIDUAL_CURRENTS)
            msg = (
                f"rated residual current {1e3 * self.rating:g} mA is not held; there are "
                f"{there} mA; give another device by points"
            )
            raise CaseError(msg)
        if self.delayed and self._small:
            msg = (
                f"rated residual current {1e3 * self.rating:g} mA: delayed devices start "
                "at 100 mA; leave 'delayed' out"
            )
            raise CaseError(msg)

    @property
    def _small(self) -> bool:
        return self.rating <= _SMALL * (1 + 1e-9)

    def trip(self, current: float) -> Trip:
        """Whether and when the device opens; see `Characteristic.trip`."""
        times = (0.5, 0.2, 0.15) if self.delayed else (0.3, 0.15, 0.04)
        fastest = max(5.0, _SMALL_FASTEST / self.rating) if self._small else 5.0
        held: tuple[tuple[float, float], ...] = ()
        if self.delayed:
            held = ((1, 0.13), (2, 0.06), (5, 0.05), (_LARGEST_TESTED / self.rating, 0.04))
        return Band(
            unit=self.rating,
            called="rated residual current",
            holds=0.5,
            within=tuple(zip((1.0, 2.0, fastest), times, strict=True)),
            not_before=held,
        ).trip(current)

    def earth_voltage(self, resistance: float) -> float:
        """Voltage of the frames when the rated residual current flows to earth. [V]

        Parameters
        ----------
        resistance : float
            R_A of the earth electrode and the protective conductor, >= 0. [Ω]

        Raises
        ------
        CaseError
            If the resistance is negative or not finite.

        Notes
        -----
        R_A I_Δn, which IEC 60364-4-41 clause 411.5.3 (from memory) wants at or below
        `CONVENTIONAL_TOUCH_VOLTAGE` in a TT system. That is a rule for choosing the device,
        not the voltage somebody meets: until the device opens, that is nearly the supply's.
        """
        refuse_unless_counted(resistance, what="resistance of the earth electrode", unit="ohm")
        return resistance * self.rating
