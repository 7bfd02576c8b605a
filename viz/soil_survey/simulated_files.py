"""The folder of a simulated survey: its readings, what they lead to, its picture."""

from collections.abc import Iterator
from functools import partial
from pathlib import Path

from ...solver.model import Conductors
from ...solver.progress import Progress, unwatched
from ...solver.soil_survey.simulated import SimulatedSurvey
from ..canvas.figures import draw_all, figures_in_both_kinds
from ..cautions import ABOUT_SIMULATED
from ..files.whole import check_folder, write_whole
from ..tables.csv_files import write_table
from .simulated_picture import simulated_figure

_header = (
    "electrode", "fitted to", "layers", "misfit [%]", "resistance [ohm]",
    "resistance in the ground as it is [ohm]", "difference [%]",
)  # fmt: skip


def check_survey_folder(folder: Path) -> None:
    """Raise unless `save_survey` can write to a folder; files of others in it stay.

    Raises
    ------
    ResultError
        If something is in the way.
    """
    check_folder(folder, kind="survey")


def save_survey(
    survey: SimulatedSurvey,
    folder: Path,
    *,
    conductors: Conductors,
    title: str,
    units: str,
    pictures: bool = True,
    progress: Progress = unwatched,
) -> tuple[Path, ...]:
    """Write readings, answers and picture of a simulated survey, all or nothing.

    Parameters
    ----------
    folder : Path
        Folder to make, or where what this left before is replaced. Other files stay.
    conductors : Conductors
        Metal of the case.
    units : {"SI", "US"}
        Lengths in the picture in metres or feet; tables are in metres.
    progress : callable, optional
        Told the name of each file as it is begun, and the share of the work done by then.

    Raises
    ------
    ResultError
        If something is in the way.
    """

    def write(into: Path) -> list[Path]:
        readings = into / "survey.csv"
        readings.write_text(survey.table, encoding="utf-8")
        notes = [" ".join(title.split()), *ABOUT_SIMULATED]
        answers = write_table(
            into / "survey-answers.csv", notes=notes, header=_header, rows=_rows(survey)
        )
        figure = partial(
            simulated_figure, survey, conductors=conductors, title=title, units=units
        )
        drawn = figures_in_both_kinds([("survey", figure)] if pictures else [])
        return [readings, answers, *draw_all(drawn, into, progress=progress)]

    return write_whole(folder, write=write, kind="survey", command="survey")


def _rows(survey: SimulatedSurvey) -> Iterator[tuple[object, ...]]:
    for k, name in enumerate(survey.electrodes):
        for answer, error in zip(survey.answers, survey.errors(k), strict=True):
            model = answer.sounding.chosen
            yield (
                name, answer.traverse or "all", model.layers, 100 * model.misfit,
                float(answer.resistance[k]), float(survey.true_resistance[k]),
                100 * float(error),
            )  # fmt: skip
