"""What distances are asked for."""

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True)
class Level:
    """A voltage that is met up to some distance.

    Attributes
    ----------
    name : str
        The user's name.
    kind : {"potential", "step", "touch"}
        Of the soil surface to remote earth; between two feet; between metal and a foot.
    voltage : float
        > 0. [V]
    metal : str
        Name of the touchable metal; empty for the others.
    """

    name: str
    kind: Literal["potential", "step", "touch"]
    voltage: float
    metal: str = ""


@dataclass(frozen=True)
class Apart:
    """Another electrode that is to take on no more than some voltage.

    Attributes
    ----------
    name : str
        The user's name: a neighbour's fence, the earth of a low-voltage system, a pole.
    voltage : float or None
        That it may take on, > 0; None where `transfer` says. [V]
    transfer : float or None
        The same as a share of the largest rise.
    rod : float
        Length of its rod, driven from the surface; 0 for what stands on the surface. [m]
    azimuth : float or None
        Direction in which it stands, from the x axis towards y; None the worst. [rad]
    """

    name: str
    voltage: float | None
    transfer: float | None = None
    rod: float = 0.0
    azimuth: float | None = None


@dataclass(frozen=True)
class DistancePlan:
    """All distances that a case asks for."""

    levels: tuple[Level, ...] = ()
    separations: tuple[Apart, ...] = ()
