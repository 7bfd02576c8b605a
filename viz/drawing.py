"""All pictures of a result, in one call."""

from collections.abc import Callable
from pathlib import Path

from ..solver.result import Result
from .wording import file_stems


def draw(
    result: Result,
    folder: str | Path,
    *,
    progress: Callable[[str], None] = lambda name: None,
) -> list[Path]:
    """Write all pictures of a result as PNG files into a folder that exists.

    Plan maps of surface potential, of step voltage and of the touch voltage on each metal
    that can be reached in the mapped area, and of the margin of each exposure judged; each
    profile; the 3-D view.

    Parameters
    ----------
    result : Result
        What to draw.
    folder : str or Path
        Where to.
    progress : callable, optional
        Told the name of each file as it is begun.

    Returns
    -------
    files : list of Path
        The files written, in order.

    Raises
    ------
    MissingLibraryError
        If a system library is missing.
    """
    from .maps import draw_map
    from .margins import margin_map
    from .plans import potential_map, step_map, touch_map
    from .profiles import draw_profile
    from .scene import draw_scene
    from .sounding_contents import sounding_picture
    from .soundings import draw_sounding

    target = Path(folder)
    files: list[Path] = []

    def begin(name: str) -> Path:
        progress(name)
        files.append(target / name)
        return files[-1]

    path = begin("potential.png")
    draw_map(result, plan=potential_map(result), path=path)
    stems = file_stems(tuple(metal.name for metal in result.metals))
    for metal, stem in zip(result.metals, stems, strict=True):
        plan = touch_map(result, metal=metal)
        if plan is not None:
            draw_map(result, plan=plan, path=begin(f"touch-{stem}.png"))
    draw_map(result, plan=step_map(result), path=begin("step.png"))
    judgements = () if result.verdict is None else result.verdict.judgements
    stems = file_stems(tuple(judgement.name for judgement in judgements))
    for judgement, stem in zip(judgements, stems, strict=True):
        plan = margin_map(result, judgement=judgement)
        if plan is not None:
            draw_map(result, plan=plan, path=begin(f"margin-{stem}.png"))
    stems = file_stems(tuple(profile.name for profile in result.profiles))
    for profile, stem in zip(result.profiles, stems, strict=True):
        for ending in ("png", "svg"):
            path = begin(f"profile-{stem}.{ending}")
            draw_profile(result, profile=profile, path=path)
    draw_scene(result, path=begin("scene.png"))
    if result.sounding is not None:
        contents = sounding_picture(
            result.sounding, title=f"{result.title}: soil survey", units=result.units
        )
        for ending in ("png", "svg"):
            draw_sounding(contents, path=begin(f"sounding.{ending}"))
    return files
