"""Files of predicted earth tests: tables and pictures."""

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from ...cases.case import Case
from ...jobs.case_origin import CaseOrigin
from ...jobs.earth_tests import Prediction
from ...solver.earth_tests import ClampReading, DrivenRodTest, FallOfPotential
from ...solver.progress import Progress, parts, unwatched
from ..files.whole import check_folder, write_whole
from ..wording import file_stems, length_unit, short
from .text import earth_test_cautions

_tables = ("earth-tests.csv", "earth-test-readings.csv", "driven-rods.csv")


def check_test_folder(folder: Path) -> None:
    """Raise unless `save_predictions` can write to a folder; files of others in it stay.

    Raises
    ------
    ResultError
        If something is in the way.
    """
    check_folder(folder, kind="earth-test")


def save_predictions(
    predictions: Sequence[Prediction],
    folder: Path,
    *,
    case: Case,
    pictures: bool = True,
    progress: Progress = unwatched,
) -> tuple[Path, ...]:
    """Write tables, pictures and report of predicted tests to a folder, all or nothing.

    Parameters
    ----------
    folder : Path
        Folder to make, or where what this left before is replaced. Other files stay.
    case : Case
        The case they are of. Tables are in metres, pictures in its units.
    pictures : bool
        Whether to draw and to write the report.
    progress : callable, optional
        Told the name of each file as it is begun, and the share of the work done by then.

    Raises
    ------
    ResultError
        If something is in the way.
    """

    def write(into: Path) -> list[Path]:
        files = _write_tables(predictions, into, title=case.title)
        if pictures:
            drawing, reporting = parts(progress, [1, 1])
            files += _draw(
                predictions, into, title=case.title, units=case.units, progress=drawing
            )
            files += _report(predictions, into, case=case, progress=reporting)
        return files

    return write_whole(folder, write=write, kind="earth-test", command="earth-test")


def _report(
    predictions: Sequence[Prediction], folder: Path, *, case: Case, progress: Progress
) -> list[Path]:
    from ..report import write_sections
    from .sections import prediction_chapters  # pictures take time to load

    made, origin = datetime.now(), CaseOrigin.of(case)
    chapters = prediction_chapters(predictions, origin=origin, made=made)
    return write_sections(origin, chapters, folder, made=made, progress=progress)


def _write_tables(predictions: Sequence[Prediction], folder: Path, *, title: str) -> list[Path]:
    from .tables import write_driven_rods, write_readings, write_summary

    notes = [" ".join(title.split()), *earth_test_cautions]
    moved = [
        (_names(item), test)
        for item in predictions
        for test in (item.found, *item.others)
        if isinstance(test, FallOfPotential)
    ]
    clamped = [
        (_names(item), item.found)
        for item in predictions
        if isinstance(item.found, ClampReading)
    ]
    rods = [
        (_names(item), item.found)
        for item in predictions
        if isinstance(item.found, DrivenRodTest)
    ]
    files = [
        write_summary(moved, clamped=clamped, notes=notes, path=folder / _tables[0]),
        write_readings(moved, notes=notes, path=folder / _tables[1]),
    ]
    if rods:
        files.append(write_driven_rods(rods, notes=notes, path=folder / _tables[2]))
    return files


def _draw(
    predictions: Sequence[Prediction],
    folder: Path,
    *,
    title: str,
    units: str,
    progress: Progress,
) -> list[Path]:
    """Picture of each test of the case as it stands, variants beside it."""
    from .pictures import draw_driven_rod, draw_fall_of_potential

    drawn = [item for item in predictions if not item.variant]
    stems = file_stems(tuple(item.plan.name for item in drawn))
    files = []
    progresses = parts(progress, [1.0] * len(drawn))
    for item, stem, each in zip(drawn, stems, progresses, strict=True):
        found = item.found
        for ending, of_file in zip(("png", "svg"), parts(each, [1, 1]), strict=True):
            path = folder / f"test-{stem}.{ending}"
            if isinstance(found, FallOfPotential):
                of_file(path.name, 0.0)
                draw_fall_of_potential(
                    found,
                    compared=compared_tests(item, predictions, units=units),
                    leads=1 + len(item.others),
                    title=title,
                    subtitle=f"{item.plan.name}: fall of potential",
                    units=units,
                    covered=item.covered,
                    path=path,
                )
                files.append(path)
            elif isinstance(found, DrivenRodTest):
                of_file(path.name, 0.0)
                draw_driven_rod(
                    found,
                    soil=item.soil,
                    title=title,
                    subtitle=f"{item.plan.name}: driven rod",
                    units=units,
                    path=path,
                )
                files.append(path)
    return files


def compared_tests(
    item: Prediction, predictions: Sequence[Prediction], *, units: str
) -> list[tuple[str, FallOfPotential]]:
    """The test itself, then with longer leads, then in the soil of each variant."""
    unit = length_unit(units)

    def lead(test: FallOfPotential) -> str:
        distance = short(round(test.leads.distance * unit.factor, 1))
        return f"current probe at {distance} {unit.symbol}"

    assert isinstance(item.found, FallOfPotential)
    named = [(lead(test), test) for test in (item.found, *item.others)
             if isinstance(test, FallOfPotential)]  # fmt: skip
    named += [
        (f"{lead(other.found)}: {other.variant}", other.found)
        for other in predictions
        if other.plan.name == item.plan.name and other.variant
        if isinstance(other.found, FallOfPotential)
    ]
    return named


def _names(item: Prediction) -> tuple[str, str]:
    return item.plan.name, item.variant
