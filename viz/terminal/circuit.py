"""The words of a fault circuit: as it was read, and how its current divides."""

from ...solver.circuit import (
    EARTH_CURRENT,
    OTHER_PATHS,
    SUPPLY,
    Circuit,
    Operation,
    Path,
    operate,
)
from ...solver.contact import behind_contact
from ...solver.results.result import Result
from ..circuit_words import impedance_text, node_text, source_text
from ..row_data import soil_currents
from ..wording import ohms_text, phasor_text, significant, with_unit
from ..words.lines import terminal_text

_some_durations = (0.1, 0.5, 1.0)  # s


def circuit_read(circuit: Circuit | None, *, electrodes: tuple[str, ...]) -> list[str]:
    """The circuit of a case as it was read; no lines where there is none."""
    if circuit is None:
        return []
    lines = [f"Fault circuit at {circuit.frequency:g} Hz", f"  {_supply(circuit)}"]
    lines += [f"  {_path(path)}" for path in circuit.paths]
    own = ", ".join(circuit.own_nodes(electrodes))
    if own:
        lines.append(f"  Nodes that are no electrode: {own}")
    return [*lines, f"  {_division_said(circuit)}", f"  {_factors_said(circuit)}"]


def circuit_lines(result: Result) -> list[str]:
    """How the current of a result divides; no lines where it has no circuit."""
    operation = result.operation
    if operation is None:
        return []
    circuit = operation.circuit
    lines = [
        f"Fault circuit at {circuit.frequency:g} Hz (effective values of today's symmetrical "
        "current)",
        f"  {_supply(circuit)}",
        f"  gives {phasor_text(operation.supply_current, symbol='A')} and "
        f"{with_unit(operation.supply_power.real, symbol='W')}, of which "
        f"{with_unit(operation.point.power, symbol='W')} heat the soil; it sees "
        f"{ohms_text(operation.driving_impedance)}",
        *_shares(result, operation),
        *_division(result, operation),
        f"  {_factors_said(circuit)}",
    ]
    if any(path.ladder is not None for path in circuit.paths):
        lines.append(
            "  Grounds of ladders stand in remote earth; nothing is induced in a path by the "
            "line beside it."
        )
    return lines


def _supply(circuit: Circuit) -> str:
    supply = circuit.supply
    to, back = _node(supply.to), _node(supply.returns_at)
    return f"supply: {source_text(supply)}, to {to}, returning at {back}"


def _node(name: str) -> str:
    return terminal_text(node_text(name), units="SI")


def _path(path: Path) -> str:
    ends = f"'{path.name}', {_node(path.between[0])} to {_node(path.between[1])}"
    apart = "" if path.connected else ", NOT CONNECTED"
    return f"path {ends}: {impedance_text(path)}{apart}"


def _division_said(circuit: Circuit) -> str:
    """How the current was said to divide."""
    if circuit.split_factor is not None:
        return f"Split factor given: {significant(circuit.split_factor)} of it enters the soil."
    if circuit.paths:
        return "The current divides between the soil and the paths."
    if circuit.all_current_in_soil:
        return "All of the fault current was said to enter the soil."
    return "No path beside the soil is given."


def _factors_said(circuit: Circuit) -> str:
    """Growth and decrement, which no phasor contains."""
    growth = f"growth factor {circuit.growth_factor:g}"
    if circuit.x_over_r is None:
        return f"NOT in these values: {growth}; no decrement factor, X/R is not given."
    shortest = 1 / (2 * circuit.frequency)
    found = ", ".join(
        f"{circuit.factors(time).decrement:.3f} for {time:g} s"
        for time in _some_durations
        if time >= shortest
    )
    ratio = f"X/R {circuit.x_over_r:g}"
    return f"NOT in these values: {growth}; decrement factor {found} ({ratio})."


def _percent(share: float) -> str:
    return f"{significant(100 * share)} %"


def _shares(result: Result, operation: Operation) -> list[str]:
    """Each current with its share of the supply's."""
    rows = []
    for branch in operation.branches:
        if branch.name == OTHER_PATHS:
            what = "other paths (by the split factor)"
        else:
            near, far = map(_node, branch.between)
            what = f"path '{branch.name}', {near} to {far}"
        if not branch.connected:
            rows.append((what, "not connected", ""))
            continue
        text = phasor_text(branch.current, symbol="A")
        if abs(branch.far_current) > 0 and branch.far_current != branch.current:
            in_ground = phasor_text(branch.current - branch.far_current, symbol="A")
            text += f" ({in_ground} of it through its grounds)"
        text += f", {with_unit(branch.loss, symbol='W')}"
        rows.append((what, text, _percent(operation.share(branch.name))))
    for name, into_soil, share in soil_currents(result):
        text = phasor_text(into_soil, symbol="A")
        rows.append((f"{EARTH_CURRENT}'{name}'", text, _percent(share)))
    width = max(len(what) for what, _, _ in rows)
    return [
        f"    {what:<{width}}  {text}{', ' + share + f' of the {SUPPLY}' if share else ''}"
        for what, text, share in rows
    ]


def _division(result: Result, operation: Operation) -> list[str]:
    """Split factor and the resistance it belongs to, on both meshes."""
    struck = operation.struck
    names = " + ".join(f"'{operation.group_names[k]}'" for k in struck)
    behind = behind_contact(result.coarse, result.contact_resistance)
    coarse = operate(
        operation.circuit,
        current_matrix=behind.current_matrix,
        group_names=operation.group_names,
        bonds=result.bonds,
    )
    number = operation.point.bonded_set[struck[0]]
    resistance, rough = (
        float(each.point.resistance[number, number]) for each in (operation, coarse)
    )
    return [
        f"  division: {names} passes {significant(operation.split_factor)} of it into the soil "
        f"(split factor), with {ohms_text(complex(resistance))} to remote earth;",
        "    one solution gives both, the soil being part of the circuit's equations; on the "
        f"coarser mesh {significant(coarse.split_factor)} with {ohms_text(complex(rough))}",
        f"  balance of currents {operation.residual:.0e}, of power "
        f"{operation.power_balance:.0e}",
    ]
