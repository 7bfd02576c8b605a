"""Soundings: apparent resistivity of layered soil, and layers from readings."""

from .readings import DrivenRodReadings, FourPinReadings, Survey, Traverse

__all__ = ["DrivenRodReadings", "FourPinReadings", "Survey", "Traverse"]
