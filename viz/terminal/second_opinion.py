"""The words of a second opinion beside a result."""

from ...solver.results.result import Result
from ...solver.wording import percent_text
from ..row_data import SecondRow, second_rows, standing_words
from ..wording import ohms_text, with_unit
from ..words.lines import hanging


def second_opinion_lines(result: Result) -> list[str]:
    """Resistances and worst voltages by both methods and how far they are apart."""
    found = result.agreement
    if found is None:
        return [
            "No second opinion was made; numerics.second_opinion: always asks for one "
            "where it takes long"
        ]
    rows = [_row(row) for row in second_rows(result)]
    width = max(len(name) for name, _ in rows)
    lines = [
        "Second opinion by thin conductors in layers: no mesh, no code of the field above",
        *(f"  {name:<{width}}  {values}" for name, values in rows),
        f"  its own estimated error: resistance "
        f"{percent_text(found.resistance_error, decimals=2)}; {found.wires:,} "
        f"wires, {found.seconds:.1f} s",
    ]
    for text, tone in standing_words(result):
        if tone != "pass" or found.third is not None:
            lines += hanging(text, indent="  ")
    return lines


def _row(row: SecondRow) -> tuple[str, str]:
    """Name and both values."""
    gap = percent_text(row.apart, decimals=2, signed=True)
    if row.resistance:
        own, other = ohms_text(row.own), ohms_text(row.other)
        return f"resistance of {row.name}", f"{other}, the result's {own} is {gap} from it"
    own, other = (with_unit(value, symbol="V") for value in (row.own, row.other))
    return row.name, f"{other}, the result's {own} is {gap} of the rise from it"
