"""Protective devices: whether and when they clear the fault.

Each `Device` answers a current with a `Trip`: certainly, possibly (inside the tolerance band
of its standard) or never, with the shortest and the longest time; `fault_clearing` joins the
answers of all devices. Many values are from memory and say so in `source`. None of them
replaces the maker's curve, the local code or licensed practice.
"""

from .breakers import INSTANTANEOUS, WITHIN_AT_200, Iec60898Breaker, Iec60898Curve, Ul489Breaker
from .clearing import Answer, FaultClearing, clearing, fault_clearing
from .contract import Certainty, Characteristic, Device, Trip, amperes
from .points import TimeCurrentPoints
from .relays import (
    INVERSE_CONSTANTS,
    LEVEL_FROM,
    SURE_FROM,
    FixedTime,
    InverseCurve,
    InverseTimeRelay,
)
from .residual import (
    CONVENTIONAL_TOUCH_VOLTAGE,
    RATED_RESIDUAL_CURRENTS,
    GroundFaultInterrupter,
    ResidualCurrentDevice,
)
from .stepped import Band

__all__ = [
    "CONVENTIONAL_TOUCH_VOLTAGE",
    "INSTANTANEOUS",
    "INVERSE_CONSTANTS",
    "LEVEL_FROM",
    "RATED_RESIDUAL_CURRENTS",
    "SURE_FROM",
    "WITHIN_AT_200",
    "Answer",
    "Band",
    "Certainty",
    "Characteristic",
    "Device",
    "FaultClearing",
    "FixedTime",
    "GroundFaultInterrupter",
    "Iec60898Breaker",
    "Iec60898Curve",
    "InverseCurve",
    "InverseTimeRelay",
    "ResidualCurrentDevice",
    "TimeCurrentPoints",
    "Trip",
    "Ul489Breaker",
    "amperes",
    "clearing",
    "fault_clearing",
]
