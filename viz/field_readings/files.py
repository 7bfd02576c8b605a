"""The folder of a comparison: tables, pictures, report."""

from datetime import datetime
from functools import partial
from pathlib import Path

from ...solver.field_readings import Compared
from ...solver.progress import Progress, parts, unwatched
from ..canvas.figures import draw_all, in_both_kinds
from ..files.whole import check_folder, write_whole
from ..report import write_sections
from ..report.contents import CaseOrigin
from .contents import compare_picture
from .picture import draw_compare
from .sections import comparison_chapters
from .tables import write_compare_tables


def check_compare_folder(folder: Path) -> None:
    """Raise unless `save_compared` can write to a folder; files of others in it stay.

    Raises
    ------
    ResultError
        If something is in the way.
    """
    check_folder(folder, kind="compare")


def save_compared(
    compared: Compared, folder: Path, *, origin: CaseOrigin, progress: Progress = unwatched
) -> tuple[Path, ...]:
    """Write tables, pictures and report to a folder, all or nothing.

    Parameters
    ----------
    folder : Path
        Folder to make, or where what this left before is replaced. Other files stay.
    origin : CaseOrigin
        The case it is of.
    progress : callable, optional
        Told the name of each file as it is begun, and the share of the work done by then.

    Raises
    ------
    ResultError
        If something is in the way.
    """

    def write(into: Path) -> list[Path]:
        files = write_compare_tables(compared, into)
        picture = compare_picture(compared, units=compared.units)
        drawing, reporting = parts(progress, [2, 3])
        drawn = in_both_kinds([("compare", partial(draw_compare, picture))])
        files += draw_all(drawn, into, progress=drawing)
        made = datetime.now().astimezone()
        chapters = comparison_chapters(compared, origin=origin, made=made)
        return files + write_sections(origin, chapters, into, made=made, progress=reporting)

    return write_whole(folder, write=write, kind="compare", command="compare")
