"""Soundings: apparent resistivity of layered soil, and layers from readings."""

from .findings import Finding
from .four_pin_model import (
    apparent_resistivity,
    four_pin_resistance,
    schlumberger_resistivity,
    wenner_resistivity,
)
from .layer_fit import LayerFit
from .readings import DrivenRodReadings, FourPinReadings, Survey, Traverse
from .rod_model import layered_rod_resistance
from .sounding import SoilModel, Sounding
from .survey_fit import SurveyFit, fit_survey, most_layers_fitted

__all__ = [
    "DrivenRodReadings",
    "Finding",
    "FourPinReadings",
    "LayerFit",
    "SoilModel",
    "Sounding",
    "Survey",
    "SurveyFit",
    "Traverse",
    "apparent_resistivity",
    "fit_survey",
    "four_pin_resistance",
    "layered_rod_resistance",
    "most_layers_fitted",
    "schlumberger_resistivity",
    "wenner_resistivity",
]
