"""Distances that were found, as plain data."""

from dataclasses import dataclass

from ..model import Floats
from .plan import Apart, Level


@dataclass(frozen=True)
class LevelOutline:
    """Where a voltage is met.

    Attributes
    ----------
    level : Level
        Which voltage.
    polygons : tuple of ndarray of float, each of shape (n, 2)
        Closed outlines outside which less is met; the last corner is joined to the first, holes
        are left out. [m]
    distance : float
        Farthest of them from the nearest live metal in plan; 0 where less is met everywhere,
        infinite where the outlines are not whole. [m]
    place : tuple of float, length 2, or None
        Where that is. [m]
    whole : bool
        Whether the outlines hold all that is met; not where it goes on beyond 100 km.
    """

    level: Level
    polygons: tuple[Floats, ...]
    distance: float
    place: tuple[float, float] | None
    whole: bool


@dataclass(frozen=True)
class Separation:
    """How far another electrode must stand.

    Attributes
    ----------
    apart : Apart
        Which electrode, and what it may take on.
    voltage : float
        What it may take on. [V]
    distance : float
        From the nearest live metal in plan, from which on it takes on no more; 0 where it does
        not anywhere; infinite where it does beyond 100 km. [m]
    place : tuple of float, length 2, or None
        Where that is. [m]
    signed : float
        Voltage it takes on there, below zero on the other side than the largest rise. [V]
    """

    apart: Apart
    voltage: float
    distance: float
    place: tuple[float, float] | None
    signed: float


@dataclass(frozen=True)
class DistanceLine:
    """Potential of the surface outwards in one direction.

    Attributes
    ----------
    name : str
        Along or across the live metal.
    azimuth : float
        Direction, from the x axis towards y. [rad]
    distance : ndarray of float, shape (n,)
        From the nearest live metal in plan. [m]
    places : ndarray of float, shape (n, 2)
        [m]
    potential : ndarray of float, shape (n,)
        In phase with the largest rise, below zero on the other side. [V]
    """

    name: str
    azimuth: float
    distance: Floats
    places: Floats
    potential: Floats


@dataclass(frozen=True)
class Distances:
    """All distances of a case.

    Attributes
    ----------
    factor : float
        Growth and decrement, in all voltages here.
    rise : float
        Largest rise, the factor included. [V]
    levels : tuple of LevelOutline
    separations : tuple of Separation
    lines : tuple of DistanceLine
        At round distances in metres.
    plain_to : float or None
        Distance beyond which the soil is no plain resistance at the frequency of the circuit;
        None without a circuit. [m]
    lines_in_feet : tuple of DistanceLine
        As `lines`, at round distances in feet; empty in results of earlier releases.
    seam : float or None
        With bodies in the soil, the largest difference of the near and the far field where
        the far one takes over, as a share; None in layers.
    known_to : float or None
        Distance from the middle of metal and bodies to which the field is known, where bodies
        go on for ever or have a film; None where it is known everywhere. [m]
    """

    factor: float
    rise: float
    levels: tuple[LevelOutline, ...]
    separations: tuple[Separation, ...]
    lines: tuple[DistanceLine, ...]
    plain_to: float | None = None
    lines_in_feet: tuple[DistanceLine, ...] = ()
    seam: float | None = None
    known_to: float | None = None
