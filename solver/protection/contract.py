"""What every protective device is asked and what it answers."""

import math
from dataclasses import dataclass
from typing import Literal, Protocol

from ..limits.contract import refuse_unless_counted
from ..wording import plain

Certainty = Literal["certainly", "possibly", "never"]


@dataclass(frozen=True)
class Trip:
    """Whether and when a device opens at a steady current.

    Attributes
    ----------
    certainty : {"certainly", "possibly", "never"}
        Outside the tolerance band above it, inside it, outside below it.
    shortest : float
        No device of the kind opens sooner; 0 where no such time is known, `math.inf` for
        never. [s]
    longest : float
        Every device of the kind has opened by then; `math.inf` unless certain. [s]
    words : str
        One line: which part of the band the current is in.
    """

    certainty: Certainty
    shortest: float
    longest: float
    words: str


def never(words: str) -> Trip:
    """Answer of a device that does not open."""
    return Trip("never", math.inf, math.inf, words)


class Characteristic(Protocol):
    """How a kind of device answers to current.

    Attributes
    ----------
    source : str
        Standard, edition and clause; says "from memory" where it was not opened.
    caution : str
        What it assumes, one line.
    """

    @property
    def source(self) -> str: ...  # noqa: D102
    @property
    def caution(self) -> str: ...  # noqa: D102

    def trip(self, current: float) -> Trip:
        """Whether and when the device opens.

        Parameters
        ----------
        current : float
            Steady current, effective value, >= 0. [A]

        Raises
        ------
        CaseError
            If the current is negative or not finite.

        Notes
        -----
        Neither time rises with the current, and certainty never falls with it.
        """
        ...


@dataclass(frozen=True)
class Device:
    """A characteristic at its place.

    Attributes
    ----------
    name : str
        The user's own name.
    measures : str
        Name of the current it sees.
    characteristic : Characteristic
        How it answers to that current.
    backup : bool
        Whether it counts only where no main device is certain to open.
    fitted : bool
        Whether it is there.
    """

    name: str
    measures: str
    characteristic: Characteristic
    backup: bool = False
    fitted: bool = True

    def trip(self, current: float) -> Trip:
        """Answer of the characteristic; see `Characteristic.trip`."""
        return self.characteristic.trip(current)


def refuse_current(current: float) -> None:
    """Raise `CaseError` unless a current through a device is finite and not negative."""
    refuse_unless_counted(current, what="current through a protective device", unit="A")


def amperes(current: float, *limits: float, figures: int = 3) -> str:
    """Current as it is printed.

    Parameters
    ----------
    current : float
        Current, >= 0. [A]
    *limits : float
        What it was held against, see `figures_apart`. [A]
    figures : int
        Significant figures; `AS_GIVEN` for what was not worked out.

    Examples
    --------
    >>> amperes(0.4583), amperes(2.416)
    ('458 mA', '2.42 A')
    """
    factor, symbol = (1e3, "mA") if 0 < current < 1 else (1.0, "A")
    number = plain(factor * current, *(factor * limit for limit in limits), figures=figures)
    return f"{number} {symbol}"
