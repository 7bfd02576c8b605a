"""Files of a sounding: its picture and its tables."""

from functools import partial
from pathlib import Path

from ...solver.progress import Progress, unwatched
from ...solver.soil_survey import Sounding
from ..canvas.figures import draw_all, in_both_kinds
from .from_sounding import sounding_picture
from .picture import draw_sounding
from .tables import write_sounding_tables


def write_sounding(
    sounding: Sounding,
    folder: Path,
    *,
    title: str,
    units: str,
    pictures: bool = True,
    progress: Progress = unwatched,
) -> list[Path]:
    """Write ``sounding.png``, ``sounding.svg`` and the tables into a folder that exists.

    Parameters
    ----------
    units : {"SI", "US"}
        Lengths in the picture in metres or feet; tables are in metres.
    progress : callable, optional
        Told the name of each file as it is begun, and the share of the work done by then.
    """
    drawn = []
    if pictures:
        picture = sounding_picture(sounding, title=title, units=units)
        drawn = in_both_kinds([("sounding", partial(draw_sounding, picture))])
    files = draw_all(drawn, folder, progress=progress)
    return files + write_sounding_tables(sounding, folder, title=title)
