"""Where a case operates: by its circuit, or else by the drives of its electrodes."""

from ...solver.circuit import Operation, operate
from ...solver.drives import OperatingPoint, operating_point
from ...solver.model import Floats
from ..case import Case


def operating_of(case: Case, current_matrix: Floats) -> tuple[OperatingPoint, Operation | None]:
    """Voltages and currents of a case by its circuit, or else by its drives.

    The case has its bonds and paths as they are switched; `current_matrix` is the current out
    of group i with group k at 1 V, shape (g, g) [S]. `CaseError` if drives and bonds
    contradict or nothing is driven; `TrustError` if currents or power of the circuit do not
    balance.
    """
    names = case.conductors.group_names
    bonds = [bond.groups for bond in case.bonds if bond.closed]
    if case.circuit is None:
        point = operating_point(current_matrix, drives=case.drives, bonds=bonds, names=names)
        return point, None
    operation = operate(
        case.circuit, current_matrix=current_matrix, group_names=names, bonds=bonds
    )
    return operation.point, operation
