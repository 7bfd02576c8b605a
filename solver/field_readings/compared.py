"""What comes of holding readings against a model: a comparison, as outputs take it."""

from dataclasses import dataclass
from typing import Literal

from .comparison import Agreement, Explanation
from .curves import Curve
from .fitting import Fit
from .measured import Measured
from .state import State

# Misfit above which one unknown alone is not enough. [standard deviations]
NOT_ENOUGH = 1.5


@dataclass(frozen=True)
class Compared:
    """Readings of a case beside the model, and what they say about it.

    Attributes
    ----------
    title : str
        Heading.
    units : {"SI", "US"}
        Lengths in metres or feet.
    measured : Measured
        The readings.
    start : State
        What the case says.
    case : Agreement
        The case as it stands, beside the readings.
    explanations : tuple of Explanation
        Each unknown fitted alone, the one that explains most first.
    pairs : tuple of Fit
        Two together, the best pair first; only where none alone is enough.
    calibration : Fit
        The chosen unknowns, fitted together.
    calibrated : Agreement
        The calibrated model beside the readings.
    curves : tuple of Curve
        For series whose probe moved along a line.
    electrodes : tuple of str, length g
        Names of the electrodes.
    filmed : tuple of bool, length g
        Whether the case gives an electrode a film, beyond which its contact resistance is.
    method : str
        How fields were solved.
    solves : int
        Number of fields solved.
    seconds : float
        Time of all of it. [s]
    """

    title: str
    units: Literal["SI", "US"]
    measured: Measured
    start: State
    case: Agreement
    explanations: tuple[Explanation, ...]
    pairs: tuple[Fit, ...]
    calibration: Fit
    calibrated: Agreement
    curves: tuple[Curve, ...]
    electrodes: tuple[str, ...]
    filmed: tuple[bool, ...]
    method: str
    solves: int
    seconds: float
