"""How well a fitted soil is known, and whether a further layer is worth having."""

from dataclasses import dataclass
from typing import Literal, Self

import numpy as np
from scipy.special import fdtrc, ndtri, stdtrit

from ..model import Flags, Floats
from .descent import Descent, robust_spread

NoiseOrigin = Literal["misfit", "deviations", "least error"]

_confidence = 0.95
# A residual is an outlier when pure chance gives one so large in a survey this seldom.
_outlier_chance = 0.05
# Leverage above which a reading fits itself and cannot be judged.
_most_leverage = 0.8
# Deviations of a logarithm beyond this say nothing and are given as infinite.
_most_deviation = 20.0
# Singular values below this share of the largest are rounding.
_least_singular = 1e-12


@dataclass(frozen=True)
class Resolution:
    """Linear error analysis at the best soil, in logarithms of its parameters."""

    noise: float  # standard deviation of one weighted residual
    origin: NoiseOrigin  # where the noise comes from
    quantile: float  # number of standard deviations to either end of the 95 % range
    covariance: Floats  # (p, p): of ln(resistivity) of each layer, then ln(thickness)
    outlier: Flags  # (n,): readings that do not fit with the others

    @classmethod
    def of(cls, best: Descent, *, robust: bool) -> Self:
        r"""Resolution of the best soil.

        Notes
        -----
        With residuals r of n readings, p parameters and the Jacobian J, noise and covariance
        are

        .. math:: s^2 = \frac{\sum r^2}{n - p}, \quad C = s^2 (J^T J)^{-1}

        the noise never below the least error or, where deviations are given, below those.
        Noise from the misfit takes Student's quantile with n - p degrees of freedom.
        """
        residuals = best.residuals
        jacobian = best.target.jacobian(best.logarithms)
        n, p = jacobian.shape
        free, least = n - p, best.target.least_error
        if robust:
            spread = robust_spread(residuals, p)
        else:
            spread = float(np.sqrt((residuals**2).sum() / free)) if free > 0 else 0.0
        origin: NoiseOrigin = "deviations" if best.target.known else "least error"
        quantile = float(ndtri(0.5 + _confidence / 2))
        if spread > least:
            origin, quantile = "misfit", float(stdtrit(free, 0.5 + _confidence / 2))
        noise = max(spread, least)
        left, singular, right = np.linalg.svd(jacobian, full_matrices=False)
        safe = np.maximum(singular, _least_singular * singular[0])
        return cls(
            noise=noise,
            origin=origin,
            quantile=quantile,
            covariance=(right.T / safe**2) @ right * noise**2,
            outlier=_outliers(residuals, (left**2).sum(axis=1), p, noise, least, robust),
        )

    @property
    def deviation(self) -> Floats:
        """One standard deviation of the ln of each parameter, shape (p,)."""
        return self.deviation_along(np.eye(len(self.covariance)))

    def deviation_along(self, direction: Floats) -> Floats:
        """One standard deviation of sums of ln of parameters; infinite where beyond all.

        Each row of the direction, shape (q, p), has the factors of one sum.
        """
        along = np.einsum("qi,ij,qj->q", direction, self.covariance, direction)
        deviation = np.sqrt(np.maximum(along, 0.0))
        return np.where(deviation > _most_deviation, np.inf, deviation)


def _outliers(
    residuals: Floats,
    leverage: Floats,
    parameters: int,
    noise: float,
    least: float,
    robust: bool,
) -> Flags:
    """Readings whose residual is too large for the noise that the other readings show.

    Each residual is divided by its standard deviation without the reading itself
    (externally studentised; Cook & Weisberg, *Residuals and Influence in Regression*, 1982;
    from memory) and held against Student's distribution, shared out over all readings.
    """
    n = len(residuals)
    free = n - parameters - 1
    judged = leverage < _most_leverage
    if free < 1:
        return np.zeros(n, dtype=bool)
    remaining = np.where(judged, 1.0 - leverage, 1.0)
    if robust:
        variance = np.full(n, noise**2)
    else:
        others = (residuals**2).sum() - residuals**2 / remaining
        variance = np.maximum(others / free, least**2)
    size = np.abs(residuals) / np.sqrt(variance * remaining)
    limit = stdtrit(free, 1.0 - _outlier_chance / (2 * n))
    return np.asarray(judged & (size > limit))


def information_criterion(best: Descent) -> float:
    r"""Schwarz's criterion (BIC): lower is better, differences below 6 are not strong.

    Notes
    -----
    With the sum S of squared weighted residuals, n readings and p parameters

    .. math:: n \ln \max(S / n, e^2) + p \ln n

    where e is the least error: a fit better than readings can be is no information. Where
    deviations are given the first term is S. It was chosen over the corrected criterion of
    Akaike (AICc), whose correction grows without bound when readings hardly outnumber
    parameters, as in soundings they do: with 6 readings it would never allow two layers.

    References
    ----------
    .. [1] G. Schwarz, "Estimating the dimension of a model", Annals of Statistics 6, 1978;
       R. E. Kass, A. E. Raftery, "Bayes factors", J. Amer. Statist. Assoc. 90, 1995 (6 and
       more is strong). From memory.
    """
    n, p = len(best.target), len(best.logarithms)
    if best.target.known:
        return best.cost + p * float(np.log(n))
    floor = best.target.least_error**2
    return float(n * np.log(max(best.cost / n, floor)) + p * np.log(n))


def chance_of_drop(simple: Descent, further: Descent) -> float:
    """Probability that pure chance lowers the misfit so much (F test of nested models).

    1 where no reading is left over to judge by.
    """
    n, few, many = len(simple.target), len(simple.logarithms), len(further.logarithms)
    free = n - many
    if free < 1:
        return 1.0
    variance = max(further.cost / free, further.target.least_error**2)
    ratio = max(simple.cost - further.cost, 0.0) / (many - few) / variance
    return float(fdtrc(many - few, free, ratio))
