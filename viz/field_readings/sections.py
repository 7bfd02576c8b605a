"""A comparison as sections of a report: readings beside the model, what explains the rest."""

import math
from datetime import datetime

from ...solver.field_readings import NOT_ENOUGH, Compared
from ...solver.wording import number_text
from ..cautions import ABOUT_READINGS
from ..report.contents import (
    Block,
    Bullets,
    CaseOrigin,
    Listing,
    Paragraph,
    Section,
    Table,
)
from ..report.pictures import figure_picture
from ..report.sections.closing import provenance_section
from ..wording import significant
from ..words.amounts import length
from .case_lines import LINES_FOR_THE_CASE, beside_lines, case_lines
from .contents import compare_picture
from .picture import series_figure
from .words import (
    FittedValue,
    best_pairs,
    bias_and_scatter,
    contact_texts,
    doubts,
    explained_texts,
    explains,
    field_text,
    fitted_values,
    hardly_apart,
    measured_text,
    pins_behind_divider,
    scaled_text,
    setup_text,
    simulated_texts,
)


def comparison_sections(compared: Compared) -> tuple[Section, ...]:
    """Sections on a comparison, cautions last."""
    return (
        _outcome(compared),
        _readings(compared),
        _explanations(compared),
        _calibration(compared),
        Section("reading-cautions", "Cautions for readings", (Bullets(ABOUT_READINGS),)),
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
    count = number_text(len(compared.measured.readings), "reading")
    text = (
        f"As the case stands the model {'agrees' if agrees else 'does NOT agree'} with the "
        f"{count}: misfit {significant(before)} standard deviations; calibrated "
        f"{significant(after)}."
    )
    blocks: list[Block] = [Paragraph(text, "" if agrees else "warning")]
    rows = tuple(
        (name, *bias_and_scatter(item), significant(item.misfit))
        for name, item in (("as it stands", compared.case), ("calibrated", compared.calibrated))
    )
    caption = (
        "Bias: by how much the readings are above the simulation on average, in % of it; below "
        "zero they are below it. Scatter: the standard deviation of that. Misfit in standard "
        "deviations of the readings; 1 is as good as they promise."
    )
    blocks.append(Table(("Model", "Bias", "Scatter", "Misfit"), rows, caption))
    if compared.measured.warnings:
        blocks.append(Bullets(compared.measured.warnings))
    return Section("outcome", "What the readings say", tuple(blocks))


def _readings(compared: Compared) -> Section:
    """Each reading beside the model, drawn and as a table."""
    measured = compared.measured
    rows = tuple(
        (
            measured.series[note.series].name,
            "loop" if item.loop else str(note.number),
            "–" if math.isnan(note.distance) else length(note.distance),
            measured_text(item),
            *simulated_texts(compared, k),
            note.note,
        )
        for k, (item, note) in enumerate(
            zip(measured.readings.items, measured.notes, strict=True)
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
    setups = [f"{series.name}: {setup_text(series)}" for series in measured.series]
    tables = [f"Table {name}, SHA-256 {digest}" for name, digest in measured.tables]
    blocks: list[Block] = [Bullets((*setups, *tables))]
    if compare_picture(compared, units="SI").panels:
        blocks.append(
            figure_picture(
                lambda units: series_figure(compare_picture(compared, units=units)),
                "Readings with two standard deviations, the case as it stands and the "
                "calibrated model.",
            )
        )
    blocks.append(Table(header, rows, caption))
    return Section("readings", "Readings and model", tuple(blocks))


def _explanations(compared: Compared) -> Section:
    """What alone would explain it, ranked; the best pairs."""
    rows = []
    for rank, item in enumerate(compared.explanations, start=1):
        fitted = fitted_values(item.fit)[0]
        found = (fitted.value, _range(fitted)) if explains(item) else ("–", "–")
        misfit = significant(item.fit.misfit)
        rows.append((str(rank), item.unknown.name, *explained_texts(item), misfit, *found))
    header = ("", "Fitted alone", "Which is", "Explains", "Misfit left", "Value", "95 % range")
    caption = (
        "What alone would explain it, all else as the case has it; the one that explains most "
        "first."
    )
    blocks: list[Block] = [Table(header, tuple(rows), caption)]
    if pins := pins_behind_divider(compared):
        blocks.append(Bullets(tuple(pins)))
    blocks += [Paragraph(text, "warning") for text in doubts(compared)]
    if pairs := best_pairs(compared):
        caption = "The best pairs of those that need no other field."
        blocks.append(Table(("Misfit left", "Two together"), tuple(pairs), caption))
    return Section("explanations", "What would explain the difference", tuple(blocks))


def _range(fitted: FittedValue) -> str:
    return fitted.spread if fitted.seen else "not seen by these readings"


def _calibration(compared: Compared) -> Section:
    """The unknowns fitted together, and what to write into the case."""
    fit = compared.calibration
    values = fitted_values(fit)
    rows = tuple(
        (item.name, item.value, _range(item), "on the bound of the fit" * item.at_bound)
        for item in values
    )
    notes = []
    if scaled := scaled_text(compared):
        notes.append(f"Soil scale: resistivity {scaled}.")
    notes += contact_texts(compared)
    notes += [f"{text}." for text in hardly_apart(fit)]
    caption = "Fitted together; ranges by linear error analysis."
    blocks: list[Block] = [Table(("Unknown", "Value", "95 % range", ""), rows, caption)]
    if notes:
        blocks.append(Bullets(tuple(notes)))
    if lines := case_lines(compared):
        blocks.append(Listing(LINES_FOR_THE_CASE, lines))
    if beside := beside_lines(compared):
        blocks.append(Bullets(tuple(beside)))
    blocks.append(Paragraph(f"{field_text(compared)}."))
    return Section("calibration", "Calibration", tuple(blocks))
