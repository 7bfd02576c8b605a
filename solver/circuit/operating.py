"""The operation of a fault circuit from the solved soil: one linear solve, then balances."""

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from ..drives import OperatingPoint, membership
from ..errors import TrustError
from ..model import Floats, Integers, Phasors
from .ladder import Complexes
from .model import OTHER_PATHS, REMOTE_EARTH, SUPPLY, Circuit
from .network import Flow, require_nodes, solve_network
from .operation import Branch, Operation

# Currents missing at a node, and power missing in the whole, both relative.
balance_limit = 1e-8
_one_node = 1e-9  # of the largest impedance of a port, between two
_in_phase = 1e-9  # of the largest rise; smaller imaginary parts are round-off


def operate(
    circuit: Circuit,
    *,
    current_matrix: Floats,
    group_names: Sequence[str],
    bonds: Sequence[tuple[int, int]] = (),
) -> Operation:
    """Operation of a fault circuit on solved soil.

    Parameters
    ----------
    circuit : Circuit
        The circuit; electrodes it does not name float.
    current_matrix : ndarray of float, shape (g, g)
        Current out of group i with group k at 1 V. [S]
    group_names : sequence of str, length g
        Names of the groups, which are nodes of the circuit.
    bonds : sequence of (int, int)
        Pairs of groups joined by closed bonds.

    Raises
    ------
    CaseError
        If a node leads nowhere, the supply's loop is open, or nothing of it is in the soil.
    TrustError
        If currents or power do not balance.

    Notes
    -----
    Soil is a resistance at these frequencies: its mutual resistances are real, and so is
    the matrix. Paths are not coupled to each other or to the soil but at their ends.

    Examples
    --------
    A 230 V loop over two electrodes of 109 Ω and 5 Ω, far apart:

    >>> from ohmscape.solver.circuit import Supply
    >>> supply = Supply("workshop", voltage=230.0, returns_at="source")
    >>> found = operate(
    ...     Circuit(50.0, supply),
    ...     current_matrix=np.diag([1 / 109, 1 / 5]),
    ...     group_names=("workshop", "source"),
    ... )
    >>> print(f"{found.fault_current:.2f} A, {found.point.voltage[0]:.0f} V")
    2.02 A, 220 V
    """
    names = tuple(group_names)
    require_nodes(circuit, groups=names)
    member = membership(len(names), bonds=bonds)
    label = member.argmax(axis=0)
    soil = member @ current_matrix @ member.T
    flow = solve_network(
        circuit, soil=soil, set_of=dict(zip(names, label.tolist(), strict=True))
    )
    raised = flow.voltage[1 : len(soil) + 1]
    largest = int(np.abs(raised).argmax())
    turn = np.conj(raised[largest]) / np.abs(raised[largest])
    turned = raised * turn
    turned[largest] = np.abs(raised[largest])  # the reference itself, without round-off
    voltage = _real_where_in_phase(turned)[label]
    point = OperatingPoint(
        bonded_set=label,
        voltage=voltage,
        current=current_matrix @ voltage,
        resistance=np.asarray(np.linalg.inv(soil), dtype=np.float64),
    )
    own = tuple(circuit.own_nodes(names))
    return _operation(circuit, flow, names=names, own=own, point=point, turn=complex(turn))


def operate_ports(
    circuit: Circuit,
    *,
    port_matrix: Phasors,
    ports: Sequence[str],
    driven: Callable[[Phasors], tuple[OperatingPoint, complex]],
    group_names: Sequence[str],
) -> Operation:
    """Operation of a fault circuit on metal with voltages along it.

    Parameters
    ----------
    circuit : Circuit
        The circuit; its nodes are ports, or its own.
    port_matrix : ndarray of float or complex, shape (p, p)
        Voltage of port i per ampere into port k. [Ω]
    ports : sequence of str, length p
        Names.
    driven : callable
        Given the currents into the ports, the operating point of the electrodes, and the
        factor that its phase was turned by.
    group_names : sequence of str, length g
        Names of the electrodes.

    Raises
    ------
    CaseError, TrustError
        As `operate`.
    """
    require_nodes(circuit, groups=tuple(ports))
    label = one_node(port_matrix)
    first = np.unique(label, return_index=True)[1]
    soil = np.linalg.inv(port_matrix[np.ix_(first, first)])
    set_of = dict(zip(ports, label.tolist(), strict=True))
    flow = solve_network(circuit, soil=soil, set_of=set_of)
    raised = flow.voltage[1 : len(soil) + 1]
    currents = np.zeros(len(label), dtype=complex)
    currents[first] = soil @ raised
    point, turn = driven(currents)
    # Ports that are places on metal stand with the nodes that are no electrodes.
    own = [
        name for name in (*ports, *circuit.own_nodes(tuple(ports))) if name not in group_names
    ]
    names = tuple(group_names)
    return _operation(circuit, flow, names=names, own=tuple(own), point=point, turn=turn)


def one_node(port_matrix: Phasors) -> Integers:
    """Number of the node that each port is at, shape (p,): one, where leads without loss join.

    Of what is one node, all currents and voltages are alike.
    """
    own = port_matrix.diagonal()
    apart = np.abs(own[:, None] + own - port_matrix - port_matrix.T)
    same = apart <= _one_node * np.abs(own).max()
    return np.unique(same.argmax(axis=1), return_inverse=True)[1]


def _operation(
    circuit: Circuit,
    flow: Flow,
    *,
    names: tuple[str, ...],
    own: tuple[str, ...],
    point: OperatingPoint,
    turn: complex,
) -> Operation:
    """The operation, balanced, with phasors turned."""
    supply_current = flow.current[SUPPLY][0] * turn / (circuit.split_factor or 1.0)
    terminal = _voltage(flow, circuit.supply.to) - _voltage(flow, circuit.supply.returns_at)
    branches = _branches(circuit, flow, turn) + _unlisted(circuit, flow, turn)
    operation = Operation(
        circuit=circuit,
        group_names=names,
        point=point,
        nodes=own,
        node_voltage=turn * flow.voltage[[flow.number[name] for name in own]],
        supply_current=complex(supply_current),
        terminal_voltage=complex(terminal * turn),
        branches=branches,
        residual=flow.residual,
        power_balance=float("nan"),
    )
    return _balanced(operation)


def _balanced(operation: Operation) -> Operation:
    """The operation with its power balance, refused where a balance misses its limit."""
    given = operation.supply_power.real
    taken = operation.supply_loss + operation.point.power
    taken += sum(branch.loss for branch in operation.branches)
    missing = abs(given - taken) / max(abs(operation.supply_power), taken)
    for what, value in (("currents", operation.residual), ("power", missing)):
        if not value <= balance_limit:  # also true for NaN
            msg = (
                f"{what} of the fault circuit miss their balance by {value:.0e}, above "
                f"{balance_limit:.0e}; impedances too far apart in size are the usual cause"
            )
            raise TrustError(msg)
    return replace(operation, power_balance=float(missing))


def _real_where_in_phase(voltage: Complexes) -> Phasors:
    largest = np.abs(voltage).max()
    out_of_phase = np.abs(voltage.imag).max() > _in_phase * largest
    return voltage if out_of_phase else np.asarray(voltage.real, dtype=np.float64)


def _voltage(flow: Flow, name: str) -> complex:
    return complex(flow.voltage[flow.number[name]])


def _branches(circuit: Circuit, flow: Flow, turn: complex) -> tuple[Branch, ...]:
    found = []
    for path in circuit.paths:
        near, far = (current * turn for current in flow.current[path.name])
        ends = [_voltage(flow, name) * turn for name in path.between]
        power = 0.0
        if near or far:  # else one of its ends may have no voltage at all
            power = float((ends[0] * np.conj(near) - ends[1] * np.conj(far)).real)
        found.append(
            Branch(path.name, path.between, path.connected, complex(near), complex(far), power)
        )
    return tuple(found)


def _unlisted(circuit: Circuit, flow: Flow, turn: complex) -> tuple[Branch, ...]:
    """All paths that a split factor stands for, as one."""
    if circuit.split_factor is None:
        return ()
    into_soil = flow.current[SUPPLY][0] * turn
    rest = complex(into_soil * (1 / circuit.split_factor - 1))
    power = float((_voltage(flow, circuit.supply.to) * turn * np.conj(rest)).real)
    between = (circuit.supply.to, REMOTE_EARTH)
    return (Branch(OTHER_PATHS, between, True, rest, rest, power),)
