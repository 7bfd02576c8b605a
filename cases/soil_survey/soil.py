"""The soil block of a case: layers as given, or a survey to which they are to be fitted."""

from pathlib import Path

from ...solver.errors import CaseError
from ...solver.model import Conductors, Soil
from ...solver.soil_survey import Sounding
from ..reading.documents import Document
from . import schema_soil
from .readings import survey_readings
from .surveyed import SurveyedSoil, longest_extent


def soil_of(
    given: schema_soil.Soil,
    *,
    conductors: Conductors,
    document: Document,
    folder: Path | None,
) -> tuple[Soil | None, SurveyedSoil | None]:
    """Layers of a soil block that gives them, or its survey; nothing is fitted.

    The extent of the metal is what the survey is held against. `CaseError` if the survey is
    wrong, or cannot give the layers asked for.
    """
    if given.layers is not None:
        return _stack(given.layers), None
    assert given.survey is not None  # the schema asks for exactly one
    path = ("soil", "survey")
    readings = survey_readings(given.survey, document=document, folder=folder, path=path)
    try:
        survey = SurveyedSoil(
            readings,
            asked=given.survey.layers if isinstance(given.survey.layers, int) else None,
            robust=given.survey.robust,
            equivalents_asked=given.survey.equivalents or 0,
            electrode_diagonal=longest_extent(conductors),
        )
    except CaseError as error:
        raise _at_layers(error, document) from error
    return None, survey


def fitted_survey(
    survey: SurveyedSoil, *, document: Document, kept: list[Sounding]
) -> SurveyedSoil:
    """The survey with its layers, kept or fitted now.

    `CaseError` as `SurveyedSoil.fitted`, at the place of the case.
    """
    try:
        return survey.fitted(kept=kept)
    except CaseError as error:
        raise _at_layers(error, document) from error


def _at_layers(error: CaseError, document: Document) -> CaseError:
    path = ("soil", "survey", "layers")
    return CaseError([document.problem(item.message, path=path) for item in error.problems])


def _stack(layers: tuple[schema_soil.Layer, ...]) -> Soil:
    return Soil(
        resistivity=tuple(layer.resistivity for layer in layers),
        thickness=tuple(layer.thickness for layer in layers if layer.thickness is not None),
    )
