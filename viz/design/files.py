"""The folder of a search: the design as a case, tables, pictures, report."""

from collections.abc import Sequence
from functools import partial
from pathlib import Path

from ...solver.design import Sizing
from ...solver.progress import Progress, parts, unwatched
from ...solver.results.result import Result
from ..canvas.figures import draw_all, in_both_kinds
from ..files.whole import check_folder, write_whole
from ..report import write_report
from .pictures import draw_front, draw_steps
from .sections import design_sections
from .tables import write_design_tables

design_name = "sized.yaml"
nearest_name = "nearest.yaml"


def check_design_folder(folder: Path) -> None:
    """Raise unless `save_sizing` can write to a folder; files of others in it stay.

    Raises
    ------
    ResultError
        If something is in the way.
    """
    check_folder(folder, kind="size")


def save_sizing(
    sizing: Sizing,
    folder: Path,
    *,
    text: str,
    results: Sequence[Result],
    pictures: bool = True,
    progress: Progress = unwatched,
) -> tuple[Path, ...]:
    """Write the design as a case, tables, pictures and the report to a folder, all or nothing.

    Parameters
    ----------
    folder : Path
        Folder to make, or where what this left before is replaced. Other files stay.
    text : str
        Of the case file of the design that is shown.
    results : sequence of Result
        Of that design and its variants.
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
        case = into / (nearest_name if sizing.cheapest is None else design_name)
        case.write_text(text, encoding="utf-8")
        files = [case, *write_design_tables(sizing, into)]
        if pictures:
            drawing, reporting = parts(progress, [1, 3])
            draws = {"front": draw_front} | ({"steps": draw_steps} if sizing.steps else {})
            named = [(name, partial(draw, sizing)) for name, draw in draws.items()]
            files += draw_all(in_both_kinds(named), into, progress=drawing)
            chapters = design_sections(sizing)
            files += write_report(results, into, field=chapters, progress=reporting)
        return files

    return write_whole(folder, write=write, kind="size", command="size")
