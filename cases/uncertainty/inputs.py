"""What is not known of a case, as distributions for places of its file."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from ...solver.model import Floats
from ...solver.uncertainty.distributions import Distribution
from ..design.reading import words_of
from ..reading.documents import Step

SOIL = "soil, as its survey leaves it"


@dataclass(frozen=True)
class UncertainInput:
    """Something of the case that is not known.

    Attributes
    ----------
    name : str
    target : tuple
        Path in the case file that takes the values.
    distribution : Distribution
        Of the number in the case file, or of the number of the value.
    unit : str
        That stands behind the number; empty for plain numbers.
    values : tuple
        To choose from by number, as the file has them; empty for numbers.
    """

    name: str
    target: tuple[Step, ...]
    distribution: Distribution
    unit: str = ""
    values: tuple[Any, ...] = ()

    def at(self, share: float) -> Any:
        """Value at a share of the probability, as the case file would have it."""
        number = float(self.distribution.at(np.array([share]))[0])
        if self.values:
            return self.values[int(number)]
        return f"{number!r} {self.unit}" if self.unit else number

    def words(self, share: float) -> str:
        """The same as one writes it."""
        value = self.at(share)
        if self.values:
            return words_of(value)
        number = float(self.distribution.at(np.array([share]))[0])
        return f"{float(f'{number:.3g}'):g} {self.unit}".strip()


@dataclass(frozen=True)
class NextReading:
    """A reading that could be taken.

    Attributes
    ----------
    name : str
    error : float
        Relative standard deviation.
    wenner : ndarray of float, shape (n,)
        Spacings of four pins; empty for others. [m]
    rod : tuple of float, length 2, or None
        Length and diameter of a rod driven for it. [m]
    """

    name: str
    error: float
    wenner: Floats
    rod: tuple[float, float] | None = None


@dataclass(frozen=True)
class UncertaintyPlan:
    """What is drawn, how often, and what could be read next."""

    inputs: tuple[UncertainInput, ...]
    from_survey: bool  # whether the soil is drawn from its survey
    draws: int
    seed: int
    next_readings: tuple[NextReading, ...]
    folder: Path | None = None  # for tables that the case names; None refuses them

    @property
    def names(self) -> tuple[str, ...]:
        """Names of all that is drawn, the soil of a survey first."""
        return (*(SOIL,) * self.from_survey, *(item.name for item in self.inputs))
