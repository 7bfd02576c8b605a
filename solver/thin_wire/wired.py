r"""Metal that is not at one potential, by thin wires: a second opinion with its own network.

Each wire leaks evenly and is a branch with even leakage too, so its mean voltage is half the
sum of those of its nodes. With nodes U, branch currents i, leakages I

.. math:: P^T I + D^T i = J, \qquad P U = C I, \qquad D U = Z i,

C the mean potentials of wires, dense, and Z what they and leads induce in each other, dense:
nothing is lumped into runs. I is taken out, and one dense system stays for U and i, so that
leads without impedance are no trouble.
"""

from dataclasses import dataclass, replace
from functools import cached_property
from time import perf_counter

import numpy as np
from scipy.linalg import LinAlgError, cho_factor, cho_solve, solve

from ..anisotropy import Twin, stretched, twin_of
from ..errors import TrustError
from ..metal.along_field import MetalLines, metal_by_line
from ..metal.contacts import in_series
from ..metal.internal import Complexes
from ..metal.wiring import Wiring
from ..model import Conductors, Floats, Integers, Phasors, Soil
from ..sheaths import within_sheaths
from ..solved_soil import at_most, require_in_soil, with_metal
from .earth_return import ReturnPath
from .images import LayeredImages
from .matrices import point_matrix, wire_matrix
from .nodes import CutMetal, Net, legs_of
from .opinion import left_over_change, of_bluntness, thinness
from .wires import Wires, bluntness, cut_into_wires, in_place

usual_wires, most_wires = 300, 900  # of dense complex matrices of twice as many


@dataclass(frozen=True)
class WiredOpinion:
    """Thin wires with voltages along them, for 1 A into each of p ports.

    Attributes
    ----------
    soil : Soil
        Layers.
    conductors : Conductors
        The metal, cut where it is fed and broken.
    wires : Wires
        The w wires that their isotropic twin was cut into.
    ports : tuple of str, length p
        Names.
    nodes : ndarray of int, shape (w, 2)
        Those of each wire.
    port_nodes : ndarray of int, shape (p,)
        Those of the ports.
    node_voltage : ndarray of complex, shape (p, n)
        Of each node per ampere into each port. [Ω]
    element_current : ndarray of complex, shape (p, w)
        Current from each wire into the soil, likewise.
    line_current : ndarray of complex, shape (p, w)
        Along each wire from its first node, likewise; 0 along fill beyond ends.
    lead_current : ndarray of complex, shape (p, leads)
        Along each lead, likewise.
    change : float
        Largest change of a port's impedance with twice as many wires, relative.
    seconds : float
        Time it took. [s]
    """

    soil: Soil
    conductors: Conductors
    wires: Wires
    ports: tuple[str, ...]
    nodes: Integers
    port_nodes: Integers
    node_voltage: Complexes
    element_current: Complexes
    line_current: Complexes
    lead_current: Complexes
    change: float
    seconds: float

    @property
    def port_matrix(self) -> Complexes:
        """Voltage of port i per ampere into port k, symmetric, shape (p, p). [Ω]"""
        return np.asarray(self.node_voltage[:, self.port_nodes].T)

    @cached_property
    def twin(self) -> Twin:
        """What was solved: isotropic soil with the metal in it."""
        return twin_of(self.conductors, soil=self.soil)

    @cached_property
    def elements(self) -> Wires:
        """The wires where they are."""
        return in_place(self.wires, twin=self.twin, soil=self.soil, conductors=self.conductors)

    @property
    def lines(self) -> MetalLines:
        """Where the metal runs from node to node: wires without the fill beyond ends."""
        wires = self.elements
        return MetalLines(wires.start, wires.end, self.nodes, wires.piece)

    @property
    def resistance_error(self) -> float:
        """Estimated error of an impedance of a port, relative, as `SecondOpinion` has it."""
        flat_ends = of_bluntness * bluntness(self.twin.conductors)
        return left_over_change * self.change + thinness + flat_ends

    def potential_of(self, points: Floats, *, drive: Phasors) -> Phasors:
        """Potential of the soil to remote earth, for currents into the ports. [V]

        As `SecondOpinion.potential`, with the metal at its own voltage everywhere.

        Parameters
        ----------
        points : ndarray of float, shape (m, 3)
            z up; the surface is z = 0. [m]
        drive : ndarray of float or complex, shape (p,)
            [A]
        """
        require_in_soil(points)
        source, voltage = drive @ self.element_current, drive @ self.node_voltage
        found, places = np.empty(len(points), dtype=complex), stretched(points, soil=self.soil)
        for rows, block in point_matrix(
            places, wires=self.wires, soil=self.twin.soil, images=self._images
        ):
            found[rows] = block @ source
        metal, kept = metal_by_line(self.elements, conductors=self.conductors)
        own = voltage[self.nodes[kept]].mean(axis=1)
        found = within_sheaths(
            at_most(found, voltage=own), points=points, conductors=metal, voltage=own
        )
        return with_metal(found, points=points, conductors=metal, voltage=own)

    @cached_property
    def _images(self) -> LayeredImages:
        return LayeredImages(self.soil)


def wired_opinion(
    conductors: Conductors,
    *,
    soil: Soil,
    wiring: Wiring,
    longest: float | None = None,
    most: int = most_wires,
) -> WiredOpinion:
    """Metal with voltages along it by thin wires.

    Parameters
    ----------
    longest : float, optional
        Length that wires are not to exceed on average; left out, the metal is cut into about
        300. [m]
    most : int, optional
        Largest number of wires.

    Raises
    ------
    BudgetError
        If there would be more wires.
    CaseError
        If a port or lead is where nothing is.
    TrustError
        If pieces of metal lie too close, or impedances cancel.
    """
    begin = perf_counter()
    if longest is None:
        longest = float(conductors.length.sum()) / usual_wires
    sub, images = CutMetal(conductors, wiring), LayeredImages(soil)
    rough = _solved(sub, images, soil=soil, wiring=wiring, longest=2 * longest, most=most)
    found = _solved(sub, images, soil=soil, wiring=wiring, longest=longest, most=most)
    ports = rough.port_matrix.diagonal(), found.port_matrix.diagonal()
    made = replace(
        found,
        change=float(np.abs(ports[0] / ports[1] - 1.0).max()),
        seconds=perf_counter() - begin,
    )
    vars(made).update(_images=images, twin=found.twin)  # made already
    return made


def _solved(
    sub: CutMetal,
    images: LayeredImages,
    *,
    soil: Soil,
    wiring: Wiring,
    longest: float,
    most: int,
) -> WiredOpinion:
    """The opinion with wires of about one length."""
    twin = twin_of(sub.conductors, soil=soil)
    wires = cut_into_wires(twin.conductors, soil=twin.soil, longest=longest, most=most)
    real = in_place(wires, twin=twin, soil=soil, conductors=sub.conductors)
    net = Net.of(sub, real, wiring)
    coupling = wire_matrix(wires, images=images)
    count, halves = net.count, _halves(net.nodes, net.count)
    if any(wiring.contact):
        coupling = coupling + np.diag(_contacts(coupling, wires.group, wiring.contact))
    try:
        behind = cho_solve(cho_factor(coupling, lower=True), halves)
    except LinAlgError as error:
        msg = "pieces of metal lie within a radius of each other and are no separate wires"
        raise TrustError(msg) from error
    own = _impedances(net, sub, real, wiring=wiring, soil=soil)
    system = np.zeros((count + len(own),) * 2, dtype=complex)
    system[:count, :count] = halves.T @ behind
    system[count:, count:] = -own
    for row, (one, other) in enumerate(net.branches):
        for node, sign in ((one, 1.0), (other, -1.0)):
            if node >= 0:
                system[count + row, node] += sign
                system[node, count + row] += sign
    right = np.zeros((len(system), len(net.ports)))
    right[net.ports, np.arange(len(net.ports))] = 1.0
    try:
        found = solve(system, right, assume_a="sym")
    except LinAlgError as error:
        msg = "the network of the second opinion has no single solution: impedances cancel"
        raise TrustError(msg) from error
    voltage: Complexes = found[:count].T.astype(complex)
    first_lead = len(net.branches) - net.breaks - len(wiring.leads)
    along = np.zeros((len(net.ports), len(wires)), dtype=complex)
    along[:, net.real] = found[count : count + int(net.real.sum())].T
    made = WiredOpinion(
        soil=soil,
        conductors=sub.conductors,
        wires=wires,
        ports=tuple(port.name for port in wiring.ports),
        nodes=net.nodes,
        port_nodes=np.array(net.ports),
        node_voltage=voltage,
        element_current=np.asarray(voltage @ behind.T, dtype=complex),
        line_current=along,
        lead_current=found[count:][first_lead : first_lead + len(wiring.leads)].T.astype(
            complex
        ),
        change=float("nan"),
        seconds=float("nan"),
    )
    vars(made)["twin"] = twin
    return made


def _contacts(coupling: Floats, group: Integers, contact: tuple[float, ...]) -> Floats:
    """What stands in series with each wire for the contact of its group, shape (w,). [Ω]"""
    member = (group[:, None] == np.arange(len(contact))).astype(float)
    unit = cho_solve(cho_factor(coupling, lower=True), member)
    alone = unit @ np.linalg.inv(member.T @ unit)
    share = alone[np.arange(len(group)), group]
    found = np.empty(len(group))
    for number, resistance in enumerate(contact):
        mine = group == number
        found[mine] = in_series(resistance, share=share[mine])
    return found


def _halves(nodes: Integers, count: int) -> Floats:
    """Half of both nodes of each wire, shape (w, n)."""
    found = np.zeros((len(nodes), count))
    for end in (0, 1):
        np.add.at(found, (np.arange(len(nodes)), nodes[:, end]), 0.5)
    return found


def _impedances(
    net: Net, sub: CutMetal, wires: Wires, *, wiring: Wiring, soil: Soil
) -> Complexes:
    """Impedance between and of branches, shape (b, b). [Ω]"""
    c, frequency = sub.conductors, wiring.frequency
    piece = wires.piece[net.real]
    span = np.abs(np.diff(net.along[net.real], axis=1))[:, 0]
    per_metre = np.empty(len(c.radius), dtype=complex)
    for number, bar in enumerate(wiring.bars):
        mine = c.part == number
        per_metre[mine] = bar.impedance(c.radius[mine], frequency=frequency)
    own = list(per_metre[piece] * span)
    starts = [c.start[piece] + net.along[net.real, :1] * c.direction[piece]]
    stops = [c.start[piece] + net.along[net.real, 1:] * c.direction[piece]]
    radii, branch = [c.radius[piece]], [np.arange(len(piece))]
    for number, lead in enumerate(wiring.leads):
        if lead.bar is None:
            own.append(complex(lead.impedance or 0.0))
            continue
        start, stop = legs_of(lead, sub)
        length = np.linalg.norm(stop - start, axis=1)
        unit = lead.bar.impedance(np.array([lead.radius]), frequency=frequency)[0]
        own.append(complex(unit) * float(length.sum()))
        starts.append(start)
        stops.append(stop)
        radii.append(np.full(len(start), lead.radius))
        branch.append(np.full(len(start), len(piece) + number))
    own += [complex(item.impedance) for item in wiring.breaks if item.impedance is not None]
    found = np.diag(np.array(own, dtype=complex))
    if frequency > 0:
        path = ReturnPath(wiring.earth or soil, frequency)
        mutual = path.matrix(
            np.concatenate(starts), end=np.concatenate(stops), radius=np.concatenate(radii)
        )
        spread = np.zeros((len(mutual), len(own)))
        spread[np.arange(len(mutual)), np.concatenate(branch)] = 1.0
        found += spread.T @ mutual @ spread
    return found
