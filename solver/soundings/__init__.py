"""Soundings: apparent resistivity of layered soil, and layers from readings."""

from .four_pin_model import (
    apparent_resistivity,
    four_pin_resistance,
    schlumberger_resistivity,
    wenner_resistivity,
)
from .readings import DrivenRodReadings, FourPinReadings, Survey, Traverse
from .rod_model import layered_rod_resistance

__all__ = [
    "DrivenRodReadings",
    "FourPinReadings",
    "Survey",
    "Traverse",
    "apparent_resistivity",
    "four_pin_resistance",
    "layered_rod_resistance",
    "schlumberger_resistivity",
    "wenner_resistivity",
]
