"""How metal is wired: where current enters it, what leads join it, where it is cut.

The leaking metal itself is `Conductors`. A *port* is a node at which current can enter or
leave: ports stand where groups do if metal is at one potential. A *lead* is a branch that leaks
nothing; a *break* is two nodes at one place. Nothing is joined or parted but by touching ends
of one group, leads and breaks.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from ..errors import CaseError
from ..model import Soil
from .internal import Bar
from .places import Feed


@dataclass(frozen=True)
class Terminal:
    """A node that is no metal in the soil, by its name: the far end of a lead."""

    name: str


# 0 V: what ends there goes back through the soil by an earth of its own.
REMOTE_EARTH = Terminal("remote earth")
End = Feed | Terminal
Place = tuple[float, float, float]
# The method is quasi-static, and metal at higher frequencies another one.
HIGHEST_FREQUENCY = 1000.0


@dataclass(frozen=True)
class Port:
    """A node at which current can enter or leave.

    Attributes
    ----------
    name : str
        Different for each port.
    at : Feed or Terminal
        On the metal, or at the end of a lead.
    """

    name: str
    at: End


@dataclass(frozen=True)
class Lead:
    """A branch that leaks nothing: cable, bond, riser, overhead wire, joint.

    Attributes
    ----------
    name : str
        Different for each lead.
    ends : tuple of Feed or Terminal, length 2
        Its current counts from the first to the second.
    impedance : complex or None
        All of it, lumped: nothing is induced in it. None where `bar` says what it is. [Ω]
    bar : Bar or None
        What it is made of: its internal impedance along its route, and what its current and
        that of all other metal induce in each other with earth return.
    radius : float
        Of its metal, with `bar`. [m]
    route : tuple of (x, y, z)
        Corners from the first end to the second, z up, above the soil too; empty where it runs
        straight between two places on metal. [m]
    told_as : str
        What it is told together with, as one; empty for a lead of its own.

    Raises
    ------
    CaseError
        If it has both impedance and bar or neither, an impedance that is not finite or gives
        power, a bar without radius, or a route that is no way from one place to another.
    """

    name: str
    ends: tuple[End, End]
    impedance: complex | None = None
    bar: Bar | None = None
    radius: float = 0.0
    route: tuple[Place, ...] = ()
    told_as: str = ""

    def __post_init__(self) -> None:
        if (self.impedance is None) == (self.bar is None):
            msg = f"lead {self.name!r} needs either an impedance or what it is made of"
            raise CaseError(msg)
        if self.impedance is not None and not (
            np.isfinite(self.impedance) and complex(self.impedance).real >= 0
        ):
            msg = (
                f"lead {self.name!r} has the impedance {self.impedance} Ω; give a finite one "
                "with a resistance of at least 0"
            )
            raise CaseError(msg)
        if self.bar is not None:
            self._require_way()

    def _require_way(self) -> None:
        if not self.radius > 0:
            msg = f"lead {self.name!r} has the radius {self.radius:g} m; give that of its metal"
            raise CaseError(msg)
        if not self.route and not all(isinstance(end, Feed) for end in self.ends):
            msg = (
                f"lead {self.name!r} does not run between two places on metal; give its route, "
                "or its impedance"
            )
            raise CaseError(msg)
        corners = np.array(self.route, dtype=float)
        if self.route and not (
            len(corners) > 1
            and np.isfinite(corners).all()
            and (np.linalg.norm(np.diff(corners, axis=0), axis=1) > 0).all()
        ):
            msg = (
                f"the route of lead {self.name!r} is no way; give two corners or more, no two "
                "in a row the same"
            )
            raise CaseError(msg)


@dataclass(frozen=True)
class Break:
    """A place where metal is cut: insulating flange, gap, joint.

    Attributes
    ----------
    name : str
        Different for each break.
    feed : Feed
        Where. At an end of a piece this piece comes off what it meets there; between its ends
        it is cut in two.
    impedance : complex or None
        Between both sides, 0 for a joint that is whole; None where it is open. [Ω]
    """

    name: str
    feed: Feed
    impedance: complex | None = None


@dataclass(frozen=True)
class Wiring:
    """What a solution of metal with impedance needs beside metal and soil.

    Attributes
    ----------
    bars : tuple of Bar
        One for each part of the `Conductors`.
    frequency : float
        0 for direct current, else up to 1 kHz. [Hz]
    ports : tuple of Port
        At least one.
    leads : tuple of Lead
        Branches without leakage.
    breaks : tuple of Break
        Cuts.
    contact : tuple of float
        Contact resistance of each group, shared over its metal; empty without any. [Ω]
    earth : Soil or None
        Soil that currents return through, where it is not that of the field.

    Raises
    ------
    CaseError
        If a name is used twice, a frequency is none, there is no port, or reactance stands
        where current is direct.
    """

    bars: tuple[Bar, ...]
    frequency: float
    ports: tuple[Port, ...]
    leads: tuple[Lead, ...] = ()
    breaks: tuple[Break, ...] = ()
    earth: Soil | None = None
    contact: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        if not 0 <= self.frequency <= HIGHEST_FREQUENCY:
            msg = (
                f"a frequency of {self.frequency:g} Hz; give 0 for direct current, or up to "
                f"{HIGHEST_FREQUENCY:g} Hz: lightning and what is faster is not this method"
            )
            raise CaseError(msg)
        if not self.ports:
            msg = "no current can enter or leave the metal: name at least one port"
            raise CaseError(msg)
        _require_once("ports", (port.name for port in self.ports))
        joining: tuple[Lead | Break, ...] = (*self.leads, *self.breaks)
        _require_once("leads and breaks", (one.name for one in joining))
        for one in joining:
            if self.frequency == 0 and complex(one.impedance or 0).imag != 0:
                msg = (
                    f"{one.name!r} has the impedance {one.impedance} Ω at direct current; "
                    "give its resistance alone"
                )
                raise CaseError(msg)


def _require_once(kind: str, names: Iterable[str]) -> None:
    """Raise if a name is used twice."""
    again = [name for name, count in Counter(names).items() if count > 1]
    if again:
        msg = f"two {kind} are named {again[0]!r}; give each a name of its own"
        raise CaseError(msg)
