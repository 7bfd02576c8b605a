"""A comparison as text: readings beside the model, what explains the rest, the fit."""

import math

from ...jobs.compared import Compared
from ...solver.wording import percent_text
from ..terminal.lines import aligned, hanging, listed, page
from ..wording import length_unit, significant
from .words import (
    NOTHING,
    best_pairs,
    bias_and_scatter,
    compare_cautions,
    doubts,
    film_text,
    meaning,
    off_text,
    pins_behind_divider,
    range_text,
    resistivities_text,
    unknown_text,
    value_text,
)


def compared_text(compared: Compared) -> str:
    """A comparison as lines of text."""
    blocks = [
        _series(compared),
        _table(compared),
        _agreement(compared),
        _explanations(compared),
        _calibration(compared),
        listed("Mind in these readings", compared.measured.warnings, indent="  "),
        listed("Mind", compare_cautions, indent="  "),
    ]
    return page(compared.title, blocks)


def _series(compared: Compared) -> list[str]:
    lines = ["Readings"]
    measured = compared.measured
    for number, s in enumerate(measured.series):
        count = sum(note.series == number for note in measured.notes)
        words = [s.date, s.note]
        text = (
            f"{s.name}: {count} reading{'s' * (count > 1)} of {s.across[0]!r} over "
            f"{s.across[1]!r}, current from {s.electrode!r} to {s.returns}"
        ) + "".join(f"; {word}" for word in words if word)
        lines += hanging(text, indent="  ")
    lines.append(
        f"  Field: {compared.method}, solved {compared.solves} "
        f"time{'s' * (compared.solves > 1)}, {compared.seconds:.1f} s in all"
    )
    return lines


def _table(compared: Compared) -> list[str]:
    unit = length_unit(compared.units)
    rows = [("no.", "probe at", "measured", "± (1 s.d.)", "case", "", "calibrated", "")]
    lines = ["Measured and simulated: voltage per ampere, or as a share of the source voltage"]
    names: list[tuple[int, str]] = []
    items, notes = compared.measured.readings.items, compared.measured.notes
    for k, (item, beside) in enumerate(zip(items, notes, strict=True)):
        if not names or names[-1][1] != compared.measured.series[beside.series].name:
            names.append((len(rows), compared.measured.series[beside.series].name))
        place = "–" if math.isnan(beside.distance) else (
            f"{beside.distance * unit.factor:.2f} {unit.symbol}"
        )  # fmt: skip
        case, best = compared.case, compared.calibrated
        rows.append((
            "loop" if item.loop else str(beside.number),
            place,
            value_text(item, item.value),
            value_text(item, item.deviation),
            value_text(item, case.predicted[k]),
            off_text(case.difference[k], case.predicted[k]),
            value_text(item, best.predicted[k]),
            off_text(best.difference[k], best.predicted[k]),
        ))  # fmt: skip
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    heads = dict(names)
    for number, row in enumerate(rows):
        if number in heads:
            lines.append(f"  {heads[number]}")
        cells = [cell.rjust(width) for cell, width in zip(row, widths, strict=True)]
        lines.append("    " + "  ".join(cells).rstrip())
    if any(item.loop for item in items):
        lines.append(
            "  loop: source voltage over current. Percentages: measured over simulated."
        )
    else:
        lines.append("  Percentages: measured over simulated.")
    return lines


def _agreement(compared: Compared) -> list[str]:
    lines = ["Agreement (misfit in standard deviations; 1 is as good as they promise)"]
    for name, item in (
        ("case as it stands", compared.case),
        ("calibrated", compared.calibrated),
    ):
        bias, scatter = bias_and_scatter(item)
        lines.append(
            f"  {name:<17}  bias {bias}, scatter {scatter}, misfit {significant(item.misfit)}"
        )
    return lines


def _explanations(compared: Compared) -> list[str]:
    before = significant(compared.case.misfit)
    lines = [f"What alone would explain it, all else as the case has it (misfit now {before})"]
    found = compared.explanations
    rows = [("", "misfit left", "explained", "value (95 %)", "")]
    for item in found:
        value = unknown_text(item.unknown, item.fit.value[0])
        spread = range_text(item.unknown, item.fit.range[0])
        spread = spread if item.fit.seen[0] else "not seen"
        nothing = item.explained < NOTHING
        rows.append((
            item.unknown.name,
            significant(item.fit.misfit),
            "nothing" if nothing else percent_text(item.explained),
            "" if nothing else f"{value} ({spread})",
            meaning(item.unknown),
        ))  # fmt: skip
    lines += ["  " + line for line in aligned(rows, right=3)]
    lines += [f"  {text}" for text in pins_behind_divider(compared)]
    for text in doubts(compared):
        lines += hanging(f"! {text}", indent="  ")
    return lines + _pairs(compared)


def _pairs(compared: Compared) -> list[str]:
    """The best pairs of unknowns."""
    if not compared.pairs:
        return []
    lines = ["  Two together, the best of those that need no other field:"]
    lines += [f"    misfit {misfit:>6}  {values}" for misfit, values in best_pairs(compared)]
    return lines


def _calibration(compared: Compared) -> list[str]:
    fit = compared.calibration
    lines = ["Calibrated together (in brackets: 95 %, linear error analysis)"]
    for k, unknown in enumerate(fit.unknowns):
        text = f"  {unknown.name}: {unknown_text(unknown, fit.value[k])}"
        text += f" ({range_text(unknown, fit.range[k])})"
        if not fit.seen[k]:
            text += ", which these readings cannot see"
        elif fit.at_bound[k]:
            text += ", on the bound of the fit"
        lines.append(text)
        if unknown.kind == "soil scale":
            lines.append(f"    resistivity {resistivities_text(compared)}")
        if unknown.kind == "contact" and fit.value[k] > 0:
            text = film_text(compared, unknown, value=float(fit.value[k]))
            lines += hanging(text, indent="    ")
    for one, other, value in fit.correlated:
        lines.append(
            f"  {one} and {other} are hardly told apart (correlation {value:+.2f})".replace(
                "+-", "-"
            )
        )
    return lines
