"""Where a case operates: by its circuit, or else by the drives of its electrodes."""

import numpy as np

from ...solver.circuit import Operation, operate, operate_ports
from ...solver.drives import OperatingPoint, operating_point, port_currents
from ...solver.model import Floats, Phasors
from ..case import Case


def operating_of(case: Case, current_matrix: Floats) -> tuple[OperatingPoint, Operation | None]:
    """Voltages and currents of a case by its circuit, or else by its drives.

    The case has its bonds and paths as they are switched; `current_matrix` is the current out
    of group i with group k at 1 V, shape (g, g) [S]. `CaseError` if drives and bonds
    contradict or nothing is driven; `TrustError` if currents or power of the circuit do not
    balance.
    """
    assert case.wiring is None  # ports stand where electrodes do: see `require_operable`
    names = case.conductors.group_names
    bonds = [bond.groups for bond in case.bonds if bond.closed]
    if case.circuit is None:
        point = operating_point(current_matrix, drives=case.drives, bonds=bonds, names=names)
        return point, None
    operation = operate(
        case.circuit, current_matrix=current_matrix, group_names=names, bonds=bonds
    )
    return operation.point, operation


def require_operable(case: Case) -> None:
    """`CaseError` where a case cannot operate, whatever its metal and soil are.

    Drives and bonds that contradict, a circuit that is open or does nothing.
    """
    if case.wiring is None:
        operating_of(case, np.eye(len(case.drives)))
        return
    names = [port.name for port in case.wiring.ports]
    groups = case.conductors.group_names
    if case.circuit is None:
        drives = [case.drives[groups.index(name)] for name in names]
        port_currents(np.eye(len(names)), drives=drives)
        return

    def driven(currents: Phasors) -> tuple[OperatingPoint, complex]:
        none = np.zeros(len(groups))
        fed = float(np.vdot(currents, currents).real)  # at 1 ohm each
        return OperatingPoint(np.arange(len(groups)), none, none, np.eye(len(groups)), fed), 1.0

    operate_ports(
        case.circuit,
        port_matrix=np.eye(len(names)),
        ports=names,
        driven=driven,
        group_names=groups,
    )
