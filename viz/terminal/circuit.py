"""A fault circuit as it was read, before anything is solved."""

from ...solver.circuit import Circuit
from ..circuit_words import division_text, factors_text, path_text, supply_text
from ..words.lines import terminal_text


def circuit_read(circuit: Circuit | None, *, electrodes: tuple[str, ...]) -> list[str]:
    """The circuit of a case as it was read; no lines where there is none."""
    if circuit is None:
        return []
    read = (supply_text(circuit), *map(path_text, circuit.paths))
    lines = [f"Fault circuit at {circuit.frequency:g} Hz"]
    lines += [f"  {terminal_text(text, units='SI')}" for text in read]
    own = ", ".join(circuit.own_nodes(electrodes))
    if own:
        lines.append(f"  Nodes that are no electrode: {own}")
    return [*lines, f"  {division_text(circuit)}", f"  {factors_text(circuit)}"]
