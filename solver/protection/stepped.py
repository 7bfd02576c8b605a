"""Tolerance band of a device that a standard tests at a few currents only."""

import math
from dataclasses import dataclass

from ..limits.contract import duration_in_words
from ..wording import AS_GIVEN, plain
from .contract import Trip, amperes, never, refuse_current


@dataclass(frozen=True)
class Band:
    """Currents at which a standard says "holds", "opens within" and "not before".

    Attributes
    ----------
    unit : float
        Current the multiples count in, > 0. [A]
    called : str
        What that current is called.
    holds : float
        Multiple up to which the device never opens. [1]
    within : tuple of (float, float)
        Rising multiples, and the time by which it has opened from each on. [1, s]
    not_before : tuple of (float, float)
        Rising multiples, and the time before which it does not open up to each. [1, s]

    Notes
    -----
    A standard promises nothing between its test currents but that more current never takes
    longer. So the longest time is that of the nearest test current below, the shortest that
    of the nearest one above: steps, wider than any curve drawn through the points.
    """

    unit: float
    called: str
    holds: float
    within: tuple[tuple[float, float], ...]
    not_before: tuple[tuple[float, float], ...] = ()

    def trip(self, current: float) -> Trip:
        """Whether and when the device opens; see `Characteristic.trip`."""
        refuse_current(current)
        multiple = current / self.unit
        steps = (self.holds, *(step[0] for step in self.within))
        where = (
            f"{amperes(current)} is {plain(multiple, *steps)} times the {self.called} "
            f"{amperes(self.unit, figures=AS_GIVEN)}"
        )
        if multiple <= self.holds:
            return never(f"{where}: up to {self.holds:g} times it stays closed")
        shortest = next((time for most, time in self.not_before if multiple <= most), 0.0)
        soonest = f"not before {duration_in_words(shortest)}" if shortest else "perhaps at once"
        reached = [step for step in self.within if step[0] <= multiple]
        if not reached:
            words = (
                f"{where}: between {self.holds:g} and {plain(self.within[0][0])} times it may "
                f"open, {soonest}, or never"
            )
            return Trip("possibly", shortest, math.inf, words)
        least, longest = reached[-1]
        words = (
            f"{where}: from {plain(least)} times on it opens within "
            f"{duration_in_words(longest)}, {soonest}"
        )
        return Trip("certainly", shortest, longest, words)
