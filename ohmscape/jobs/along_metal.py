"""Metal with voltages along it: driven by its ports, by a circuit or by drives."""

from collections.abc import Sequence

import numpy as np

from ..cases.case import Case
from ..solver.circuit import operate_ports
from ..solver.circuit.operating import one_node
from ..solver.contact import behind_contact
from ..solver.drives import Drive, OperatingPoint, membership, port_currents
from ..solver.exposure.worst import WorstVoltage
from ..solver.field.along_soil import AlongSoil
from ..solver.metal import AlongField, SolvedAlong
from ..solver.model import Floats, Phasors
from ..solver.solved_soil import Field, SolvedSoil
from ..solver.thin_wire import Agreement, agreement_along
from .solving import Solved
from .steps import Operated, operate


def operate_solved(case: Case, solved: Solved, *, coarse: bool = False) -> Operated:
    """A case in operation on what was solved of it, on its mesh or on the coarser one.

    Raises
    ------
    CaseError, TrustError
        As `operate` and `operate_along`.
    """
    solution = solved.coarse if coarse else solved.fine
    along = solved.along_coarse if coarse else solved.along
    if case.wiring is None or along is None:
        return operate(case, solution)
    return operate_along(case, AlongSoil(along), solution=solution)


def operate_along(case: Case, along: SolvedAlong, *, solution: SolvedSoil) -> Operated:
    """A case in operation, with voltages along its metal.

    Parameters
    ----------
    along : SolvedAlong
        Unit solutions of its ports.
    solution : SolvedSoil
        The same metal at one potential, for its resistances.

    Raises
    ------
    CaseError
        If nothing is driven, or drives contradict.
    TrustError
        If a circuit does not balance.
    """
    wiring = case.wiring
    assert wiring is not None  # what has no wiring is at one potential
    names = [port.name for port in wiring.ports]
    current_matrix = behind_contact(solution, case.contact_resistance).current_matrix
    found: list[AlongField] = []

    def driven(currents: Phasors) -> tuple[OperatingPoint, complex]:
        field = AlongField.driven(along, currents)
        found.append(field)
        fed = int(np.abs(currents).argmax())
        turn = complex(field.drive[fed] / currents[fed])
        return _point(case, field, current_matrix), turn

    matrix = along.port_matrix
    if case.circuit is not None:
        operation = operate_ports(
            case.circuit,
            port_matrix=matrix,
            ports=names,
            driven=driven,
            group_names=case.conductors.group_names,
        )
        return Operated(found[0], operation.point, operation)
    point, _ = driven(_by_drives(case, names, matrix))
    return Operated(found[0], point, None)


def along_compared(solved: Solved, rougher: Operated) -> tuple[Phasors, Phasors, Field] | None:
    """Impedances of the ports on both meshes, and the field on the coarser one."""
    if solved.along is None or solved.along_coarse is None:
        return None
    fine, coarse = (each.port_matrix.diagonal() for each in (solved.along, solved.along_coarse))
    return fine, coarse, rougher.field


def along_agreement(
    case: Case, solved: Solved, *, operating: OperatingPoint, worst: Sequence[WorstVoltage]
) -> Agreement | None:
    """What thin conductors with a network of their own say of a result; None without them."""
    if solved.along is None or solved.along_second is None or solved.second is None:
        return None
    opinion = solved.along_second
    other = operate_along(case, opinion, solution=solved.second)
    return agreement_along(
        operating,
        worst=worst,
        metal_groups={item.name: item.group for item in case.study.touchables},
        ports=solved.along.port_matrix.diagonal(),
        opinion=opinion,
        other=other.point,
        field=other.field,
    )


def _by_drives(case: Case, names: list[str], matrix: Phasors) -> Phasors:
    """Current into each port of electrodes that are driven directly. [A]"""
    label = one_node(matrix)
    groups = case.conductors.group_names
    drives = {name: case.drives[groups.index(name)] for name in names if name in groups}
    first = np.unique(label, return_index=True)[1]
    held = []
    for node in range(len(first)):
        mine = [drives[name] for name, at in zip(names, label, strict=True)
                if at == node and name in drives]  # fmt: skip
        volts = [one for one in mine if one.kind == "voltage"]
        amperes = sum(one.value for one in mine if one.kind == "current")
        held.append(volts[0] if volts else Drive("current", amperes))
    currents = np.zeros(len(names), dtype=matrix.dtype)
    currents[first] = port_currents(matrix[np.ix_(first, first)], drives=held)
    return currents


def _point(case: Case, field: AlongField, current_matrix: Floats) -> OperatingPoint:
    """Largest rise, current into the soil and resistance at one potential of electrodes."""
    bonds = [bond.groups for bond in case.bonds if bond.closed]
    member = membership(len(case.drives), bonds=bonds)
    power = np.vdot(field.solution.port_matrix @ field.drive, field.drive).real
    return OperatingPoint(
        bonded_set=member.argmax(axis=0),
        voltage=field.voltage,
        current=field.group_current(),
        resistance=np.asarray(np.linalg.inv(member @ current_matrix @ member.T)),
        entering=float(power),
    )
