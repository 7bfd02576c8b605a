"""Nodal equations of the fault circuit; the soil between the electrodes is one of its parts.

Unknowns are the voltage of each node and the current of each impedance and of the supply, so
that a small impedance does not cost digits. Remote earth is the reference.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from ..errors import CaseError, TrustError
from ..model import Flags, Phasors
from .ladder import Complexes
from .model import REMOTE_EARTH, SUPPLY, Circuit, Path

_earth = 0  # number of remote earth among the nodes


@dataclass(frozen=True)
class Flow:
    """Voltages and currents of a solved network, in the phase of the supply."""

    # (n,): of each node to remote earth, which is node 0; not a number where nothing that is
    # connected leads. [V]
    voltage: Complexes
    number: dict[str, int]  # node of each name
    # Into each path at its first end and out of it at its second, the supply's from its
    # return to where it goes [A]
    current: dict[str, tuple[complex, complex]]
    residual: float  # largest current that is missing at a node, per current of the supply


def solve_network(circuit: Circuit, *, soil: Phasors, set_of: dict[str, int]) -> Flow:
    """Voltages and currents of a fault circuit; a split factor is a supply of that share.

    `soil` is the current into it from each bonded set per voltage of each, shape (s, s) [S];
    of metal with voltages along it, that into each port, complex.
    `CaseError` if the supply drives nothing: its loop is open, bonded away, or misses the
    soil; `TrustError` if there is no solution: impedances that cancel.
    """
    number = _node_numbers(circuit, set_of=set_of, sets=len(soil))
    live = _live(circuit, number=number, sets=len(soil))
    carrying = [
        path
        for path in circuit.paths
        if path.connected and all(live[number[name]] for name in path.between)
    ]
    simple = [path for path in carrying if path.impedance is not None]
    matrix, right = _equations(circuit, number=number, soil=soil, simple=simple)
    ladders = {
        path.name: (path.ladder.admittance, [number[name] for name in path.between])
        for path in carrying
        if path.ladder is not None
    }
    for admittance, ends in ladders.values():
        matrix[np.ix_(ends, ends)] += admittance
    count = len(live)
    kept = np.append(live, np.ones(len(right) - count, dtype=bool))
    kept[_earth] = False
    unknowns = np.zeros_like(right)
    try:
        unknowns[kept] = np.linalg.solve(matrix[np.ix_(kept, kept)], right[kept])
    except np.linalg.LinAlgError as error:
        msg = "the circuit has no single solution: impedances of opposite sign cancel in it"
        raise TrustError(msg) from error
    missing = (matrix @ unknowns - right)[:count][kept[:count]]
    residual = float(np.abs(missing).max() / abs(unknowns[-1]))
    _require_rise(unknowns[1:count], sets=len(soil))
    through = dict.fromkeys((path.name for path in circuit.paths), (0j, 0j))
    for name, value in zip([*(p.name for p in simple), SUPPLY], unknowns[count:], strict=True):
        through[name] = (complex(value), complex(value))
    for name, (admittance, ends) in ladders.items():
        near, far = admittance @ unknowns[ends]
        through[name] = (complex(near), complex(-far))
    voltage = np.where(live, unknowns[:count], np.nan)
    return Flow(voltage, number, through, residual)


def _equations(
    circuit: Circuit, *, number: dict[str, int], soil: Phasors, simple: Sequence[Path]
) -> tuple[Complexes, Complexes]:
    """Matrix and right side without the ladders: nodes, impedances, the supply last."""
    supply = circuit.supply
    count = max(number.values()) + 1
    size = count + len(simple) + 1
    matrix = np.zeros((size, size), dtype=np.complex128)
    right = np.zeros(size, dtype=np.complex128)
    # Row of a node: the currents that leave it add up to nothing.
    matrix[1 : len(soil) + 1, 1 : len(soil) + 1] = soil
    branches = [(path.between, path.impedance) for path in simple]
    branches.append(((supply.returns_at, supply.to), supply.impedance))
    for row, (between, impedance) in enumerate(branches, start=count):
        near, far = (number[name] for name in between)
        matrix[near, row] += 1
        matrix[far, row] -= 1
        matrix[row, near] += 1
        matrix[row, far] -= 1
        matrix[row, row] = -(impedance or 0)
    if supply.current is None:
        right[-1] = -(supply.voltage or 0.0)
    else:
        matrix[-1] = 0
        matrix[-1, -1] = 1
        right[-1] = supply.current * (circuit.split_factor or 1.0)
    return matrix, right


def require_nodes(circuit: Circuit, *, groups: Sequence[str]) -> None:
    """Raise on a node of the circuit's own that leads nowhere: mostly a slip in a name."""
    if REMOTE_EARTH in groups:
        msg = f"an electrode is named {REMOTE_EARTH!r}, as the circuit calls 0 V; rename it"
        raise CaseError(msg)
    for node in circuit.own_nodes(tuple(groups)):
        if circuit.ends.count(node) < 2:
            raise CaseError(lone_node(node, allowed=[*groups, *circuit.ends]))


def lone_node(node: str, *, allowed: Sequence[str]) -> str:
    """Message about a node at which nothing else ends; `allowed` may have been meant."""
    others = dict.fromkeys(name for name in (*allowed, REMOTE_EARTH) if name != node)
    close = get_close_matches(node, list(others), n=1)
    hint = f"did you mean {close[0]!r}? " if close else ""
    return (
        f"{node!r} is no electrode, and nothing else of the circuit ends there; {hint}"
        f"there are {', '.join(map(repr, list(others)[:20]))}"
    )


def _node_numbers(circuit: Circuit, *, set_of: dict[str, int], sets: int) -> dict[str, int]:
    """Remote earth, then the bonded sets, then nodes of the circuit's own."""
    own = circuit.own_nodes(tuple(set_of))
    return (
        {REMOTE_EARTH: _earth}
        | {name: 1 + member for name, member in set_of.items()}
        | {name: 1 + sets + k for k, name in enumerate(own)}
    )


def _live(circuit: Circuit, *, number: dict[str, int], sets: int) -> Flags:
    """Nodes that something connected leads to from remote earth.

    The supply's loop must close without it, and through the soil's reference.
    """
    supply = circuit.supply
    to, back = number[supply.to], number[supply.returns_at]
    if to == back:
        msg = (
            f"bonds join {supply.to!r} and {supply.returns_at!r}, between which the supply "
            "stands; open one, or let the current return elsewhere"
        )
        raise CaseError(msg)
    edges = [(_earth, 1 + member) for member in range(sets)]
    for path in circuit.paths:
        near, far = (number[name] for name in path.between)
        if not path.connected:
            continue
        if path.ladder is None or path.ladder.joins_its_ends:
            edges.append((near, far))
        if path.ladder is not None:
            grounded = zip((near, far), path.ladder.grounded, strict=True)
            edges += [(end, _earth) for end, any_ground in grounded if any_ground]
    total = max(number.values()) + 1
    pairs = np.array(edges, dtype=int)
    graph = coo_matrix((np.ones(len(pairs)), pairs.T), shape=(total, total))
    _, label = connected_components(graph, directed=False)
    if label[to] != label[back] or label[to] != label[_earth]:
        off = [path.name for path in circuit.paths if not path.connected]
        hint = f"connect {' or '.join(map(repr, off))}, or " if off else ""
        msg = (
            f"the loop of the supply is open: nothing leads from {supply.to!r} back to "
            f"{supply.returns_at!r} by way of the soil; {hint}give another return"
        )
        raise CaseError(msg)
    return np.asarray(label == label[_earth])


def _require_rise(voltage: Complexes, *, sets: int) -> None:
    """Raise where all of the current stays in metal."""
    size = np.abs(voltage)
    if not size[:sets].max() > 1e-12 * size.max():
        msg = (
            "no electrode gets a voltage: the current closes its loop through metal alone; "
            "let the supply go to an electrode or return through the soil"
        )
        raise CaseError(msg)
