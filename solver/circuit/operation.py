"""Operation of the fault circuit: how the current divides between soil and metal."""

from dataclasses import dataclass

import numpy as np

from ..drives import OperatingPoint
from ..errors import CaseError
from .ladder import Complexes
from .model import EARTH_CURRENT, SUPPLY, Circuit


@dataclass(frozen=True)
class Branch:
    """Current of one path.

    Attributes
    ----------
    name : str
        The user's name.
    between : tuple of str, length 2
        Its ends.
    connected : bool
        Whether it is.
    current, far_current : complex
        Into it at its first end, and out of it at its second. Only in a ladder they differ:
        by what leaves through its grounds. [A]
    loss : float
        Power it takes, that of its grounds included. [W]
    """

    name: str
    between: tuple[str, str]
    connected: bool
    current: complex
    far_current: complex
    loss: float


@dataclass(frozen=True)
class Operation:
    """Voltages and currents of a case with a fault circuit.

    All are effective values of the symmetrical current of today; phasors are turned so
    that the largest rise is real. Growth and decrement stand apart, see `Circuit.factors`.

    Attributes
    ----------
    circuit : Circuit
        The circuit.
    group_names : tuple of str, length g
        The electrodes.
    point : OperatingPoint
        Voltages and earth currents of the electrodes and their resistances.
    nodes : tuple of str, length k
        Nodes of the circuit's own.
    node_voltage : ndarray of complex, shape (k,)
        Of each to remote earth; not a number where everything that leads there is open. [V]
    supply_current : complex
        Out of the supply where it goes to: the fault current. [A]
    terminal_voltage : complex
        Between where the supply goes to and where it returns, behind its impedance. [V]
    branches : tuple of Branch
        Each path; with a split factor, one that stands for all that are not listed.
    residual : float
        Largest current missing at a node, per supply current (Kirchhoff).
    power_balance : float
        Power of the supply that soil and paths do not account for, relative.
    """

    circuit: Circuit
    group_names: tuple[str, ...]
    point: OperatingPoint
    nodes: tuple[str, ...]
    node_voltage: Complexes
    supply_current: complex
    terminal_voltage: complex
    branches: tuple[Branch, ...]
    residual: float
    power_balance: float

    @property
    def fault_current(self) -> float:
        """Size of the supply's current. [A]"""
        return abs(self.supply_current)

    @property
    def supply_power(self) -> complex:
        """Power the supply gives, its own impedance included; real part active. [VA]"""
        own = self.circuit.supply.impedance * self.supply_current
        return complex((self.terminal_voltage + own) * np.conj(self.supply_current))

    @property
    def supply_loss(self) -> float:
        """Power in the supply's own impedance. [W]"""
        return self.circuit.supply.impedance.real * self.fault_current**2

    @property
    def driving_impedance(self) -> complex:
        """Terminal voltage per supply current: what the supply sees. [Ω]

        With remote earth as return this is the impedance to earth of everything connected.
        """
        return self.terminal_voltage / self.supply_current

    @property
    def struck(self) -> tuple[int, ...]:
        """Groups of the electrode that takes the fault, with all bonded to it.

        Where the supply goes to a node of the circuit's own, it is the electrode with the
        largest current into the soil in phase with the supply's.
        """
        label = self.point.bonded_set
        if self.circuit.supply.to in self.group_names:
            chosen = label[self.group_names.index(self.circuit.supply.to)]
        else:
            leaving = np.real(self.point.current * np.conj(self.supply_current))
            chosen = int(np.bincount(label, weights=leaving).argmax())
        return tuple(int(k) for k in np.flatnonzero(label == chosen))

    @property
    def earth_current(self) -> complex:
        """Current into the soil from the electrode that takes the fault. [A]"""
        return complex(self.point.current[list(self.struck)].sum())

    @property
    def split_factor(self) -> float:
        """Earth current of the electrode that takes the fault, per supply current.

        The soil is part of the one set of equations, so this belongs to the resistance in
        `point` by construction; nothing is left to be repeated until it is steady.
        """
        return abs(self.earth_current) / self.fault_current

    def share(self, name: str) -> float:
        """Size of a current, named as for `current_through`, per supply current.

        Parallel phasors may add up to more than 1.
        """
        return abs(self.current_through(name)) / self.fault_current

    def current_through(self, name: str) -> complex:
        """Current that a device sees.

        Parameters
        ----------
        name : str
            ``supply``; the name of a path (a ladder's at its near end); ``other paths`` with
            a split factor; or ``earth current of X``, into the soil from electrode X alone.

        Raises
        ------
        CaseError
            If there is no such current.
        """
        currents = self._currents()
        if name not in currents:
            msg = f"no current {name!r}; there are {', '.join(map(repr, currents))}"
            raise CaseError(msg)
        return currents[name]

    @property
    def current_names(self) -> tuple[str, ...]:
        """Names that `current_through` knows."""
        return tuple(self._currents())

    def _currents(self) -> dict[str, complex]:
        into_soil = zip(self.group_names, self.point.current, strict=True)
        return (
            {SUPPLY: self.supply_current}
            | {branch.name: branch.current for branch in self.branches}
            | {f"{EARTH_CURRENT}{name}": complex(current) for name, current in into_soil}
        )
