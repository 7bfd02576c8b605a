"""What is told of metal with voltages along it: ports, rises, leads, places, coatings."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ..field.driven import Driven
from ..metal import Feed
from ..model import Flags, Floats, Integers, Phasors
from .result import Result

Spot = tuple[float, float, float]


@dataclass(frozen=True)
class PortRow:
    """A place where current enters metal, or leaves it.

    Attributes
    ----------
    name : str
    current, voltage, impedance : complex
        Into it [A], to remote earth [V], and that per ampere with no current in the others [Ω].
    """

    name: str
    current: complex
    voltage: complex
    impedance: complex


@dataclass(frozen=True)
class RiseRow:
    """Metal of an electrode where it is highest and where it is lowest. [V], [m]"""

    name: str
    highest: complex
    highest_at: Spot
    lowest: complex
    lowest_at: Spot


@dataclass(frozen=True)
class LeadRow:
    """A lead, or a joint that is not sound: current along it, and voltage over it.

    `voltage` is that between its ends, to remote earth each. Of leads that are told together,
    such as the spans of a fence, both are the largest of all. [A], [V]
    """

    name: str
    current: complex
    voltage: complex


@dataclass(frozen=True)
class PlaceRow:
    """A place with a name, and its voltage to remote earth. [V]"""

    name: str
    voltage: complex


@dataclass(frozen=True)
class CoatRow:
    """The largest voltage over film or coating of a part, and where. [V], [m]"""

    part: str
    voltage: float
    at: Spot


@dataclass(frozen=True)
class AlongTold:
    """All that is told of metal with voltages along it."""

    frequency: float  # [Hz]
    permeability: float  # of its steel; 1 without any
    ports: tuple[PortRow, ...]
    rises: tuple[RiseRow, ...]
    leads: tuple[LeadRow, ...]
    places: tuple[PlaceRow, ...]
    coats: tuple[CoatRow, ...]


def driven_of(result: Result) -> Driven | None:
    """The metal of a result at its currents; None where each electrode is at one potential."""
    if result.along is None or result.along_drive is None:
        return None
    return Driven(result.along, result.along_drive)


def along_told(result: Result) -> AlongTold | None:
    """What is told of the metal of a result; None where it is at one potential."""
    driven = driven_of(result)
    if driven is None:
        return None
    wiring = driven.solution.wiring
    bars = [*wiring.bars, *(lead.bar for lead in wiring.leads if lead.bar is not None)]
    return AlongTold(
        frequency=wiring.frequency,
        permeability=max(bar.permeability for bar in bars),
        ports=tuple(_ports(driven)),
        rises=tuple(_rises(driven)),
        leads=tuple(_leads(driven)),
        places=tuple(_places(driven, result)),
        coats=tuple(_coats(driven)),
    )


def _ports(driven: Driven) -> Iterator[PortRow]:
    own = driven.solution.port_matrix.diagonal()
    rows = zip(
        driven.solution.wiring.ports, driven.current, driven.port_voltage, own, strict=True
    )
    for port, current, voltage, impedance in rows:
        yield PortRow(port.name, complex(current), complex(voltage), complex(impedance))


def _rises(driven: Driven) -> Iterator[RiseRow]:
    names = driven.solution.conductors.group_names
    for high, low in zip(driven.rises[::2], driven.rises[1::2], strict=True):
        yield RiseRow(names[high.group], high.voltage, high.place, low.voltage, low.place)


def _leads(driven: Driven) -> Iterator[LeadRow]:
    wired = driven.solution.wired
    metal = len(wired.network.first)
    # Remote earth, -1, is at 0 V.
    voltage = np.append(driven.node_voltage, 0.0)
    over = voltage[wired.first] - voltage[wired.last]
    told_as = {lead.name: lead.told_as for lead in driven.solution.wiring.leads}
    together: dict[str, LeadRow] = {}
    for number, (name, current) in enumerate(driven.lead_current.items()):
        row = LeadRow(name, current, complex(over[metal + number]))
        whole = told_as.get(name, "")
        if not whole:
            yield row
            continue
        largest = together.get(whole, LeadRow(whole, 0j, 0j))
        together[whole] = LeadRow(
            whole,
            max(largest.current, row.current, key=abs),
            max(largest.voltage, row.voltage, key=abs),
        )
    yield from together.values()


def _places(driven: Driven, result: Result) -> Iterator[PlaceRow]:
    ports = {port.name for port in driven.solution.wiring.ports}
    terminals = driven.terminal_voltage
    for place in result.places:
        if place.name in ports:
            continue
        if isinstance(place.at, Feed):
            at = np.array([place.at.piece]), np.array([place.at.along])
            yield PlaceRow(place.name, complex(driven.metal_voltage(*at)[0]))
        elif place.at.name in terminals:
            yield PlaceRow(place.name, terminals[place.at.name])


def over_coats(driven: Driven) -> Floats:
    """Size of the voltage over film and coating of each branch of metal, (branches,). [V]"""
    solution, metal = driven.solution, driven.solution.conductors
    elements, given = solution.lines
    current = driven.current @ given
    piece = elements.piece
    inner, outer = metal.radius[piece], metal.sheath_radius[piece]
    film = metal.contact[piece] / inner
    shell = metal.sheath_resistivity[piece] * np.log(outer / inner)
    return np.asarray(np.abs(current) / elements.length * (film + shell) / (2 * np.pi))


def _coats(driven: Driven) -> Iterator[CoatRow]:
    """Parts with a film or a shell round them, by the largest voltage over it."""
    metal = driven.solution.conductors
    elements = driven.solution.lines[0]
    over, middle = over_coats(driven), elements.middle
    covered = (metal.contact > 0) | (metal.sheath_radius > metal.radius)
    for part, name in enumerate(metal.part_names):
        mine = np.flatnonzero((metal.part == part)[elements.piece] & covered[elements.piece])
        if len(mine):
            worst = mine[over[mine].argmax()]
            x, y, z = middle[worst].tolist()
            yield CoatRow(name, float(over[worst]), (x, y, z))


@dataclass(frozen=True)
class AlongLines:
    """Metal from node to node, b branches.

    Attributes
    ----------
    start, end : ndarray of float, shape (b, 3)
        [m]
    part : ndarray of int, shape (b,)
    first, last : ndarray, shape (b,)
        Voltage at both ends. [V]
    current : ndarray, shape (b,)
        From start to end. [A]
    """

    start: Floats
    end: Floats
    part: Integers
    first: Phasors
    last: Phasors
    current: Phasors

    def __add__(self, other: "AlongLines") -> "AlongLines":
        """Give both together."""
        mine, theirs = vars(self), vars(other)
        return AlongLines(**{key: np.concatenate([mine[key], theirs[key]]) for key in mine})

    def only(self, chosen: Flags) -> "AlongLines":
        """Some of them."""
        return AlongLines(**{key: value[chosen] for key, value in vars(self).items()})


def along_lines(driven: Driven) -> AlongLines:
    """Metal from node to node, its voltages and currents."""
    network, metal = driven.solution.wired.network, driven.solution.conductors
    way = metal.direction[network.piece]
    start = metal.start[network.piece] + network.begin[:, None] * way
    return AlongLines(
        start=start,
        end=start + network.length[:, None] * way,
        part=metal.part[network.piece],
        first=driven.node_voltage[network.first],
        last=driven.node_voltage[network.last],
        current=driven.branch_current[: len(network.first)],
    )


def rail_lines(driven: Driven) -> AlongLines:
    """Rails of fences from post to post, of the part of the posts, as `along_lines`."""
    solution, metal = driven.solution, driven.solution.conductors
    wired, first = solution.wired, len(solution.wired.network.first)
    pairs = enumerate(zip(solution.wiring.leads, wired.routes, strict=True), start=first)
    spans = [
        (number, route, int(metal.part[lead.ends[0].piece]))
        for number, (lead, route) in pairs
        if lead.told_as and route is not None and isinstance(lead.ends[0], Feed)
    ]
    branch = np.array([number for number, _, _ in spans], dtype=np.int64)
    ends = np.array([route[[0, -1]] for _, route, _ in spans]).reshape(-1, 2, 3)
    return AlongLines(
        start=ends[:, 0],
        end=ends[:, 1],
        part=np.array([part for _, _, part in spans], dtype=np.int64),
        first=driven.node_voltage[wired.first[branch]],
        last=driven.node_voltage[wired.last[branch]],
        current=driven.branch_current[branch],
    )
