"""From the survey block of a case, or the file of a survey, to readings the solver takes."""

import hashlib
import math
import os
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from ...solver.errors import BudgetError, CaseError, Problem
from ...solver.soil_survey import Survey, Traverse
from ..reading.beside import content_beside
from ..reading.documents import Document, Step
from ..reading.size_limits import LARGEST_TABLE
from . import schema as schema
from .rows import SurveyRow, schlumberger_pins, survey_of, wenner_pins
from .table import read_survey_table
from .warnings import survey_warnings


@dataclass(frozen=True)
class SurveyReadings:
    """Readings of a site as they came in."""

    survey: Survey
    warnings: tuple[str, ...]  # what looks like a slip in them; nothing was changed
    file: str = ""  # name and hash of the table; empty for readings in the case file itself
    sha256: str = ""


def load_survey(path: str | os.PathLike[str], *, sheet: str | None = None) -> SurveyReadings:
    """Readings of a survey file; `CaseError` and `BudgetError` as `survey_readings`.

    `sheet` is that of a workbook; left out, the only one that holds something.
    """
    file = Path(path)
    if not file.is_file():
        msg = f"no survey file {str(file)!r}; give the path of a table (CSV or workbook)"
        raise CaseError([Problem(msg)])
    size = file.stat().st_size
    if size > LARGEST_TABLE:
        msg = f"{size:,} bytes; at most {LARGEST_TABLE:,} are read"
        raise BudgetError([Problem(msg, file=file.name)])
    return survey_of_table(file.read_bytes(), file=file.name, sheet=sheet)


def survey_readings(
    given: schema.Survey, *, document: Document, folder: Path | None, path: tuple[Step, ...]
) -> SurveyReadings:
    """Readings of the survey block of a case.

    `CaseError` if the table is missing, or readings are wrong, with line numbers;
    `BudgetError` if it is larger than the limits allow.
    """
    if given.file is not None:
        content = content_beside(given.file, folder=folder, document=document, path=path)
        return survey_of_table(content, file=given.file, sheet=given.sheet)
    rows: list[SurveyRow] = []
    traverses = given.traverses or ()
    for number, traverse in enumerate(traverses):
        rows += _rows(traverse, index=number, document=document, path=path)
    named = [Traverse(t.name, t.direction, t.date, t.note) for t in traverses]
    survey, order = survey_of(rows, traverses=named)
    return SurveyReadings(survey, survey_warnings(survey, rows=order))


def survey_of_table(content: bytes, *, file: str, sheet: str | None = None) -> SurveyReadings:
    """Readings of a table from the bytes of its file; errors as `survey_readings`."""
    table = read_survey_table(content, file=file, sheet=sheet)
    survey, order = survey_of(table.rows, traverses=table.traverses)
    warnings = survey_warnings(survey, rows=order)
    return SurveyReadings(survey, warnings, file, hashlib.sha256(content).hexdigest())


def _rows(
    traverse: schema.Traverse, *, index: int, document: Document, path: tuple[Step, ...]
) -> list[SurveyRow]:
    """Rows of one traverse of the case file."""
    rows = []
    for number, reading in enumerate(traverse.readings):
        row = SurveyRow(
            problem=partial(
                document.problem, path=(*path, "traverses", index, "readings", number)
            ),
            traverse=index,
            resistance=reading.ohms,
            apparent_resistivity=_or_nan(reading.apparent_resistivity),
            deviation=_or_nan(reading.deviation or traverse.deviation),
        )
        if isinstance(reading, schema.FourPinReading):
            assert not isinstance(traverse, schema.DrivenRodTraverse)
            depth = traverse.pin_depth if reading.pin_depth is None else reading.pin_depth
            corrected = traverse.depth_corrected
            row = replace(row, pins=_pins(reading), pin_depth=depth, depth_corrected=corrected)
        else:
            assert isinstance(traverse, schema.DrivenRodTraverse)
            assert isinstance(reading, schema.DrivenRodReading)
            length = reading.driven_length
            row = replace(row, driven_length=length, diameter=traverse.diameter)
        rows.append(row)
    return rows


def _pins(reading: schema.FourPinReading) -> tuple[float, float, float, float]:
    if isinstance(reading, schema.WennerReading):
        return wenner_pins(reading.spacing)
    if isinstance(reading, schema.SchlumbergerReading):
        return schlumberger_pins(reading.half_current_spacing, reading.half_potential_spacing)
    assert isinstance(reading, schema.PlacedReading)
    return reading.pins


def _or_nan(value: float | None) -> float:
    return math.nan if value is None else value
