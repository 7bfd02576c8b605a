"""The report of a result: one HTML page that opens offline, and the same on paper."""

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from ...progress import Progress, parts, untold
from ...solver.result import Result

__all__ = ["page_name", "paper_name", "write_report"]

page_name = "report.html"
paper_name = "report.pdf"


def write_report(
    results: Sequence[Result],
    folder: str | Path,
    *,
    made: datetime | None = None,
    progress: Progress = untold,
) -> list[Path]:
    """Write the report on a case and its variants, as a page and on paper.

    Parameters
    ----------
    results : sequence of Result, at least one
        Of the case as it stands, then of its variants.
    folder : str or Path
        A folder that exists.
    made : datetime, optional
        When the report is made; now, when left out.
    progress : callable, optional
        Told the name of each file as it is begun, and the share of the work done by then.

    Returns
    -------
    files : list of Path
        ``report.html`` and ``report.pdf``.
    """
    from .page import write_page
    from .paper import write_paper

    when = made or datetime.now()
    pages = ((page_name, write_page), (paper_name, write_paper))
    files = []
    for (name, write), told in zip(pages, parts(progress, [1, 4]), strict=True):
        told(name, 0.0)
        files.append(write(results, Path(folder) / name, made=when))
    return files
