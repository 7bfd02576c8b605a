"""The report of a result: one HTML page that opens offline, and the same on paper."""

from collections.abc import Callable, Sequence
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from ...solver.progress import Progress, parts, unwatched
from ...solver.results.result import Result
from ..files.whole import note_written

if TYPE_CHECKING:
    from .contents import Origin, Section
    from .reader import Reader

__all__ = ["page_name", "paper_name", "write_report", "write_sections"]

page_name = "report.html"
paper_name = "report.pdf"


def write_report(
    results: Sequence[Result],
    folder: str | Path,
    *,
    made: datetime | None = None,
    field: Sequence["Section"] = (),
    reader: "Reader | None" = None,
    progress: Progress = unwatched,
) -> list[Path]:
    """Write the report on a case and its variants, as a page and on paper.

    Parameters
    ----------
    results : sequence of Result, at least one
        Of the case as it stands, then of its variants.
    made : datetime, optional
        When the report is made; now, when left out.
    field : sequence of Section
        On readings and tests in the field, as `ohmscape.jobs.field_chapters` makes them.
    reader : Reader, optional
        Units, words and paper; by the units of the case when left out.
    progress : callable, optional
        Told the name of each file as it is begun, and the share of the work done by then.

    Returns
    -------
    files : list of Path
        ``report.html`` and ``report.pdf``.
    """
    from .assembly import sections  # page and paper take time to load
    from .page import write_page
    from .paper import set_paper

    when = made or datetime.now().astimezone()
    chapters = sections(results, made=when, field=field)
    writers = (
        partial(write_page, results, chapters, reader=reader),
        partial(set_paper, results[0], chapters, live=results[0], reader=reader),
    )
    return _written(writers, Path(folder), made=when, progress=progress)


def write_sections(
    origin: "Origin",
    chapters: Sequence["Section"],
    folder: str | Path,
    *,
    made: datetime,
    progress: Progress = unwatched,
) -> list[Path]:
    """Write sections that are not on a result, as a page and on paper.

    Parameters
    ----------
    progress : callable, optional
        As for `write_report`.

    Returns
    -------
    files : list of Path
        ``report.html`` and ``report.pdf``.
    """
    from .page import set_page  # page and paper take time to load
    from .paper import set_paper

    writers = (partial(set_page, origin, chapters), partial(set_paper, origin, chapters))
    return _written(writers, Path(folder), made=made, progress=progress)


def _written(
    writers: Sequence[Callable[..., Path]], folder: Path, *, made: datetime, progress: Progress
) -> list[Path]:
    """Write the page, then the paper, which takes longer."""
    names = (page_name, paper_name)
    files = []
    for name, write, each in zip(names, writers, parts(progress, [1, 4]), strict=True):
        each(name, 0.0)
        files.append(write(folder / name, made=made))
    note_written(folder, files, command="report")
    return files
