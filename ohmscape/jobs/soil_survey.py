"""From a survey to soil: what the verb `soil` does."""

from dataclasses import dataclass, replace
from os import PathLike
from pathlib import Path
from typing import Literal

from ..cases.case import Case
from ..cases.loading import load_case
from ..cases.shipped import shipped_cases
from ..cases.soil_survey.readings import load_survey
from ..cases.soil_survey.surveyed import surveyed_soil
from ..solver.errors import CaseError, Problem
from ..solver.progress import Progress, unwatched
from ..solver.soil_survey import Sounding
from ..viz.files.whole import check_folder, write_whole
from ..viz.soil_survey.soil_block import soil_block

# Equivalent models that are shown where a case does not say how many.
_usual_equivalents = 4


@dataclass(frozen=True)
class Surveyed:
    """A fitted survey with what its outputs are headed by.

    Attributes
    ----------
    title : str
        Heading.
    units : {"SI", "US"}
        Lengths in metres or feet.
    sounding : Sounding
        Survey and soils.
    """

    title: str
    units: Literal["SI", "US"]
    sounding: Sounding


def survey_soil(
    survey: str | PathLike[str],
    *,
    layers: int | Literal["supported"] | None = None,
    robust: bool = False,
    sheet: str | None = None,
) -> Surveyed:
    """Soil fitted to the table of a survey, or to the survey of a case.

    Parameters
    ----------
    survey : str or path-like
        Table (CSV or workbook) of readings; a case file (YAML), or the name of a shipped case.
    layers : int or "supported", optional
        Number of layers; left out, what the case asks for, or as many as are supported.
    robust : bool
        Whether readings off the curve count less.
    sheet : str, optional
        Sheet of a workbook; left out, the only one that holds something.

    Raises
    ------
    CaseError
        If the survey is wrong, or has too few readings for so many layers.
    """
    path = Path(survey)
    shipped = not path.is_file() and str(survey) in shipped_cases()
    if shipped or path.suffix.lower() in (".yaml", ".yml"):
        if sheet is not None:
            msg = f"sheet {sheet!r}: a case says its own (soil.survey.sheet); leave it out"
            raise CaseError([Problem(msg, file=str(survey))])
        return from_case(load_case(survey), layers=layers, robust=robust)
    number = None if layers == "supported" else layers
    return from_table(path, layers=number, robust=robust, sheet=sheet)


def from_table(
    path: Path, *, layers: int | None = None, robust: bool = False, sheet: str | None = None
) -> Surveyed:
    """Soil fitted to the table of a survey.

    Parameters
    ----------
    layers : int, optional
        Number of layers; left out, as many as the readings support.
    robust : bool
        Whether readings off the curve count less.
    sheet : str, optional
        Sheet of a workbook; left out, the only one that holds something.

    Raises
    ------
    CaseError
        If the table is wrong or has too few readings for so many layers.
    """
    readings = load_survey(path, sheet=sheet)
    soil = surveyed_soil(readings, layers=layers, robust=robust, equivalents=_usual_equivalents)
    title = f"Soil survey {' '.join(readings.file.split())}"
    return Surveyed(title, "SI", soil.found)


def from_case(
    case: Case, *, layers: int | Literal["supported"] | None = None, robust: bool = False
) -> Surveyed:
    """Soil fitted to the survey of a case, held against its electrodes.

    Parameters
    ----------
    case : Case
        A case whose soil is a survey.
    layers : int or "supported", optional
        In place of what the case asks for.
    robust : bool
        Whether readings off the curve count less even if the case does not say so.

    Raises
    ------
    CaseError
        If the soil of the case is no survey, or has too few readings for so many layers.
    """
    found = case.survey
    if found is None:
        of_variants = [item.variant for item in case.variants if item.survey is not None]
        where = f"; only its variants have one: {', '.join(of_variants)}" if of_variants else ""
        msg = (
            f"the soil of this case is given by layers, not by a survey{where}. Give the table "
            "(CSV) of a survey, or a case with soil.survey"
        )
        raise CaseError([Problem(msg, file=case.source.file)])
    asked = found.asked
    if layers is not None:
        asked = None if layers == "supported" else layers
    wanted = replace(
        found,
        asked=asked,
        robust=robust or found.robust,
        equivalents_asked=found.equivalents_asked or _usual_equivalents,
    )
    if wanted != found:
        wanted = replace(wanted, sounding=None)
    return Surveyed(f"{case.title}: soil survey", case.units, wanted.fitted().found)


def check_soil_folder(folder: Path) -> None:
    """Raise unless `save_soil` can write to a folder; files of others in it stay.

    Raises
    ------
    ResultError
        If something is in the way.
    """
    check_folder(folder, kind="soil")


def save_soil(
    surveyed: Surveyed, folder: Path, *, progress: Progress = unwatched
) -> tuple[Path, ...]:
    """Write picture, tables and soil block to a folder, all or nothing.

    Parameters
    ----------
    surveyed : Surveyed
        What `from_table` or `from_case` gave.
    folder : Path
        Folder to make, or where what this left before is replaced. Other files stay.
    progress : callable, optional
        Told the name of each file as it is begun, and the share of the work done by then.

    Raises
    ------
    ResultError
        If something is in the way.
    """
    from ..viz.soil_survey.files import write_sounding  # pictures take time to load

    def write(into: Path) -> list[Path]:
        files = write_sounding(
            surveyed.sounding,
            into,
            title=surveyed.title,
            units=surveyed.units,
            progress=progress,
        )
        block = into / "soil.yaml"
        block.write_text(soil_block(surveyed.sounding), encoding="utf-8")
        return [*files, block]

    return write_whole(folder, write=write, kind="soil", command="soil")
