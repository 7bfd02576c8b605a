"""One fitted soil with all that is known about how sure it is."""

from dataclasses import dataclass
from functools import cached_property
from typing import Self

import numpy as np

from ..model import Flags, Floats, Soil
from .descent import Descent
from .equivalents import equivalent_soils
from .resolution import NoiseOrigin, Resolution, information_criterion

# A parameter is not resolved when soils within the noise differ in it by more than this.
_most_resolved_ratio = 10.0


@dataclass(frozen=True)
class LayerFit:
    """Horizontal layers fitted to a survey. Layers count from the top.

    Soils that fit alike, and what follows from them, are looked for when first asked for: that
    takes longer than the fit itself.
    """

    resistivity: Floats  # (layers,): best resistivities [Ω·m]
    thickness: Floats  # (layers - 1,): best thicknesses of all layers but the last [m]
    # One standard deviation of the natural logarithm, from the linear error analysis; small
    # ones are relative deviations; infinite where the readings say nothing.
    resistivity_deviation: Floats
    thickness_deviation: Floats
    # (layers, 2): 95 % range from the linear error analysis in logarithms, 0 to infinity
    # where the readings say nothing [Ω·m]
    resistivity_range: Floats
    thickness_range: Floats  # (layers - 1, 2): the same [m]
    # (layers - 1,): one standard deviation of the logarithm of resistivity × thickness, all
    # that is seen of a thin resistive layer, and of thickness / resistivity, all that is seen
    # of a thin conductive one
    product_deviation: Floats
    quotient_deviation: Floats
    # (n,): what the fitted soil gives for each reading of the survey [Ω·m]
    apparent_resistivity: Floats
    residual: Floats  # (n,): ln of model over reading; small ones are relative differences
    outlier: Flags  # (n,): readings that do not fit with the others; they are not left out
    noise: Floats  # (n,): relative standard deviation that the ranges take each reading to have
    # Whether the noise is that of the residuals, of the deviations given, or the least that
    # any reading is taken to have
    noise_origin: NoiseOrigin
    misfit: float  # root mean square of (model - reading) / reading
    # Schwarz's information criterion (`information_criterion`); lower is better.
    criterion: float
    # Probability that chance alone makes the fit so much better than the simpler one it was
    # held against; 1 for the simplest.
    chance: float
    starts: int  # number of starts of the search, and of those that came to the same misfit
    agreeing: int
    descent: Descent  # where the fit ended, and its error analysis
    resolution: Resolution

    @classmethod
    def of(cls, best: Descent, *, robust: bool, chance: float) -> Self:
        """All there is to say about where a fit ended."""
        target, center = best.target, best.logarithms
        n = (len(center) + 1) // 2
        resolution = Resolution.of(best, robust=robust)
        deviation = resolution.deviation
        reach = resolution.quantile * deviation
        ranges = np.exp(np.column_stack([center - reach, center + reach]))
        eye = np.eye(len(center))
        logs = target.model.log_resistivity(center[None])[0]
        return cls(
            resistivity=np.exp(center[:n]),
            thickness=np.exp(center[n:]),
            resistivity_deviation=deviation[:n],
            thickness_deviation=deviation[n:],
            resistivity_range=ranges[:n],
            thickness_range=ranges[n:],
            product_deviation=resolution.deviation_along(eye[n:] + eye[: n - 1]),
            quotient_deviation=resolution.deviation_along(eye[n:] - eye[: n - 1]),
            apparent_resistivity=np.exp(logs),
            residual=logs - target.observed,
            outlier=resolution.outlier,
            noise=resolution.noise * target.sigma,
            noise_origin=resolution.origin,
            misfit=_root_mean_square(logs - target.observed),
            criterion=information_criterion(best),
            chance=chance,
            starts=best.starts,
            agreeing=best.agreeing,
            descent=best,
            resolution=resolution,
        )

    @property
    def layers(self) -> int:
        """Number of layers."""
        return len(self.resistivity)

    @property
    def soil(self) -> Soil:
        """The best soil, for the field solver."""
        return _soil(self.resistivity, self.thickness)

    @property
    def misfit_of_others(self) -> float:
        """Root mean square of (model - reading) / reading, outliers left aside."""
        return _root_mean_square(self.residual[~self.outlier])

    @cached_property
    def _others(self) -> Floats:
        """Ln of the parameters of the soils within the noise, shape (s, 2 layers - 1)."""
        return equivalent_soils(self.descent, self.resolution)

    @property
    def equivalent_resistivity(self) -> Floats:
        """Resistivities of soils within the noise, far from the best, (s, layers). [Ω·m]"""
        return np.exp(self._others[:, : self.layers])

    @property
    def equivalent_thickness(self) -> Floats:
        """Thicknesses of soils within the noise, shape (s, layers - 1). [m]"""
        return np.exp(self._others[:, self.layers :])

    @property
    def equivalent_misfit(self) -> Floats:
        """Root mean squares of the relative differences of these soils, shape (s,)."""
        target = self.descent.target
        logs = target.model.log_resistivity(self._others)
        return np.array([_root_mean_square(row) for row in logs - target.observed])

    @property
    def resistivity_resolved(self) -> Flags:
        """Whether all soils within the noise agree in it within a factor of 10, (layers,)."""
        return self._resolved[: self.layers]

    @property
    def thickness_resolved(self) -> Flags:
        """The same for the thicknesses, shape (layers - 1,)."""
        return self._resolved[self.layers :]

    @cached_property
    def _resolved(self) -> Flags:
        """Which parameters the readings pin down, off the bounds of the fit.

        By the soils that fit alike: linear ranges are far too wide along a curved valley.
        """
        low, high = self.descent.target.bounds(self.layers)
        everything = np.vstack([self.descent.logarithms, self._others])
        spread = np.ptp(everything, axis=0)
        margin = 1e-3
        above = (everything > low + margin).all(axis=0)
        below = (everything < high - margin).all(axis=0)
        return np.asarray(above & below & (spread < np.log(_most_resolved_ratio)))

    @property
    def resistivity_envelope(self) -> Floats:
        """Lowest and highest resistivity of all soils within the noise, shape (layers, 2)."""
        return _envelope(self.resistivity, self.equivalent_resistivity)

    @property
    def thickness_envelope(self) -> Floats:
        """Smallest and largest thickness of all soils within the noise, (layers - 1, 2)."""
        return _envelope(self.thickness, self.equivalent_thickness)

    @property
    def depth_envelope(self) -> Floats:
        """Smallest and largest depth of each plane in these soils, (layers - 1, 2). [m]"""
        depths = np.cumsum(self.equivalent_thickness, axis=1)
        return _envelope(np.cumsum(self.thickness), depths)

    def equivalents(self, count: int) -> tuple[Soil, ...]:
        """Soils within the noise that differ most from the best one and from each other.

        Without the best one, `count` at most; the first differs most from it.
        """
        table = np.log(np.hstack([self.equivalent_resistivity, self.equivalent_thickness]))
        chosen = [np.log(np.concatenate([self.resistivity, self.thickness]))]
        picked: list[int] = []
        while len(picked) < min(count, len(table)):
            apart = np.min([((table - soil) ** 2).sum(axis=1) for soil in chosen], axis=0)
            k = int(np.argmax(apart))
            picked.append(k)
            chosen.append(table[k])
        return tuple(
            _soil(self.equivalent_resistivity[k], self.equivalent_thickness[k]) for k in picked
        )


def _soil(resistivity: Floats, thickness: Floats) -> Soil:
    return Soil(tuple(resistivity.tolist()), tuple(thickness.tolist()))


def _envelope(best: Floats, others: Floats) -> Floats:
    everything = np.vstack([best, others])
    return np.column_stack([everything.min(axis=0), everything.max(axis=0)])


def _root_mean_square(difference: Floats) -> float:
    """Of relative differences, from those of logarithms."""
    return float(np.sqrt(np.mean(np.expm1(difference) ** 2)))
