"""All pictures of a result, in one call."""

from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..solver.progress import Progress, unwatched
from ..solver.results.along_metal import along_told
from ..solver.results.result import Result
from .canvas.figures import Picture, draw_all, figures_in_both_kinds
from .files.whole import note_written
from .tables.volumes import same_volumes
from .wording import file_stems

if TYPE_CHECKING:
    from .maps.plans import PlanMap


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
    pictures = [picture for give in pictures_of.values() for picture in give(result)]
    files = draw_all(pictures, target, progress=progress)
    note_written(target, files, command="draw")
    return files


def map_pictures(result: Result) -> list[Picture]:
    """Plan maps of voltages, in the order in which they are looked at."""
    from .maps.surface_maps import seen_maps  # pictures take time to load

    stems = {"potential": "potential", "step": "step"}
    stems |= _stems("touch", tuple(metal.name for metal in result.metals))
    return _plans(result, seen_maps(result), stems=stems)


def margin_pictures(result: Result) -> list[Picture]:
    """Plan maps of the share of the limit."""
    from .maps.surface_maps import margin_maps  # pictures take time to load

    judgements = () if result.verdict is None else result.verdict.judgements
    shares = _stems("share", tuple(one.name for one in judgements), kind="margin")
    return _plans(result, margin_maps(result), stems=shares)


def _stems(key: str, names: tuple[str, ...], *, kind: str = "") -> dict[str, str]:
    """Stem of the file of each map of a kind, by the key of the map."""
    stems = file_stems(names)
    return {f"{key}{number}": f"{kind or key}-{stem}" for number, stem in enumerate(stems)}


def _plans(
    result: Result, plans: "Mapping[str, PlanMap]", *, stems: Mapping[str, str]
) -> list[Picture]:
    from .maps.maps import draw_map  # pictures take time to load

    return [
        (f"{stems[key]}.png", partial(draw_map, result, plan=plan))
        for key, plan in plans.items()
    ]


def scene_pictures(result: Result) -> list[Picture]:
    """The 3-D view."""
    from .scene.scene import draw_scene  # pictures take time to load

    return [("scene.png", partial(draw_scene, result))]


def along_pictures(result: Result) -> list[Picture]:
    """Voltage and current along the metal, where that is not at one potential."""
    from .along_metal import along_figure  # pictures take time to load

    told = along_told(result)
    if told is None:
        return []
    drawn: dict[str, Any] = {"told": told, "units": result.units, "headed": True}
    return figures_in_both_kinds([("along-metal", partial(along_figure, result, **drawn))])


def profile_pictures(result: Result) -> list[Picture]:
    """The profiles, with limits on them."""
    from .profiles import profile_figure  # pictures take time to load

    stems = file_stems(tuple(profile.name for profile in result.profiles))
    drawn: dict[str, Any] = {"units": result.units, "headed": True}
    return figures_in_both_kinds(
        (f"profile-{stem}", partial(profile_figure, result, profile=profile, **drawn))
        for profile, stem in zip(result.profiles, stems, strict=True)
    )


def section_pictures(result: Result) -> list[Picture]:
    """The vertical section, the soil that decides, the sounding."""
    from .section.deciding import deciding_figure  # pictures take time to load
    from .section.section import section_figure, section_of
    from .soil_survey.from_sounding import sounding_picture
    from .soil_survey.picture import sounding_figure

    found: list[tuple[str, Callable[[], Any]]] = []
    drawn: dict[str, Any] = {"units": result.units, "headed": True}
    section = section_of(result)
    found.append(("section", partial(section_figure, result, section=section, **drawn)))
    if result.soil_shares is not None and not result.variant:  # takes as long as a map
        where = partial(deciding_figure, result, **drawn)
        found.append(("deciding-soil", where))
    if result.sounding is not None:
        title = f"{result.title}: soil survey"
        contents = sounding_picture(result.sounding, title=title, units=result.units)
        found.append(("sounding", partial(sounding_figure, contents)))
    return figures_in_both_kinds(found)


pictures_of: dict[str, Callable[[Result], list[Picture]]] = {
    "maps": map_pictures,
    "margins": margin_pictures,
    "profiles": profile_pictures,
    "along metal": along_pictures,
    "section": section_pictures,
    "scene": scene_pictures,
}
"""What gives the pictures of each kind."""
judged = ("margins", "profiles")
"""Kinds on which limits are; the others are of the voltages, the soil and the metal alone."""


def look_alike(one: Result, other: Result) -> bool:
    """Whether pictures that are not `judged` are the same of two results of one run."""
    return same_volumes(one, other) and all(
        first is second or first == second
        for first, second in zip(_shown(one), _shown(other), strict=True)
    )


def _shown(result: Result) -> tuple[Any, ...]:
    """What pictures without limits show, besides the field."""
    outline = factor = None
    if (verdict := result.verdict) is not None:
        # Outlines hold arrays: they are told apart by identity.
        outline = None if verdict.step_outline is None else id(verdict.step_outline)
        factor = verdict.growth_factor * verdict.decrement_factor
    parts = (
        *(result.metals, result.distances, result.soil_shares, result.sounding),
        *(result.along, result.along_drive),
    )
    return (
        *(result.title, result.units, result.north, result.area, result.drives, result.worst),
        *(None if part is None else id(part) for part in parts),
        *(outline, factor),
    )
