"""How far: outlines of voltages, separations of electrodes, potential over distance."""

from .finding import distances
from .findings import DistanceLine, Distances, LevelOutline, Separation
from .plan import Apart, DistancePlan, Level
from .wide import WideField, places_to_mesh

__all__ = [
    "Apart",
    "DistanceLine",
    "DistancePlan",
    "Distances",
    "Level",
    "LevelOutline",
    "Separation",
    "WideField",
    "distances",
    "places_to_mesh",
]
