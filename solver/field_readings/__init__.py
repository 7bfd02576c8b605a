"""The model held against the meter: simulated readings, what explains the rest, fits."""

from .compared import NOT_ENOUGH, Compared
from .comparison import Agreement, Explanation, explanations, pairs
from .curves import Curve, along_lines, curves_along
from .fitting import Fit, fit, scaled_start
from .measured import Measured, ReadingNote, Series
from .prediction import point_to_point, predicted
from .readings import End, Reading, Readings, remote
from .state import State, Unknown, chosen_unknowns, unknowns_of
from .transfer import FieldModel, Transfer, field_model

__all__ = [
    "NOT_ENOUGH",
    "Agreement",
    "Compared",
    "Curve",
    "End",
    "Explanation",
    "FieldModel",
    "Fit",
    "Measured",
    "Reading",
    "ReadingNote",
    "Readings",
    "Series",
    "State",
    "Transfer",
    "Unknown",
    "along_lines",
    "chosen_unknowns",
    "curves_along",
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
