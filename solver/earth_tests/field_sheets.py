"""What a crew takes to the site on paper: where to measure, and what to expect there."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from ..model import Floats, Soil
from .leads import Leads
from .prediction import Method
from .probe import Pin
from .probe_places import ProbePlace

METER = 0.05
"""What a meter and its leads are granted on every expected value, relative."""
SHIFT = 0.1
"""How far feet are taken to stand off their place. [m]"""


@dataclass(frozen=True)
class TestPoint:
    """Two places between which a voltage is read while the tester drives its current.

    Attributes
    ----------
    name : str
        T1, T2 … for touch, S1 … for steps.
    kind : {"touch", "step"}
    metal : str
        Name of the metal that is touched; empty for a step.
    foot : tuple of float, length 2
        [m]
    other_foot : tuple of float, length 2, or None
        Of a step. [m]
    why : str
        What is special about the place.
    above : bool
        Whether the soil is above the metal as the case stands: a meter that shows signs then
        has its first lead on the soil.
    expected : ndarray of float, shape (s,)
        Reading per ampere in each soil held, the first as the case stands, > 0. [Ω]
    shifted : ndarray of float, shape (k,)
        The first reading with the feet `SHIFT` off. [Ω]
    prospective : float or None
        Voltage in the fault of the case, where a run has it at that place. [V]
    """

    __test__ = False  # no class of tests

    name: str
    kind: Literal["touch", "step"]
    metal: str
    foot: tuple[float, float]
    other_foot: tuple[float, float] | None
    why: str
    above: bool
    expected: Floats
    shifted: Floats
    prospective: float | None = None

    def band(self, error: float) -> tuple[float, float]:
        """Readings that agree with the model. [Ω]

        Those of all soils held and of feet a little off, `METER` and the error of the field
        beyond.

        Parameters
        ----------
        error : float
            Estimated error of the field, relative.
        """
        among = np.append(self.expected, self.shifted)
        more = METER + error
        return float(among.min() * (1 - more)), float(among.max() * (1 + more))


@dataclass(frozen=True)
class FieldSheets:
    """Sheets of one electrode.

    Attributes
    ----------
    electrode : str
        That is tested, with what closed bonds join to it.
    conditions : tuple of str
        Soils held, the first as the case stands.
    soil : Soil
        As the case stands.
    extent : float
        Largest dimension of the electrode in plan or depth. [m]
    cable : float
        Length of each of the two cables. [m]
    leads : Leads
        In line.
    probe : Pin
        The current probe.
    places : tuple of ProbePlace
        Of the potential probe.
    chosen : ProbePlace
        One of them, whose corrected reading is least in doubt.
    points : tuple of TestPoint
    spacings : tuple of float
        Of the soil survey, between neighbouring pins. [m]
    findings : tuple of str
        What to mind in the test at 61.8 %.
    method : {"thin conductors", "finite elements"}
    error : float
        Estimated error of the field, relative.
    """

    electrode: str
    conditions: tuple[str, ...]
    soil: Soil
    extent: float
    cable: float
    leads: Leads
    probe: Pin
    places: tuple[ProbePlace, ...]
    chosen: ProbePlace
    points: tuple[TestPoint, ...]
    spacings: tuple[float, ...]
    findings: tuple[str, ...]
    method: Method
    error: float

    @property
    def named_places(self) -> tuple[tuple[str, ProbePlace], ...]:
        """Places of the potential probe with their names, P1, P2 …"""
        return tuple((f"P{number}", one) for number, one in enumerate(self.places, start=1))
