"""The model held against the meter: simulated readings, what explains the rest, fits."""

from .comparison import Agreement, Explanation, explanations, pairs
from .fitting import Fit, fit, scaled_start
from .prediction import point_to_point, predicted
from .readings import End, Reading, Readings, remote
from .state import State, Unknown, chosen_unknowns, unknowns_of
from .transfer import FieldModel, Transfer, field_model

__all__ = [
    "Agreement",
    "End",
    "Explanation",
    "FieldModel",
    "Fit",
    "Reading",
    "Readings",
    "State",
    "Transfer",
    "Unknown",
    "chosen_unknowns",
    "explanations",
    "field_model",
    "fit",
    "pairs",
    "point_to_point",
    "predicted",
    "remote",
    "scaled_start",
    "unknowns_of",
]
