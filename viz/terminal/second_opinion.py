"""The words of a second opinion beside a result."""

from ...solver.results.result import Result
from ...solver.thin_wire import Agreement
from ...solver.wording import percent_text
from ..wording import ohms_text, with_unit


def second_opinion_lines(result: Result) -> list[str]:
    """Resistances and worst voltages by both methods and how far they are apart."""
    found = result.agreement
    if found is None:
        return [
            "No second opinion was made; numerics.second_opinion: always asks for one "
            "where it takes long"
        ]
    rows = [*_resistances(result, found), *_voltages(result, found)]
    width = max(len(name) for name, _ in rows)
    lines = [
        "Second opinion by thin conductors in layers: no mesh, no code of the field above",
        *(f"  {name:<{width}}  {values}" for name, values in rows),
        f"  its own estimated error: resistance "
        f"{percent_text(found.resistance_error, decimals=2)}; {found.wires:,} "
        f"wires, {found.seconds:.1f} s",
    ]
    if not _agree(result, found):
        lines.append(
            "  THEY DIFFER BY MORE THAN THEIR ESTIMATED ERRORS: find out why before you rely "
            "on either"
        )
    return lines


def _resistances(result: Result, found: Agreement) -> list[tuple[str, str]]:
    """Name and values for each electrode."""
    rows = []
    for group, name in enumerate(result.group_names):
        own = result.resistance(group)
        other = float(found.resistance[result.operating.bonded_set[group]])
        gap = f"{percent_text(own / other - 1, decimals=2, signed=True)} from it"
        values = f"{ohms_text(other)}, the result's {ohms_text(own)} is {gap}"
        rows.append((f"resistance of {name}", values))
    return rows


def _voltages(result: Result, found: Agreement) -> list[tuple[str, str]]:
    """Name and values for each worst voltage, at the place the result found."""
    rows = []
    for item, other in zip(result.worst, found.worst, strict=True):
        gap = (item.voltage - other) / result.rise
        own, again = (with_unit(value, symbol="V") for value in (item.voltage, other))
        off = percent_text(gap, decimals=2, signed=True)
        values = f"{again}, the result's {own} is {off} of the rise from it"
        name = f"touch of '{item.name}'" if item.other_foot is None else "step"
        rows.append((name, values))
    return rows


def _agree(result: Result, found: Agreement) -> bool:
    accuracy = result.accuracy
    resistance, touch, step = (
        accuracy.estimate(change)
        for change in (accuracy.resistance, accuracy.touch, accuracy.step)
    )
    return found.agrees(resistance_error=resistance, voltage_error=max(resistance, touch, step))
