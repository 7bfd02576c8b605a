"""Metal with impedance and its soil at given currents into the ports."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..anisotropy import stretched
from ..errors import CaseError
from ..model import Conductors, Floats, Integers, Phasors
from ..sheaths import within_sheaths
from ..solved_soil import at_most, require_in_soil, with_metal
from ..threads import in_threads
from .along_metal import AlongMetal

_batch = 10_000  # points evaluated at once


@dataclass(frozen=True)
class Rise:
    """Voltage of a node of metal to remote earth, and where."""

    voltage: complex  # [V]
    place: tuple[float, float, float]  # [m]
    group: int  # electrode


@dataclass(frozen=True)
class Driven:
    """What the currents into the ports make of metal and soil.

    Attributes
    ----------
    solution : AlongMetal
        Unit solutions of p ports.
    current : ndarray of float or complex, shape (p,)
        Into each port, below zero where it leaves. [A]

    Raises
    ------
    CaseError
        If there is not one current for each port.
    """

    solution: AlongMetal
    current: Phasors

    def __post_init__(self) -> None:
        ports = self.solution.wiring.ports
        if np.shape(self.current) != (len(ports),):
            msg = f"currents of shape {np.shape(self.current)} for {len(ports)} ports"
            raise CaseError(msg)

    @cached_property
    def node_voltage(self) -> Phasors:
        """Of each node to remote earth: metal, then terminals. [V]"""
        return self.current @ self.solution.node_voltage

    @cached_property
    def branch_current(self) -> Phasors:
        """From first to last node of each branch: metal, leads, joints. [A]"""
        return self.current @ self.solution.branch_current

    @cached_property
    def source_current(self) -> Phasors:
        """From each of the sources into the soil, shape (m,). [A]"""
        return self.current @ self.solution.source_current

    @property
    def port_voltage(self) -> Phasors:
        """Of each port to remote earth, shape (p,). [V]"""
        return self.node_voltage[list(self.solution.wired.ports)]

    @property
    def lead_current(self) -> dict[str, complex]:
        """Of each lead, and of each break with an impedance, by its name. [A]"""
        wiring = self.solution.wiring
        names = [lead.name for lead in wiring.leads]
        names += [item.name for item in wiring.breaks if item.impedance is not None]
        metal = len(self.solution.wired.network.first)
        return dict(
            zip(names, self.branch_current[metal:].astype(complex).tolist(), strict=True)
        )

    @property
    def terminal_voltage(self) -> dict[str, complex]:
        """Of each terminal to remote earth, by its name. [V]"""
        voltage = self.node_voltage
        return {name: complex(voltage[k]) for name, k in self.solution.wired.terminals.items()}

    def metal_voltage(self, piece: Integers, along: Floats) -> Phasors:
        """Voltage of places on metal to remote earth, linear between nodes, shape (k,). [V]

        Parameters
        ----------
        piece : ndarray of int, shape (k,)
            Of `Conductors`.
        along : ndarray of float, shape (k,)
            From its start; beyond its ends that of the end. [m]
        """
        network = self.solution.wired.network
        begin = network.begin
        # Branches in the order of pieces, and along each of them.
        room = 2.0 * float(self.solution.conductors.length.max()) + 1.0
        key = network.piece * room + begin
        at = np.searchsorted(key, piece * room + np.maximum(along, 0.0), side="right") - 1
        at = np.maximum(at, np.searchsorted(network.piece, piece))
        share = np.clip((along - begin[at]) / network.length[at], 0.0, 1.0)
        first, last = self.node_voltage[network.first[at]], self.node_voltage[network.last[at]]
        return np.asarray(first + share * (last - first))

    @cached_property
    def rises(self) -> tuple[Rise, ...]:
        """Highest and lowest voltage of the metal of each electrode, two by two."""
        network, conductors = self.solution.wired.network, self.solution.conductors
        voltage = self.node_voltage[: len(network.place)]
        group = network.group[network.component]
        found = []
        for number in range(len(conductors.group_names)):
            own = np.flatnonzero(group == number)
            size = np.abs(voltage[own])
            for node in (own[size.argmax()], own[size.argmin()]):
                x, y, z = network.place[node].tolist()
                found.append(Rise(complex(voltage[node]), (x, y, z), number))
        return tuple(found)

    @cached_property
    def _by_branches(self) -> tuple[Conductors, Phasors]:
        """Metal in pieces of one branch, each a group of its own, and their mean voltages."""
        network, conductors = self.solution.wired.network, self.solution.conductors
        begin, count = network.begin, len(network.begin)
        length = conductors.length[network.piece]
        cut = conductors.cut(
            network.piece, begin=begin / length, end=(begin + network.length) / length
        )
        alone = {"group": np.arange(count), "group_names": tuple(map(str, range(count)))}
        first, last = self.node_voltage[network.first], self.node_voltage[network.last]
        return Conductors(**vars(cut) | alone), 0.5 * (first + last)

    def potential(self, points: Floats) -> Phasors:
        """Potential of the soil to remote earth; inside the metal, the value at its face.

        Parameters
        ----------
        points : ndarray of float, shape (k, 3)
            z up; the surface is z = 0. [m]

        Returns
        -------
        potential : ndarray of float or complex, shape (k,)
            As of `Solution.potential`, with the metal at its own voltage everywhere. [V]

        Raises
        ------
        CaseError
            If a point is above the surface or not a number.
        MeshError
            If a point is outside the mesh.
        """
        require_in_soil(points)
        solution = self.solution
        smooth, places = self.current @ solution.unknowns, stretched(points, soil=solution.soil)

        def of_batch(first: int) -> Phasors:
            return solution.space.values(places[first : first + _batch], unknowns=smooth)

        parts = in_threads(of_batch, range(0, len(points), _batch))
        near = solution.near_field.potential(places, current=self.source_current)
        metal, voltage = self._by_branches
        found = within_sheaths(
            at_most(np.concatenate([np.zeros(0), *parts]) + near, voltage=voltage),
            points=points,
            conductors=metal,
            voltage=voltage,
        )
        feet = points[:, 2] == 0  # may stand on the disc of a head
        found[feet] = with_metal(
            found[feet], points=points[feet], conductors=metal, voltage=voltage
        )
        return found
