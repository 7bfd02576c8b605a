"""What comes of holding readings against a model: a comparison, as outputs take it."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from ..model import Floats
from .comparison import Agreement, Explanation
from .curves import Curve
from .fitting import Fit
from .measured import Measured
from .state import State, Unknown

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
    area : ndarray of float, shape (s, layers)
        Area of the metal of each set of bonded electrodes in each calibrated layer. [m²]
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
    area: Floats
    method: str
    solves: int
    seconds: float


def film_of(compared: Compared, unknown: Unknown, *, value: float) -> Floats:
    """Film over the metal in each layer that acts like a contact resistance, (layers,).

    Parameters
    ----------
    compared : Compared
        For the metal and the calibrated layers.
    value : float
        Its value. [Ω]

    Returns
    -------
    film : ndarray of float
        Resistance per area, in proportion to the resistivity of each layer, as loosened soil
        has it; nan in layers without metal. [Ω·m²]

    Notes
    -----
    In proportion, because then the current leaves the metal as without a film, with a
    density that goes as one over the resistivity. An even film in layered soil would drive
    current into the worse layers and change potentials per ampere.
    """
    area = compared.area[unknown.layer]
    rho = np.array(compared.calibration.state.soil.resistivity)
    return np.where(area > 0, value * (area / rho).sum() * rho, np.nan)
