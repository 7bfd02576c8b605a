"""The fault circuit as numbers and names: supply, paths beside the soil, factors."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from ..errors import CaseError
from .decrement import Factors, decrement_factor
from .ladder import Ladder

REMOTE_EARTH = "remote earth"
SUPPLY = "supply"
EARTH_CURRENT = "earth current of "
OTHER_PATHS = "other paths"
HIGHEST_FREQUENCY = 1000.0  # above, soil and conductors are no longer plain impedances


@dataclass(frozen=True)
class Supply:
    """What drives the circuit: a voltage behind an impedance, or a current.

    Attributes
    ----------
    to : str
        Node the fault puts the supply on: an electrode or a node of the circuit's own.
    voltage : float or None
        Open-circuit voltage, > 0, effective. [V]
    current : float or None
        Current, > 0, effective, whatever it meets: the fault current. [A]
    impedance : complex
        Of source and conductors up to `to` and from `returns_at`; with a voltage. [Ω]
    returns_at : str
        Node at which the current comes back.

    Raises
    ------
    CaseError
        If not exactly one of voltage and current is given, or a value is out of its range.
    """

    to: str
    voltage: float | None = None
    current: float | None = None
    impedance: complex = 0j
    returns_at: str = REMOTE_EARTH

    def __post_init__(self) -> None:
        if (self.voltage is None) == (self.current is None):
            msg = "a supply has either a voltage or a current; give exactly one of the two"
            raise CaseError(msg)
        size, unit = (self.voltage, "V") if self.current is None else (self.current, "A")
        if size is None or not (math.isfinite(size) and size > 0):
            msg = f"supply of {size:g} {unit}; give an effective value above 0"
            raise CaseError(msg)
        refuse_active(self.impedance, what="supply")
        if self.current is not None and self.impedance != 0:
            msg = (
                "a supply that gives a current has no use for an impedance: the current is "
                "the same behind it; leave one of the two out"
            )
            raise CaseError(msg)
        if self.to in (REMOTE_EARTH, self.returns_at):
            msg = (
                f"the supply goes to {self.to!r} and returns at {self.returns_at!r}; it must "
                "go to an electrode or a node of your own, and return at another"
            )
            raise CaseError(msg)


@dataclass(frozen=True)
class Path:
    """Branch beside the soil, between two nodes.

    Attributes
    ----------
    name : str
        The user's name.
    between : tuple of str, length 2
        Its nodes: electrodes, nodes of the circuit's own, or remote earth. Its current
        counts positive from the first to the second; a ladder's near end is the first.
    impedance : complex or None
        Not zero; either this or a ladder. [Ω]
    ladder : Ladder or None
        Its far end is remote earth unless it is closed.
    connected : bool
        Whether it is; a path that is not carries nothing.

    Raises
    ------
    CaseError
        If not exactly one of impedance and ladder is given, or they do not fit the ends.
    """

    name: str
    between: tuple[str, str]
    impedance: complex | None = None
    ladder: Ladder | None = None
    connected: bool = True

    def __post_init__(self) -> None:
        near, far = self.between
        if (self.impedance is None) == (self.ladder is None):
            msg = f"path {self.name!r} has either an impedance or a ladder; give one of the two"
            raise CaseError(msg)
        if near == far:
            msg = f"path {self.name!r} leads from {near!r} to itself; name two nodes"
            raise CaseError(msg)
        if self.impedance is not None:
            refuse_active(self.impedance, what=f"path {self.name!r}")
            if self.impedance == 0:
                msg = (
                    f"path {self.name!r} has no impedance; give it one, or give its two ends "
                    "one name or a bond"
                )
                raise CaseError(msg)
        elif near == REMOTE_EARTH:
            msg = f"ladder {self.name!r} begins at remote earth; name its near end first"
            raise CaseError(msg)
        elif self.ladder is not None and self.ladder.end == "open" and far != REMOTE_EARTH:
            msg = (
                f"ladder {self.name!r} is open at its far end and ends at {far!r}; write "
                f"{REMOTE_EARTH!r}, where its grounds lead, or close the end"
            )
            raise CaseError(msg)
        if self.name in (SUPPLY, OTHER_PATHS) or self.name.startswith(EARTH_CURRENT):
            msg = f"path {self.name!r}: that name is kept for another current; choose another"
            raise CaseError(msg)


@dataclass(frozen=True)
class Circuit:
    """Fault circuit of a case; the electrodes and the soil between them are part of it.

    Attributes
    ----------
    frequency : float
        Above 0, at most 1000. [Hz]
    supply : Supply
        What drives it.
    paths : tuple of Path
        Branches beside the soil.
    split_factor : float or None
        Share of the supply's current that enters the soil, above 0, at most 1, in place
        of paths.
    all_current_in_soil : bool
        Said by the user where a fault current has neither paths nor a split factor.
    x_over_r : float or None
        Reactance over resistance of the faulted network; None: no decrement factor.
    growth_factor : float
        Of the fault current over the life of the installation, >= 1.
    leads_divide : bool
        Said by the user where leads between electrodes are metal that carries current.

    Raises
    ------
    CaseError
        If a value is out of its range, or two of them contradict.
    """

    frequency: float
    supply: Supply
    paths: tuple[Path, ...] = ()
    split_factor: float | None = None
    all_current_in_soil: bool = False
    x_over_r: float | None = None
    growth_factor: float = 1.0
    leads_divide: bool = False

    def __post_init__(self) -> None:
        if not 0 < self.frequency <= HIGHEST_FREQUENCY:
            msg = (
                f"frequency of {self.frequency:g} Hz; above 0 and up to "
                f"{HIGHEST_FREQUENCY:g} Hz soil acts as a plain resistance"
            )
            raise CaseError(msg)
        if self.x_over_r is not None and not 0 < self.x_over_r < math.inf:
            msg = f"X/R of {self.x_over_r:g}; it must be above 0 and finite"
            raise CaseError(msg)
        if not 1 <= self.growth_factor < math.inf:
            msg = f"growth factor of {self.growth_factor:g}; it is 1 or more"
            raise CaseError(msg)
        names = [path.name for path in self.paths]
        for name in names:
            if names.count(name) > 1:
                msg = f"path name {name!r} is used twice; give each path its own"
                raise CaseError(msg)
        self._require_division()

    def _require_division(self) -> None:
        """Raise unless it is said how the current divides, once."""
        said = [
            what
            for what, given in (
                ("paths", bool(self.paths)),
                ("a split factor", self.split_factor is not None),
                ("that all current is in the soil", self.all_current_in_soil),
                ("that leads divide it", self.leads_divide and not self.paths),
            )
            if given
        ]
        if len(said) > 1:
            msg = f"the circuit says {' and '.join(said)}; give one of them"
            raise CaseError(msg)
        if self.supply.current is not None and not said:
            msg = (
                "a fault current divides between the soil and metal: list the paths, give a "
                "split factor, or say that all current is in the soil"
                ", or that leads of along_metal divide it (leads_divide)"
            )
            raise CaseError(msg)
        if self.split_factor is None:
            return
        if not 0 < self.split_factor <= 1:
            msg = f"split factor of {self.split_factor:g}; it is above 0 and at most 1"
            raise CaseError(msg)
        if self.supply.current is None or self.supply.returns_at != REMOTE_EARTH:
            msg = (
                "a split factor divides a given fault current between one electrode and paths "
                "that are not listed: give the supply a current, and no return"
            )
            raise CaseError(msg)

    @property
    def ends(self) -> tuple[str, ...]:
        """Every node as often as something is attached to it, remote earth left out."""
        supply = (self.supply.to, self.supply.returns_at)
        named = (*supply, *(node for path in self.paths for node in path.between))
        return tuple(node for node in named if node != REMOTE_EARTH)

    def switched(self, switches: Mapping[str, bool]) -> "Circuit":
        """The circuit with the named paths connected or not; other names are passed over."""
        paths = tuple(
            replace(path, connected=switches.get(path.name, path.connected))
            for path in self.paths
        )
        return replace(self, paths=paths)

    def own_nodes(self, groups: tuple[str, ...]) -> Iterator[str]:
        """Nodes that are neither an electrode nor remote earth, each once, in order."""
        yield from dict.fromkeys(node for node in self.ends if node not in groups)

    def factors(self, duration: float) -> Factors:
        """Growth and decrement for a fault of some duration, infinite where nothing clears it.

        No phasor contains them. `CaseError` if X/R is given and the duration is below half a
        cycle.
        """
        if self.x_over_r is None:
            return Factors(self.growth_factor, 1.0)
        decrement = decrement_factor(self.x_over_r, frequency=self.frequency, duration=duration)
        return Factors(self.growth_factor, decrement)


def refuse_active(impedance: complex, *, what: str) -> None:
    """Raise on an impedance that is not finite, or gives power in place of taking it."""
    if not np.isfinite(impedance) or np.real(impedance) < 0:
        msg = f"impedance of {impedance:g} ohm of the {what}: its resistance must be >= 0"
        raise CaseError(msg)
