"""What the fit tries to meet: residuals, their weights, their derivatives, the bounds."""

from dataclasses import dataclass
from typing import Literal, Self

import numpy as np

from ..model import Floats
from .readings import Survey
from .survey_model import SurveyModel

ResidualKind = Literal["log", "relative", "absolute"]
EVERY_RESIDUAL: tuple[ResidualKind, ...] = ("log", "relative", "absolute")

# Layers beyond these cannot be told from none, whatever the readings.
MOST_CONTRAST = 1000.0
_thinnest, _thickest = 0.02, 3.0  # of the smallest and the largest spacing
# Relative error that even a careful reading has: pins are paced out, soil is not flat layers.
LEAST_ERROR = 0.01
# Pull of each ln(resistivity) to the mean of the readings, in errors of one reading. It decides
# only where the readings do not: among soils that fit alike, the one with the least contrast.
_pull = 0.03
# Step of the central differences, in ln of a parameter. The forward model is smooth to 1e-10,
# so both errors stay below 1e-6.
_step = 1e-4


@dataclass(frozen=True)
class Target:
    """Residuals of a survey, each divided by its standard deviation where that is known."""

    model: SurveyModel
    observed: Floats  # (n,): ln of the apparent resistivities read [Ω·m]
    # (n,): relative standard deviation of each reading; 1 for all where none is known.
    sigma: Floats
    known: bool  # whether standard deviations were given
    # Difference of logarithms (default of the fit); difference over the reading; difference
    # over the mean of all readings, so that high readings count most.
    kind: ResidualKind
    shortest: float  # smallest and largest spacing [m]
    longest: float

    @classmethod
    def of(cls, survey: Survey, *, kind: ResidualKind) -> Self:
        """Target of a survey; readings without a deviation get the median of those with."""
        given = survey.deviation
        known = bool(np.isfinite(given).any())
        usual = float(np.nanmedian(given)) if known else 1.0
        spacing = survey.spacing
        return cls(
            model=SurveyModel.of(survey),
            observed=np.log(survey.apparent_resistivity),
            sigma=np.where(np.isfinite(given), given, usual),
            known=known,
            kind=kind,
            shortest=float(spacing.min()),
            longest=float(spacing.max()),
        )

    def __len__(self) -> int:
        return len(self.observed)

    def residuals(self, table: Floats) -> Floats:
        """Weighted residuals, model less reading, of each soil in logarithms, shape (m, n)."""
        difference = self.model.log_resistivity(table) - self.observed
        if self.kind != "log":
            # A soil far off must not overflow on the way to a better one.
            difference = np.expm1(np.minimum(difference, 50.0))
        if self.kind == "absolute":
            reading = np.exp(self.observed)
            difference = difference * reading / reading.mean()
        return difference / self.sigma

    def pull(self, logarithms: Floats) -> Floats:
        """Weak extra residuals that draw unresolved resistivities to the mean, (layers,)."""
        layers = (len(logarithms) + 1) // 2
        return _pull * self.least_error * (logarithms[:layers] - self.observed.mean())

    def pull_jacobian(self, count: int) -> Floats:
        """Derivative of `pull`, shape (layers, count), for `count` parameters."""
        return _pull * self.least_error * np.eye((count + 1) // 2, count)

    @property
    def least_error(self) -> float:
        """Weighted residual that is not worth improving on."""
        return 1.0 if self.known else LEAST_ERROR

    def jacobian(self, logarithms: Floats, *, rough: bool = False) -> Floats:
        """Derivative of the weighted residuals, shape (n, parameters), for one soil.

        `rough` says that one-sided differences will do, at half the cost.
        """
        count = len(logarithms)
        shift = _step * np.eye(count)
        if rough:
            ahead = self.residuals(np.vstack([logarithms + shift, logarithms]))
            return (ahead[:count] - ahead[count]).T / _step
        both = self.residuals(np.vstack([logarithms + shift, logarithms - shift]))
        return (both[:count] - both[count:]).T / (2 * _step)

    def bounds(self, layers: int) -> tuple[Floats, Floats]:
        """Lowest and highest ln of resistivities and thicknesses, shape (2 layers - 1,)."""
        contrast = np.log(MOST_CONTRAST)
        low = [self.observed.min() - contrast] * layers
        high = [self.observed.max() + contrast] * layers
        low += [np.log(_thinnest * self.shortest)] * (layers - 1)
        high += [np.log(_thickest * self.longest)] * (layers - 1)
        return np.array(low), np.array(high)
