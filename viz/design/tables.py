"""Tables of designs: all that were tried, the bill of the one shown, steps from it."""

from collections.abc import Iterator
from pathlib import Path

from ...solver.design import Sizing, Step, Tried
from ..tables.csv_files import write_table
from .words import ABOUT_DESIGNS, condition_text, proof_text, standing

_empty = float("nan")


def write_design_tables(sizing: Sizing, folder: Path) -> list[Path]:
    """Write designs tried, bill of quantities and steps into a folder."""
    notes = [
        " ".join(sizing.title.split()),
        proof_text(sizing).plain(units="SI", vocabulary="earth"),
        *ABOUT_DESIGNS,
    ]
    cost = f"cost [{sizing.currency}]" if sizing.currency else "metal [m]"
    names = [name for name, _ in sizing.choices]
    sections = sorted(
        {line.section for lines in sizing.bills.values() for line in lines if line.section}
    )
    header = (
        *names, cost, *(f"conductor of {1e6 * one:.4g} mm^2 [m]" for one in sections),
        "rods", "rod driven [m]", "joints", "surface layer [m^3]", "resistance [ohm]",
        "rise [V]", "takes of what is allowed [%]", "decides", "in", "voltage [V]", "limit [V]",
        "method", "conditions tried", "standing",
    )  # fmt: skip
    rows = (_row(sizing, item, sections) for item in sizing.tried)
    tables = [write_table(folder / "designs.csv", notes=notes, header=header, rows=rows)]
    bill = (
        (line.what, 1e6 * line.section or _empty, line.amount, _number(line.price))
        for line in sizing.bills.get(sizing.shown.chosen, ())
    )
    heading = ("what", "section [mm^2]", "amount [m, m^3 or number]",
               f"price [{sizing.currency or ''}]")  # fmt: skip
    tables.append(write_table(folder / "bill.csv", notes=notes, header=heading, rows=bill))
    if sizing.steps:
        steps = ("row", "choice", "from", "to", f"{cost} more", "resistance more [ohm]",
                 "deciding voltage more [V]", "takes of what is allowed [%]")  # fmt: skip
        tables.append(
            write_table(folder / "steps.csv", notes=notes, header=steps, rows=_steps(sizing))
        )
    return tables


def _row(sizing: Sizing, item: Tried, sections: list[float]) -> tuple[object, ...]:
    lines = sizing.bills.get(item.chosen, ())
    metres = {line.section: line.amount for line in lines if line.section}
    amounts = {line.what: line.amount for line in lines}
    best = item.best
    need = None if best is None else best.deciding(sizing.targets)
    met = None if need is None else need.met
    return (
        *sizing.options(item.chosen),
        item.cost,
        *(metres.get(one, 0.0) for one in sections),
        *(amounts.get(what, 0) for what in ("rods", "driven", "joints", "surface")),
        _empty if best is None else best.resistance,
        _empty if best is None else best.rise,
        _empty if need is None else 100 * need.share,
        "" if need is None else met.exposure if met else need.what,
        "" if need is None else condition_text(need.condition),
        _empty if met is None else met.voltage,
        _empty if met is None else met.limit,
        "" if best is None else best.method,
        0 if best is None else len(best.conditions),
        standing(sizing, item),
    )


def _steps(sizing: Sizing) -> Iterator[tuple[object, ...]]:
    rows: list[tuple[str, Step]] = [("single", step) for step in sizing.steps]
    rows += [("onward", step) for step in sizing.onward]
    for kind, step in rows:
        takes = step.tried.thin.worst(sizing.targets) if step.tried.thin else _empty
        yield (
            kind, step.choice, step.before, step.after, step.cost, step.ohms,
            step.volts(sizing.targets), 100 * takes,
        )  # fmt: skip


def _number(value: float | None) -> float:
    return _empty if value is None else value
