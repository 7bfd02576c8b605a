"""How the electrodes are driven: voltages, currents, floating metal and bonds.

The unit solutions give the current matrix Y, I = Y V. Bonds join groups to sets of one
potential; each set then has a given voltage, a given current, or floats with zero current.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from .errors import CaseError
from .model import Floats, Integers, Phasors


@dataclass(frozen=True)
class Drive:
    """What holds one electrode group."""

    # Given potential to remote earth, given current into the soil, no net current, or
    # whatever a fault circuit gives it (see `solver.circuit`).
    kind: Literal["voltage", "current", "floating", "circuit"]
    value: float = 0.0  # [V] or [A]; of the first two only


@dataclass(frozen=True)
class System:
    """What the system whose fault drives the electrodes has behind it; None where unknown."""

    voltage_to_earth: float | None = None  # nominal, phase to earth, effective [V]
    largest_fault_current: float | None = None  # to earth at this place, symmetrical [A]
    frequency: float | None = None  # of its current, 0 if direct [Hz]


@dataclass(frozen=True)
class OperatingPoint:
    """Voltages and currents of all groups under their drives."""

    bonded_set: Integers  # (g,): groups with the same number are bonded
    # (g,): rise of each group over remote earth; complex only where groups are out of phase,
    # then with the largest as the phase reference. [V]
    voltage: Phasors
    current: Phasors  # (g,): current from each group into the soil [A]
    # (s, s): rise of set i per current from set k with no current from the others; the
    # diagonal is the resistance to remote earth. Symmetric. [Ω]
    resistance: Floats
    # Power that enters metal with a voltage along it; None where it is at one potential. [W]
    entering: float | None = None

    @property
    def power(self) -> float:
        """Power that all groups give to soil, films and backfill, and take themselves. [W]"""
        if self.entering is not None:
            return self.entering
        return float(np.real(self.voltage @ np.conj(self.current)))


def in_phase(values: Phasors) -> Floats:
    """Part in phase with the largest rise; all of it where nothing is out of phase."""
    return np.asarray(np.real(values), dtype=np.float64)


def operating_point(
    current_matrix: Floats,
    *,
    drives: Sequence[Drive],
    bonds: Sequence[tuple[int, int]] = (),
    names: Sequence[str] = (),
) -> OperatingPoint:
    """Voltages and currents that meet the drives and bonds.

    `current_matrix` is the current out of group i with group k at 1 V, shape (g, g) [S].
    `CaseError` if bonds join groups that are driven in ways that contradict, nothing is
    driven, or a group is driven by a circuit.
    """
    count = len(drives)
    names = names or [f"group {k}" for k in range(count)]
    if circuit := [names[k] for k, drive in enumerate(drives) if drive.kind == "circuit"]:
        msg = f"{', '.join(circuit)} are driven by a circuit; solver.circuit.operate solves it"
        raise CaseError(msg)
    member = membership(count, bonds=bonds)
    held = [_set_drive(row, drives=drives, names=names) for row in member]
    if all(drive.kind == "floating" for drive in held):
        msg = f"no electrode is driven: {', '.join(names)} all float; give one a drive"
        raise CaseError(msg)
    sets = member @ current_matrix @ member.T
    fixed = np.array([drive.kind == "voltage" for drive in held])
    value = np.array([0.0 if d.kind == "floating" else d.value for d in held])
    voltage = np.where(fixed, value, 0.0)
    free = ~fixed
    if free.any():
        right = value[free] - sets[np.ix_(free, fixed)] @ value[fixed]
        voltage[free] = np.linalg.solve(sets[np.ix_(free, free)], right)
    by_group = member.T @ voltage
    return OperatingPoint(
        bonded_set=member.argmax(axis=0),
        voltage=by_group,
        current=current_matrix @ by_group,
        resistance=np.asarray(np.linalg.inv(sets), dtype=np.float64),
    )


def port_currents(port_matrix: Phasors, *, drives: Sequence[Drive]) -> Phasors:
    """Current into each port of metal with a voltage along it, shape (p,). [A]

    Parameters
    ----------
    port_matrix : ndarray of float or complex, shape (p, p)
        Voltage of port i per ampere into port k. [Ω]
    drives : sequence of Drive, length p
        A voltage, a current, or none.

    Raises
    ------
    CaseError
        If none of them is driven.
    """
    value = np.array([0.0 if drive.kind == "floating" else drive.value for drive in drives])
    held = np.array([drive.kind == "voltage" for drive in drives])
    current: Phasors = np.where(held, 0.0, value).astype(port_matrix.dtype)
    if held.any():
        right = value[held] - port_matrix[np.ix_(held, ~held)] @ current[~held]
        current[held] = np.linalg.solve(port_matrix[np.ix_(held, held)], right)
    if not np.abs(current).max() > 0:
        msg = "no port of the metal is driven; give an electrode a voltage or a current"
        raise CaseError(msg)
    return current


def membership(count: int, *, bonds: Sequence[tuple[int, int]]) -> Floats:
    """One where group k belongs to the i-th set bonded by pairs, else zero; shape (s, g)."""
    pairs = np.array(bonds, dtype=int).reshape(-1, 2)
    graph = coo_matrix((np.ones(len(pairs)), pairs.T), shape=(count, count))
    total, label = connected_components(graph, directed=False)
    return (label == np.arange(total)[:, None]).astype(float)


def _set_drive(row: Floats, *, drives: Sequence[Drive], names: Sequence[str]) -> Drive:
    """Drive of a bonded set: voltages must agree, currents add up, floating parts follow."""
    members = [k for k, belongs in enumerate(row) if belongs]
    driven = [k for k in members if drives[k].kind != "floating"]
    kinds = {drives[k].kind for k in driven}
    listed = ", ".join(f"'{names[k]}'" for k in driven)
    if len(kinds) > 1:
        msg = (
            f"bonded electrodes {listed} are driven by voltage and by current; "
            "drive one of them, let the others float, or open the bond"
        )
        raise CaseError(msg)
    if not driven:
        return Drive("floating")
    values = [drives[k].value for k in driven]
    if kinds == {"current"}:
        return Drive("current", float(sum(values)))
    if len(set(values)) > 1:
        msg = (
            f"bonded electrodes {listed} are given different voltages; "
            "give them one voltage, or open the bond"
        )
        raise CaseError(msg)
    return Drive("voltage", values[0])
