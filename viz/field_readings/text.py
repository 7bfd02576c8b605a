"""A comparison as text: readings beside the model, what explains the rest, the fit."""

import math
from collections.abc import Iterator
from itertools import groupby

from ...solver.field_readings import Compared
from ..wording import length_text, significant
from ..words.lines import aligned, hanging, listed, page
from .cautions import compare_cautions
from .words import (
    FittedValue,
    best_pairs,
    bias_and_scatter,
    doubts,
    explained_texts,
    explains,
    field_text,
    film_text,
    fitted_values,
    hardly_apart,
    pins_behind_divider,
    scaled_text,
    setup_text,
    simulated_texts,
    value_text,
)


def compared_text(compared: Compared) -> str:
    """A comparison as lines of text."""
    blocks = [
        _series(compared),
        _readings(compared),
        _agreement(compared),
        _explanations(compared),
        list(_calibration(compared)),
        listed("Mind in these readings", compared.measured.warnings, indent="  "),
        listed("Mind", compare_cautions, indent="  "),
    ]
    return page(compared.title, blocks)


def _series(compared: Compared) -> list[str]:
    lines = ["Readings"]
    measured = compared.measured
    for number, series in enumerate(measured.series):
        count = sum(note.series == number for note in measured.notes)
        readings = f"{count} reading{'s' * (count > 1)}"
        lines += hanging(f"{series.name}: {readings} of {setup_text(series)}", indent="  ")
    return [*lines, f"  {field_text(compared)}"]


def _readings(compared: Compared) -> list[str]:
    """Readings beside the model under the names of their series."""
    items, notes = compared.measured.readings.items, compared.measured.notes
    header = ("", "no.", "probe at", "measured", "± (1 s.d.)", "case", "", "calibrated", "")
    rows = [
        (
            "",
            "loop" if item.loop else str(note.number),
            "–" if math.isnan(note.distance) else length_text(note.distance, compared.units),
            value_text(item, item.value),
            value_text(item, item.deviation),
            *simulated_texts(compared, k),
        )
        for k, (item, note) in enumerate(zip(items, notes, strict=True))
    ]
    head, *rest = ("  " + line for line in aligned([header, *rows], right=8))
    lines = [
        "Measured and simulated: voltage per ampere, or as a share of the source voltage",
        head,
    ]
    for number, group in groupby(zip(notes, rest, strict=True), lambda pair: pair[0].series):
        lines += [f"  {compared.measured.series[number].name}", *(line for _, line in group)]
    loops = any(item.loop for item in items)
    loop = "loop: source voltage over current. " if loops else ""
    return [*lines, f"  {loop}Percentages: measured over simulated."]


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
    rows = [("", "misfit left", "explained", "value (95 %)", "")]
    for item in compared.explanations:
        meaning, explained = explained_texts(item)
        value = _with_range(fitted_values(item.fit)[0]) if explains(item) else ""
        misfit = significant(item.fit.misfit)
        rows.append((item.unknown.name, misfit, explained, value, meaning))
    lines += ["  " + line for line in aligned(rows, right=3)]
    lines += [f"  {text}" for text in pins_behind_divider(compared)]
    for text in doubts(compared):
        lines += hanging(f"! {text}", indent="  ")
    if pairs := best_pairs(compared):
        lines.append("  Two together, the best of those that need no other field:")
        lines += [f"    misfit {misfit:>6}  {values}" for misfit, values in pairs]
    return lines


def _with_range(fitted: FittedValue) -> str:
    return f"{fitted.value} ({fitted.spread if fitted.seen else 'not seen'})"


def _calibration(compared: Compared) -> Iterator[str]:
    fit = compared.calibration
    yield "Calibrated together (in brackets: 95 %, linear error analysis)"
    for k, item in enumerate(fitted_values(fit)):
        text = f"  {item.name}: {item.value} ({item.spread})"
        if not item.seen:
            text += ", which these readings cannot see"
        elif item.at_bound:
            text += ", on the bound of the fit"
        yield text
        if fit.unknowns[k].kind == "soil scale":
            yield f"    resistivity {scaled_text(compared)}"
        yield from hanging(film_text(compared, k), indent="    ")
    yield from (f"  {text}" for text in hardly_apart(fit))
