"""Tables of a comparison: readings beside the model, explanations, calibration."""

from collections.abc import Iterable, Sequence
from pathlib import Path

from ...solver.field_readings import Compared
from ..cautions import ABOUT_READINGS
from ..tables.csv_files import write_table


def write_compare_tables(compared: Compared, folder: Path) -> list[Path]:
    """Write ``readings.csv``, ``explanations.csv``, ``calibration.csv`` into a folder."""
    notes = [
        " ".join(compared.title.split()),
        *(f"table {name}, SHA-256 {digest}" for name, digest in compared.measured.tables),
        *compared.measured.warnings,
        *ABOUT_READINGS,
    ]
    files = (
        ("readings.csv", _reading_header, _reading_rows(compared)),
        ("explanations.csv", _explanation_header, _explanation_rows(compared)),
        ("calibration.csv", _calibration_header, _calibration_rows(compared)),
    )
    return [
        write_table(folder / name, notes=notes, header=header, rows=rows)
        for name, header, rows in files
    ]


_reading_header = (
    "series", "number", "first end", "second end", "distance [m]", "unit", "measured",
    "standard deviation", "case", "measured less case", "calibrated",
    "measured less calibrated", "calibrated [standard deviations]", "note",
)  # fmt: skip
_explanation_header = (
    "fitted alone", "unit", "in the case", "fitted", "low 95%", "high 95%", "misfit left",
    "explained [%]",
)  # fmt: skip
_calibration_header = (
    "fitted together", "unit", "value", "low 95%", "high 95%", "seen by the readings",
    "on a bound",
)  # fmt: skip


def _reading_rows(compared: Compared) -> Iterable[Sequence[object]]:
    measured, case, best = compared.measured, compared.case, compared.calibrated
    for k, item in enumerate(measured.readings.items):
        note = measured.notes[k]
        series = measured.series[note.series]
        ends = (series.electrode, series.returns) if item.loop else series.across
        yield (
            series.name, "loop" if item.loop else note.number, *ends, note.distance,
            "of source voltage" if item.per == "source" else "ohm", item.value, item.deviation,
            case.predicted[k], case.difference[k], best.predicted[k], best.difference[k],
            best.weighted[k], note.note,
        )  # fmt: skip


def _explanation_rows(compared: Compared) -> Iterable[Sequence[object]]:
    for item in compared.explanations:
        yield (
            item.unknown.name, item.unknown.unit, item.before, item.fit.value[0],
            *item.fit.range[0], item.fit.misfit, 100 * item.explained,
        )  # fmt: skip


def _calibration_rows(compared: Compared) -> Iterable[Sequence[object]]:
    fit = compared.calibration
    for k, unknown in enumerate(fit.unknowns):
        yield (
            unknown.name, unknown.unit, fit.value[k], *fit.range[k],
            "yes" if fit.seen[k] else "no", "yes" if fit.at_bound[k] else "no",
        )  # fmt: skip
        if unknown.kind == "soil scale":
            for layer, rho in enumerate(fit.state.soil.resistivity, start=1):
                low, high = rho * fit.range[k] / fit.value[k]
                name = f"resistivity of layer {layer} so scaled"
                yield (name, "ohm*m", rho, low, high, "", "")
