"""All pictures of a result, in one call."""

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

from ..solver.progress import Progress, unwatched
from ..solver.results.result import Result
from .canvas.figures import Picture, draw_all, figures_in_both_kinds
from .files.whole import note_written
from .wording import file_stems


def draw(
    result: Result,
    folder: str | Path,
    *,
    progress: Progress = unwatched,
) -> list[Path]:
    """Write all pictures of a result into a folder that exists.

    Plan maps of surface potential, of step voltage and of the touch voltage on each metal
    that can be reached in the mapped area, and of the margin of each exposure judged; each
    profile; a vertical section, and where asked for the soil that decides the resistance; the
    3-D view. Profiles and sections also as SVG.

    Parameters
    ----------
    result : Result
        What to draw.
    folder : str or Path
        Where to.
    progress : callable, optional
        Told the name of each file as it is begun, and the share of the work done by then.

    Returns
    -------
    files : list of Path
        The files written, in order.

    Raises
    ------
    MissingLibraryError
        If a system library is missing.
    """
    target = Path(folder)
    pictures = [*map_pictures(result), *line_pictures(result), *scene_pictures(result)]
    files = draw_all(pictures, target, progress=progress)
    note_written(target, files, command="draw")
    return files


def map_pictures(result: Result) -> list[Picture]:
    """Plan maps, in the order in which they are looked at."""
    from .maps.maps import draw_map  # pictures take time to load
    from .maps.surface_maps import surface_maps

    judgements = () if result.verdict is None else result.verdict.judgements
    stems = {"potential": "potential", "step": "step"}
    for key, kind, named in (
        ("touch", "touch", result.metals),
        ("share", "margin", judgements),
    ):
        for number, stem in enumerate(file_stems(tuple(item.name for item in named))):
            stems[f"{key}{number}"] = f"{kind}-{stem}"
    return [
        (f"{stems[key]}.png", partial(draw_map, result, plan=plan))
        for key, plan in surface_maps(result).items()
    ]


def scene_pictures(result: Result) -> list[Picture]:
    """The 3-D view."""
    from .scene.scene import draw_scene  # pictures take time to load

    return [("scene.png", partial(draw_scene, result))]


def line_pictures(result: Result) -> list[Picture]:
    """Profiles, the vertical section, the sounding."""
    from .profiles import profile_figure  # pictures take time to load
    from .section.deciding import deciding_figure
    from .section.section import section_figure, section_of
    from .soil_survey.from_sounding import sounding_picture
    from .soil_survey.picture import sounding_figure

    found: list[tuple[str, Callable[[], Any]]] = []
    drawn: dict[str, Any] = {"units": result.units, "headed": True}
    stems = file_stems(tuple(profile.name for profile in result.profiles))
    for profile, stem in zip(result.profiles, stems, strict=True):
        figure = partial(profile_figure, result, profile=profile, **drawn)
        found.append((f"profile-{stem}", figure))
    section = section_of(result)
    found.append(("section", partial(section_figure, result, section=section, **drawn)))
    if result.soil_shares is not None:
        where = partial(deciding_figure, result, section=section, **drawn)
        found.append(("deciding-soil", where))
    if result.sounding is not None:
        title = f"{result.title}: soil survey"
        contents = sounding_picture(result.sounding, title=title, units=result.units)
        found.append(("sounding", partial(sounding_figure, contents)))
    return figures_in_both_kinds(found)
