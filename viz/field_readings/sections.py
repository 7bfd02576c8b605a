"""A comparison as sections of a report: readings beside the model, what explains the rest."""

import math
from datetime import datetime

from ...jobs.case_origin import CaseOrigin
from ...jobs.compared import NOT_ENOUGH, Compared
from ...solver.field_readings import Fit
from ...solver.wording import percent_text
from ..report.amounts import length
from ..report.contents import Block, Bullets, Cell, Paragraph, Section, Table
from ..report.pictures import figure_picture
from ..report.sections.closing import provenance_section
from ..wording import significant
from .files import compare_picture
from .picture import series_figure
from .words import (
    NOTHING,
    best_pairs,
    bias_and_scatter,
    compare_cautions,
    doubts,
    film_text,
    meaning,
    measured_text,
    off_text,
    pins_behind_divider,
    range_text,
    resistivities_text,
    unknown_text,
    value_text,
)


def comparison_sections(compared: Compared) -> tuple[Section, ...]:
    """Sections on a comparison, cautions last."""
    return (
        _outcome(compared),
        _readings(compared),
        _explanations(compared),
        _calibration(compared),
        Section("reading-cautions", "Cautions for readings", (Bullets(compare_cautions),)),
    )


def comparison_chapters(
    compared: Compared, *, origin: CaseOrigin, made: datetime
) -> tuple[Section, ...]:
    """All of a report on a comparison."""
    closing = provenance_section(origin, made=made, tables=origin.tables)
    return (*comparison_sections(compared), closing)


def _outcome(compared: Compared) -> Section:
    """Whether model and readings agree, and what would explain it."""
    before, after = compared.case.misfit, compared.calibration.misfit
    agrees = before <= NOT_ENOUGH
    count = len(compared.measured.readings)
    text = (
        f"As the case stands the model {'agrees' if agrees else 'does NOT agree'} with the "
        f"{count} readings: misfit {significant(before)} standard deviations; calibrated "
        f"{significant(after)}."
    )
    blocks: list[Block] = [Paragraph(text, "" if agrees else "warning")]
    rows = tuple(
        (name, *bias_and_scatter(item), significant(item.misfit))
        for name, item in (("as it stands", compared.case), ("calibrated", compared.calibrated))
    )
    caption = (
        "Bias and scatter: mean and standard deviation of measured over simulated. Misfit in "
        "standard deviations of the readings; 1 is as good as they promise."
    )
    blocks.append(Table(("Model", "Bias", "Scatter", "Misfit"), rows, caption))
    if compared.measured.warnings:
        blocks.append(Bullets(compared.measured.warnings))
    return Section("outcome", "What the readings say", tuple(blocks))


def _readings(compared: Compared) -> Section:
    """Each reading beside the model, drawn and as a table."""
    series, notes = compared.measured.series, compared.measured.notes
    items, case, best = compared.measured.readings.items, compared.case, compared.calibrated
    rows: list[tuple[Cell, ...]] = []
    for k, (item, beside) in enumerate(zip(items, notes, strict=True)):
        rows.append(
            (
                series[beside.series].name,
                "loop" if item.loop else str(beside.number),
                "–" if math.isnan(beside.distance) else length(beside.distance),
                measured_text(item),
                value_text(item, case.predicted[k]),
                off_text(case.difference[k], case.predicted[k]),
                value_text(item, best.predicted[k]),
                off_text(best.difference[k], best.predicted[k]),
                beside.note,
            )
        )
    header = (
        "Series", "No.", "Probe at", "Measured", "Case", "Measured over it", "Calibrated",
        "Measured over it", "Note",
    )  # fmt: skip
    caption = (
        "Voltage per ampere, or as a share of the source voltage; ± one standard deviation. "
        "Loop: source voltage over current."
    )
    notes = tuple(
        f"{one.name}: '{one.across[0]}' over '{one.across[1]}', current from "
        f"'{one.electrode}' to {one.returns}"
        + "".join(f"; {word}" for word in (one.date, one.note) if word)
        for one in series
    )
    tables = tuple(
        f"Table {name}, SHA-256 {digest}" for name, digest in compared.measured.tables
    )
    blocks: list[Block] = [Bullets((*notes, *tables))]
    if compare_picture(compared, units="SI").panels:
        blocks.append(
            figure_picture(
                lambda units: series_figure(compare_picture(compared, units=units)),
                "Readings with two standard deviations, the case as it stands and the "
                "calibrated model.",
            )
        )
    blocks.append(Table(header, tuple(rows), caption))
    return Section("readings", "Readings and model", tuple(blocks))


def _explanations(compared: Compared) -> Section:
    """What alone would explain it, ranked; the best pairs."""
    rows = []
    for rank, item in enumerate(compared.explanations, start=1):
        nothing = item.explained < NOTHING
        rows.append(
            (
                str(rank),
                item.unknown.name,
                meaning(item.unknown),
                "nothing" if nothing else percent_text(item.explained),
                significant(item.fit.misfit),
                "–" if nothing else unknown_text(item.unknown, item.fit.value[0]),
                "–" if nothing else _range(item.fit, 0),
            )
        )
    header = ("", "Fitted alone", "Which is", "Explains", "Misfit left", "Value", "95 % range")
    caption = "All else as the case has it; the one that explains most first."
    blocks: list[Block] = [Table(header, tuple(rows), caption)]
    if pins := pins_behind_divider(compared):
        blocks.append(Bullets(tuple(pins)))
    blocks += [Paragraph(text, "warning") for text in doubts(compared)]
    if pairs := best_pairs(compared):
        caption = "The best pairs of those that need no other field."
        blocks.append(Table(("Misfit left", "Two together"), tuple(pairs), caption))
    return Section("explanations", "What would explain the difference", tuple(blocks))


def _range(fit: Fit, k: int) -> str:
    """95 % range of one unknown."""
    if not fit.seen[k]:
        return "not seen by these readings"
    return range_text(fit.unknowns[k], fit.range[k])


def _calibration(compared: Compared) -> Section:
    """The unknowns fitted together, and what to write into the case."""
    fit = compared.calibration
    rows = []
    notes: list[str] = []
    for k, unknown in enumerate(fit.unknowns):
        value = float(fit.value[k])
        rows.append(
            (
                unknown.name,
                unknown_text(unknown, value),
                _range(fit, k),
                "on the bound of the fit" if fit.at_bound[k] else "",
            )
        )
        if unknown.kind == "soil scale":
            notes.append(f"Resistivity so scaled: {resistivities_text(compared)}.")
        if unknown.kind == "contact" and value > 0:
            notes.append(f"{unknown.name} {film_text(compared, unknown, value=value)}.")
    for one, other, value in fit.correlated:
        hardly = f"{one} and {other} are hardly told apart (correlation {value:.2f})."
        notes.append(hardly.replace("-", "−"))
    caption = "Fitted together; ranges by linear error analysis."
    blocks: list[Block] = [Table(("Unknown", "Value", "95 % range", ""), tuple(rows), caption)]
    if notes:
        blocks.append(Bullets(tuple(notes)))
    solves = f"{compared.solves} time{'s' * (compared.solves > 1)}"
    text = f"Field: {compared.method}, solved {solves}, {compared.seconds:.1f} s in all."
    blocks.append(Paragraph(text))
    return Section("calibration", "Calibration", tuple(blocks))
