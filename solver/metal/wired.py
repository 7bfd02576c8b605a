"""Metal with its leads as one network: nodes, branches and all that they induce."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import scipy.sparse as sparse
from scipy.sparse.csgraph import connected_components

from ..errors import CaseError
from ..model import Conductors, Floats, Integers, Soil
from ..solved_soil import Lines
from .earth import EarthReturn
from .induction import Induction, induction_of
from .internal import Complexes
from .network import Network, network_of
from .places import Feed
from .runs import Straights, longest_run, runs_along
from .wiring import REMOTE_EARTH, End, Lead, Terminal, Wiring

_of_attenuation = 0.25  # of a run in lengths over which current fades
_runs_of_leads = 200  # that all leads are cut into at the most, beyond one each


@dataclass(frozen=True)
class Wired:
    """Metal and leads as n nodes and b branches, metal first in both.

    Attributes
    ----------
    network : Network
        The metal.
    nodes : int
        Of metal and terminals; remote earth is none.
    first, last : ndarray of int, shape (b,)
        Nodes of each branch; -1 at remote earth.
    impedance : ndarray of complex, shape (b,)
        Internal or lumped, of all of each. [Ω]
    ports : tuple of int
        Node of each.
    terminals : dict of str to int
        Node of each but remote earth.
    routes : tuple of ndarray of float, shape (k, 3), or None
        Corners of each lead that has a way. [m]
    """

    network: Network
    nodes: int
    first: Integers
    last: Integers
    impedance: Complexes
    ports: tuple[int, ...]
    terminals: dict[str, int]
    routes: tuple[Floats | None, ...]

    @property
    def incidence(self) -> sparse.csr_matrix:
        """One where a branch starts, less one where it ends, shape (b, n)."""
        row = np.tile(np.arange(len(self.first)), 2)
        node = np.concatenate([self.first, self.last])
        sign = np.repeat([1.0, -1.0], len(self.first))
        real = node >= 0
        return sparse.csr_matrix(
            (sign[real], (row[real], node[real])), shape=(len(self.first), self.nodes)
        )

    @property
    def leak(self) -> sparse.csr_matrix:
        """Share of the current of each line element that counts at each node, shape (n, m)."""
        metal = self.network.leak
        terminals = sparse.csr_matrix((self.nodes - metal.shape[0], metal.shape[1]))
        return sparse.vstack([metal, terminals], format="csr")


def wired(conductors: Conductors, *, elements: Lines, wiring: Wiring) -> Wired:
    """Network of metal with its leads, without what they induce.

    Parameters
    ----------
    elements : Lines
        The m line elements of the metal, each a branch.

    Raises
    ------
    CaseError
        If a place is not on the metal, a port or a lead has no way into the soil, or leads
        without impedance make a loop.
    """
    network = network_of(
        conductors,
        elements=elements,
        feeds=list(places_of(wiring)),
        breaks=[item.feed for item in wiring.breaks],
    )
    count = len(network.place)
    fed, terminals = iter(network.fed), {REMOTE_EARTH: -1}

    def node_of(end: End) -> int:
        if isinstance(end, Terminal):
            return terminals.setdefault(end, count + len(terminals) - 1)
        return next(fed)

    ports = tuple(node_of(port.at) for port in wiring.ports)
    ends = [(node_of(lead.ends[0]), node_of(lead.ends[1])) for lead in wiring.leads]
    routes = tuple(
        _route(lead, network=network, ends=two)
        for lead, two in zip(wiring.leads, ends, strict=True)
    )
    own = [
        _own_impedance(lead, route, frequency=wiring.frequency)
        for lead, route in zip(wiring.leads, routes, strict=True)
    ]
    for two, item in zip(network.cut, wiring.breaks, strict=True):
        if item.impedance is not None:
            ends.append(two)
            own.append(complex(item.impedance))
    both = np.array(ends, dtype=np.int64).reshape(-1, 2)
    made = Wired(
        network=network,
        nodes=count + len(terminals) - 1,
        first=np.concatenate([network.first, both[:, 0]]),
        last=np.concatenate([network.last, both[:, 1]]),
        impedance=np.concatenate([_of_metal(network, conductors, wiring), own]),
        ports=ports,
        terminals={end.name: node for end, node in terminals.items() if node >= 0},
        routes=routes,
    )
    _require_ways(made, wiring)
    _require_no_loop(made, wiring)
    return made


def inducing(
    made: Wired, *, conductors: Conductors, wiring: Wiring, soil: Soil, fading: Floats
) -> Induction:
    """What runs of metal and leads induce in each other.

    Parameters
    ----------
    soil : Soil
        That currents return through, where the wiring names none.
    fading : ndarray of float, shape (pieces,)
        Length over which current along each piece of metal fades. [m]
    """
    earth = EarthReturn(wiring.earth or soil, wiring.frequency)
    longest = min(longest_run(earth.reach), _of_attenuation * float(fading.min()))
    own = len(made.network.first)
    joined = np.unique([*made.ports, *made.first[own:], *made.last[own:]])
    straights = Straights.of(made.network, conductors=conductors, fed=joined)
    if any(route is not None for route in made.routes):
        straights += _of_leads(made, wiring, longest=longest, pieces=len(conductors.radius))
    runs = runs_along(straights, branches=len(made.first), longest=longest)
    return induction_of(runs, soil=earth.soil, frequency=wiring.frequency)


def places_of(wiring: Wiring) -> Iterator[Feed]:
    """Where ports and leads are on the metal, in order."""
    ends = [port.at for port in wiring.ports]
    ends += [end for lead in wiring.leads for end in lead.ends]
    return (end for end in ends if isinstance(end, Feed))


def _of_metal(network: Network, conductors: Conductors, wiring: Wiring) -> Complexes:
    """Internal impedance of each branch of metal. [Ω]"""
    per_metre = np.empty(len(conductors.radius), dtype=complex)
    for number, bar in enumerate(wiring.bars):
        mine = conductors.part == number
        per_metre[mine] = bar.impedance(conductors.radius[mine], frequency=wiring.frequency)
    return np.asarray(per_metre[network.piece] * network.length, dtype=complex)


def _route(lead: Lead, *, network: Network, ends: tuple[int, int]) -> Floats | None:
    """Corners of a lead that has a way. [m]"""
    if lead.bar is None:
        return None
    if lead.route:
        return np.array(lead.route, dtype=float)
    return network.place[list(ends)]


def _own_impedance(lead: Lead, route: Floats | None, *, frequency: float) -> complex:
    """Internal or lumped impedance of a lead. [Ω]"""
    if lead.bar is None or route is None:
        return complex(lead.impedance or 0.0)
    length = float(np.linalg.norm(np.diff(route, axis=0), axis=1).sum())
    per_metre = lead.bar.impedance(np.array([lead.radius]), frequency=frequency)
    return complex(per_metre[0]) * length


def _of_leads(made: Wired, wiring: Wiring, *, longest: float, pieces: int) -> Straights:
    """Straight lengths of leads with a way, short enough for runs."""
    legs = [
        (number, start, end)
        for number, route in enumerate(made.routes)
        if route is not None
        for start, end in pairwise(route)
    ]
    lead = np.array([number for number, _, _ in legs], dtype=np.int64)
    ends = np.array([(start, end) for _, start, end in legs]).reshape(-1, 2, 3)
    step = ends[:, 1] - ends[:, 0]
    length = np.linalg.norm(step, axis=1)
    part = max(longest, float(length.sum()) / _runs_of_leads)
    parts = np.ceil(length / part - 1e-9).astype(np.int64)
    leg = np.repeat(np.arange(len(legs)), parts)
    number = np.arange(len(leg)) - np.repeat(np.cumsum(parts) - parts, parts)
    share = (number + 0.5) / parts[leg]
    branch = len(made.network.first) + lead[leg]
    radius = np.array([one.radius for one in wiring.leads])
    outermost = (
        np.stack([np.diff(lead[leg], prepend=-1), np.diff(lead[leg], append=-1)], 1) != 0
    )
    ends_at = np.stack([made.first[branch], made.last[branch]], axis=1)
    # Corners get numbers of their own, and so do ends at remote earth: nothing goes on there.
    corner = made.nodes + np.arange(len(leg))[:, None] + [0, 1]
    nowhere = made.nodes + len(leg) + 1 + np.arange(2 * len(leg)).reshape(-1, 2)
    return Straights(
        middle=ends[leg, 0] + share[:, None] * step[leg],
        axis=step[leg] / length[leg, None],
        length=length[leg] / parts[leg],
        radius=radius[lead[leg]],
        piece=pieces + leg,
        branch=branch,
        nodes=np.where(outermost, np.where(ends_at < 0, nowhere, ends_at), corner),
        parted=outermost & np.isin(ends_at, made.ports),
        leads=np.ones(len(leg), dtype=bool),
    )


def _require_ways(made: Wired, wiring: Wiring) -> None:
    """Raise `CaseError` if a port or a lead has no way into the soil or to remote earth."""
    label = _joined(made.nodes, made.first, made.last)
    grounded = np.zeros(label.max() + 1, dtype=bool)
    grounded[label[: len(made.network.place)]] = True
    for one, other in ((made.first, made.last), (made.last, made.first)):
        grounded[label[other[(one < 0) & (other >= 0)]]] = True
    for port, node in zip(wiring.ports, made.ports, strict=True):
        if node < 0:
            msg = f"port {port.name!r} is at remote earth, where all current goes; leave it out"
            raise CaseError(msg)
        if not grounded[label[node]]:
            msg = f"port {port.name!r} has no way into the soil; join it to metal by a lead"
            raise CaseError(msg)
    for number, lead in enumerate(wiring.leads, start=len(made.network.first)):
        node = max(int(made.first[number]), int(made.last[number]))
        if node >= 0 and not grounded[label[node]]:
            msg = f"lead {lead.name!r} has no way into the soil; join it to metal, or drop it"
            raise CaseError(msg)


def _require_no_loop(made: Wired, wiring: Wiring) -> None:
    """Raise `CaseError` if leads without impedance make a loop: their current is open."""
    short = np.flatnonzero(made.impedance == 0)
    root = np.arange(-1, made.nodes)  # of each node, remote earth first

    def root_of(node: int) -> int:
        while root[node + 1] != node:
            root[node + 1] = root[root[node + 1] + 1]
            node = int(root[node + 1])
        return node

    names = [*(lead.name for lead in wiring.leads)]
    names += [item.name for item in wiring.breaks if item.impedance is not None]
    for branch in short.tolist():
        one, other = root_of(int(made.first[branch])), root_of(int(made.last[branch]))
        if one == other:
            name = names[branch - len(made.network.first)]
            msg = (
                f"{name!r} has no impedance and closes a loop of leads that have none, or of "
                "a place with itself: its current is open; give it a resistance or leave it out"
            )
            raise CaseError(msg)
        root[one + 1] = other


def _joined(count: int, first: Integers, last: Integers) -> Integers:
    """What hangs together, but for ways over remote earth: number for each node."""
    real = (first >= 0) & (last >= 0)
    links = sparse.coo_matrix(
        (np.ones(int(real.sum())), (first[real], last[real])), (count,) * 2
    )
    return np.asarray(connected_components(links, directed=False)[1], dtype=np.int64)
