"""The folder of predicted earth tests: tables, pictures, report."""

from collections.abc import Sequence
from datetime import datetime
from functools import partial
from pathlib import Path

from ...solver.earth_tests import ClampReading, Prediction
from ...solver.progress import Progress, parts, unwatched
from ..canvas.figures import draw_all, in_both_kinds
from ..files.whole import check_folder, write_whole
from ..report import write_sections
from ..report.contents import CaseOrigin
from ..wording import file_stems
from .pictures import draw_test
from .sections import prediction_chapters
from .tables import write_test_tables


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
    origin: CaseOrigin,
    pictures: bool = True,
    progress: Progress = unwatched,
) -> tuple[Path, ...]:
    """Write tables, pictures and report of predicted tests to a folder, all or nothing.

    Parameters
    ----------
    folder : Path
        Folder to make, or where what this left before is replaced. Other files stay.
    origin : CaseOrigin
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
        files = write_test_tables(predictions, into, title=origin.title)
        if pictures:
            drawing, reporting = parts(progress, [1, 1])
            files += _draw(predictions, into, origin=origin, progress=drawing)
            made = datetime.now().astimezone()
            chapters = prediction_chapters(predictions, origin=origin, made=made)
            files += write_sections(origin, chapters, into, made=made, progress=reporting)
        return files

    return write_whole(folder, write=write, kind="earth-test", command="earth-test")


def _draw(
    predictions: Sequence[Prediction], folder: Path, *, origin: CaseOrigin, progress: Progress
) -> list[Path]:
    """Picture of each test of the case as it stands, variants beside it; none of clamps."""
    tests = [item for item in predictions if not item.variant]
    stems = file_stems(tuple(item.plan.name for item in tests))
    draw = partial(draw_test, title=origin.title, units=origin.units)
    named = [
        (f"test-{stem}", partial(draw, item, predictions))
        for item, stem in zip(tests, stems, strict=True)
        if not isinstance(item.found, ClampReading)
    ]
    return draw_all(in_both_kinds(named), folder, progress=progress)
