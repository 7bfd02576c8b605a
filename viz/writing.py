"""Tables as CSV: what each column is and between which points each voltage is stands on top."""

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path

from ..solver.progress import Progress, parts, unwatched
from ..solver.results.along_metal import along_told
from ..solver.results.result import Result
from .soil_survey.tables import write_sounding_tables
from .tables.along_metal import write_along, write_leads, write_ports
from .tables.distances import write_distances, write_outlines, write_separations
from .tables.drawing import write_drawing
from .tables.feet import write_people
from .tables.heating import write_heating
from .tables.metal import write_electrodes, write_leakage, write_parts
from .tables.one_potential import write_one_potential
from .tables.places import (
    write_profile,
    write_step_outline,
    write_surface,
    write_verdict,
    write_worst,
)
from .wording import file_stems


def write_tables(
    result: Result,
    folder: str | Path,
    *,
    without: Sequence[str] = (),
    progress: Progress = unwatched,
) -> list[Path]:
    """Write the tables of a result as CSV files into a folder that exists, in SI units.

    Lines that begin with # say what the table is; then one header line with units. A place
    out of reach of a metal has an empty touch voltage.

    Parameters
    ----------
    without : sequence of str
        Names of files that are not written.
    progress : callable, optional
        Told the name of each file as it is begun, and the share of the work done by then.
    """
    target = Path(folder)
    stems = file_stems(tuple(profile.name for profile in result.profiles))
    outline = None if result.verdict is None else result.verdict.step_outline
    heating = None if result.verdict is None else result.verdict.heating
    along = result.one_potential
    steps: list[tuple[str, Callable[[Path], None]]] = [
        *([("drawing.csv", partial(write_drawing, result))] if result.drawn else []),
        ("electrodes.csv", partial(write_electrodes, result)),
        ("parts.csv", partial(write_parts, result)),
        ("worst.csv", partial(write_worst, result)),
        *(
            [("verdict.csv", partial(write_verdict, result, result.verdict))]
            if result.verdict is not None and result.verdict.judgements
            else []
        ),
        *(
            [("solved-feet.csv", partial(write_people, result, result.verdict.people))]
            if result.verdict is not None and result.verdict.people
            else []
        ),
        *(
            [("heating.csv", partial(write_heating, result, heating))]
            if heating is not None
            else []
        ),
        *(
            [("step-outline.csv", partial(write_step_outline, result, outline))]
            if outline is not None and outline.polygons
            else []
        ),
        *_distances(result),
        *(
            [("one-potential.csv", partial(write_one_potential, result, along))]
            if along is not None and along.standing(along.largest) != "even"
            else []
        ),
        *_along(result),
        ("surface.csv", partial(write_surface, result)),
        ("leakage.csv", partial(write_leakage, result)),
    ]
    for profile, stem in zip(result.profiles, stems, strict=True):
        steps.append((f"profile-{stem}.csv", partial(write_profile, result, profile)))
    steps = [step for step in steps if step[0] not in without]
    files = []
    for (name, write), each in zip(steps, parts(progress, [1.0] * len(steps)), strict=True):
        each(name, 0.0)
        write(target / name)
        files.append(target / name)
    if result.sounding is not None:
        files += write_sounding_tables(result.sounding, target, title=result.title)
    return files


def _distances(result: Result) -> Iterator[tuple[str, Callable[[Path], None]]]:
    """Tables of distances, where somebody asked for them."""
    found = result.distances
    if found is None:
        return
    yield "distances.csv", partial(write_distances, result, found)
    if found.levels:
        yield "distance-outlines.csv", partial(write_outlines, result, found)
    if found.separations:
        yield "separations.csv", partial(write_separations, result, found)


def _along(result: Result) -> list[tuple[str, Callable[[Path], None]]]:
    """Tables of metal with voltages along it."""
    told = along_told(result)
    if told is None:
        return []
    leads = [("leads.csv", partial(write_leads, result, told))] if told.leads else []
    return [
        ("along-metal.csv", partial(write_along, result)),
        ("ports.csv", partial(write_ports, result, told)),
        *leads,
    ]
