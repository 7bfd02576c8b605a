"""The soil block of a case: bodies, and layers as given or a survey they are fitted to."""

from pathlib import Path

from ...solver.bodies import Body
from ...solver.errors import CaseError
from ...solver.model import Conductors, Soil
from ...solver.soil_survey import Sounding
from ..bodies.building import bodies_of
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
    """Soil of a block that gives its layers, or its survey; nothing is fitted.

    The extent of the metal is what the survey is held against. `CaseError` if bodies cannot be
    where they are put, or the survey is wrong, or cannot give the layers asked for.
    """
    bodies = bodies_of(given.bodies, document=document)
    if given.layers is not None:
        return _stack(given.layers, bodies), None
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
            bodies=bodies,
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


def _stack(layers: tuple[schema_soil.Layer, ...], bodies: tuple[Body, ...]) -> Soil:
    sideways = tuple(layer.resistivity for layer in layers)
    upright = tuple(layer.vertical_resistivity or layer.resistivity for layer in layers)
    return Soil(
        resistivity=sideways,
        thickness=tuple(layer.thickness for layer in layers if layer.thickness is not None),
        bodies=bodies,
        vertical_resistivity=None if upright == sideways else upright,
    )
