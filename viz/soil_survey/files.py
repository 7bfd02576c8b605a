"""Files of a sounding: its picture and its tables."""

from pathlib import Path

from ...solver.progress import Progress, parts, unwatched
from ...solver.soil_survey import Sounding
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
    files = []
    if pictures:
        picture = sounding_picture(sounding, title=title, units=units)
        for ending, each in zip(("png", "svg"), parts(progress, [1, 1]), strict=True):
            path = folder / f"sounding.{ending}"
            each(path.name, 0.0)
            files.append(draw_sounding(picture, path=path))
    return files + write_sounding_tables(sounding, folder, title=title)
