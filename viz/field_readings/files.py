"""The folder of a comparison: tables, report, and what its picture shows."""

from datetime import datetime
from pathlib import Path

import numpy as np

from ...cases.case import Case
from ...jobs.case_origin import CaseOrigin
from ...jobs.compared import Compared
from ...jobs.field_curves import Curve
from ...solver.progress import Progress, parts, unwatched
from ..files.whole import check_folder, write_whole
from ..wording import Unit, length_unit, significant
from .contents import Bar, ComparePicture, SeriesPanel
from .tables import write_compare_tables
from .words import NOTHING, unknown_text

_most_panels = 6


def check_compare_folder(folder: Path) -> None:
    """Raise unless `save_compared` can write to a folder; files of others in it stay.

    Raises
    ------
    ResultError
        If something is in the way.
    """
    check_folder(folder, kind="compare")


def save_compared(
    compared: Compared, folder: Path, *, case: Case, progress: Progress = unwatched
) -> tuple[Path, ...]:
    """Write tables, pictures and report to a folder, all or nothing.

    Parameters
    ----------
    folder : Path
        Folder to make, or where what this left before is replaced. Other files stay.
    progress : callable, optional
        Told the name of each file as it is begun, and the share of the work done by then.

    Raises
    ------
    ResultError
        If something is in the way.
    """
    from ..report import write_sections
    from .picture import draw_compare
    from .sections import comparison_chapters  # pictures take time to load

    def write(into: Path) -> list[Path]:
        files = write_compare_tables(compared, into)
        picture = compare_picture(compared, units=compared.units)
        *drawing, reporting = parts(progress, [1, 1, 3])
        for ending, each in zip(("png", "svg"), drawing, strict=True):
            path = into / f"compare.{ending}"
            each(path.name, 0.0)
            files.append(draw_compare(picture, path=path))
        made, origin = datetime.now(), CaseOrigin.of(case)
        chapters = comparison_chapters(compared, origin=origin, made=made)
        return files + write_sections(origin, chapters, into, made=made, progress=reporting)

    return write_whole(folder, write=write, kind="compare", command="compare")


def compare_picture(compared: Compared, *, units: str) -> ComparePicture:
    """What the picture of a comparison shows.

    Parameters
    ----------
    units : {"SI", "US"}
        Of lengths.
    """
    fit = compared.calibration
    together = ", ".join(
        f"{unknown.name} {unknown_text(unknown, value)}"
        for unknown, value in zip(fit.unknowns, fit.value, strict=True)
    )
    measured = compared.measured
    curves = {curve.series: curve for curve in compared.curves}
    unit = length_unit(units)
    panels = [
        panel
        for number in range(len(measured.series))
        for per in ("ampere", "source")
        if (panel := _panel(compared, number, per, curves.get(number), unit)) is not None
    ]
    return ComparePicture(
        title=compared.title,
        subtitle=(
            f"{len(measured.readings)} readings: misfit {significant(compared.case.misfit)} as "
            f"the case stands, {significant(fit.misfit)} calibrated"
        ),
        length=unit.symbol,
        panels=tuple(panels[:_most_panels]),
        misfit=compared.case.misfit,
        bars=tuple(
            Bar(
                item.unknown.name,
                unknown_text(item.unknown, item.fit.value[0])
                if item.explained > NOTHING
                else "",
                item.fit.misfit,
            )
            for item in compared.explanations
        ),
        calibrated=Bar("calibrated", together, fit.misfit),
        left_out=max(len(panels) - _most_panels, 0),
    )


def _panel(
    compared: Compared, number: int, per: str, curve: Curve | None, unit: Unit
) -> SeriesPanel | None:
    """Readings of one series that are divided by the same; None without any."""
    measured = compared.measured
    notes, items = measured.notes, measured.readings.items
    mine = [
        k
        for k, item in enumerate(items)
        if notes[k].series == number and item.per == per and not item.loop
    ]
    if not mine:
        return None
    series = measured.series[number]
    share = 100.0 if per == "source" else 1.0
    distance = np.array([notes[k].distance for k in mine]) * unit.factor
    numbered = curve is None
    if numbered:
        distance = np.array([notes[k].number for k in mine], dtype=float)
    line = np.zeros((3, 0))
    # A curve is of the kind of the nearest reading.
    if curve is not None:
        line = np.array(
            [curve.distance * unit.factor, share * curve.case, share * curve.fitted]
        )
    return SeriesPanel(
        name=f"{series.name}: {series.across[0]} over {series.across[1]}",
        value_name="Share of the source voltage [%]"
        if per == "source"
        else "Voltage per ampere [Ω]",
        distance=distance,
        value=share * measured.readings.value[mine],
        deviation=share * measured.readings.deviation[mine],
        case=share * compared.case.predicted[mine],
        fitted=share * compared.calibrated.predicted[mine],
        curve=line,
        numbered=numbered,
    )
