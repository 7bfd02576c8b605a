"""Factors on a fault current, kept apart: decrement of its offset, growth of the network."""

import math
from dataclasses import dataclass

from ..errors import CaseError


@dataclass(frozen=True)
class Factors:
    """What the symmetrical current of today is multiplied by for design.

    Attributes
    ----------
    growth : float
        Growth of the fault level over the life of the installation, >= 1.
    decrement : float
        Effective value over the fault, offset included, per symmetrical effective value.
    """

    growth: float
    decrement: float

    @property
    def product(self) -> float:
        """Both together."""
        return self.growth * self.decrement


def decrement_factor(x_over_r: float, *, frequency: float, duration: float) -> float:
    """Decrement factor of a fully offset fault current.

    Parameters
    ----------
    x_over_r : float
        Reactance over resistance of the faulted network, > 0.
    frequency : float
        > 0. [Hz]
    duration : float
        Of the fault, half a cycle at least; infinite gives 1. [s]

    Returns
    -------
    factor : float
        Effective value of the current with its offset over the fault, per symmetrical
        effective value; >= 1.

    Raises
    ------
    CaseError
        If a value is out of its range.

    Notes
    -----
    D_f = √(1 + (T/t)(1 − exp(−2t/T))) with T = (X/R)/(2π f), IEEE Std 80-2000, equation of
    the decrement factor (from memory). The offset is taken to begin at its largest and to
    die out with one time constant; below half a cycle an effective value says nothing.

    Examples
    --------
    >>> print(f"{decrement_factor(20.0, frequency=60.0, duration=0.5):.3f}")
    1.052
    """
    for value, what in ((x_over_r, "X/R"), (frequency, "frequency in Hz")):
        if not (math.isfinite(value) and value > 0):
            msg = f"{what} of {value:g}; it must be above 0 and finite"
            raise CaseError(msg)
    # The standard's table calls 0.00833 s half a cycle of 60 Hz.
    if not duration >= 0.999 / (2 * frequency):
        msg = (
            f"duration of {duration:g} s is below half a cycle of {frequency:g} Hz, for which "
            "the decrement factor is not made; give half a cycle or more"
        )
        raise CaseError(msg)
    if math.isinf(duration):
        return 1.0
    cycles = duration * 2 * math.pi * frequency / x_over_r  # t/T
    return math.sqrt(1 - math.expm1(-2 * cycles) / cycles)
