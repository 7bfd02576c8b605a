"""What a design has to reach beside the limits of its exposures."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Targets:
    """What has to be reached, in the case as it stands and in every variant.

    Attributes
    ----------
    reserve : float
        Share of each limit that is kept free, over the numerical error.
    resistance : float or None
        Largest resistance of each driven electrode to remote earth. [Ω]
    rise : float or None
        Largest rise over remote earth. [V]
    """

    reserve: float = 0.0
    resistance: float | None = None
    rise: float | None = None
