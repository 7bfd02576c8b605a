"""Fault circuit: how much of the fault current enters the soil.

The solved soil is one part of a network with the supply and the metal paths beside the
soil; currents divide in one set of equations. Phasors are effective values.
"""

from .decrement import Factors, decrement_factor
from .ladder import Ladder
from .model import EARTH_CURRENT, OTHER_PATHS, REMOTE_EARTH, SUPPLY, Circuit, Path, Supply
from .operating import operate, operate_ports
from .operation import Branch, Operation

__all__ = [
    "EARTH_CURRENT",
    "OTHER_PATHS",
    "REMOTE_EARTH",
    "SUPPLY",
    "Branch",
    "Circuit",
    "Factors",
    "Ladder",
    "Operation",
    "Path",
    "Supply",
    "decrement_factor",
    "operate",
    "operate_ports",
]
