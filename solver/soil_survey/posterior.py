"""Soils as probable as the readings of a survey leave them."""

from dataclasses import dataclass

import numpy as np
from scipy.special import gammaln, logsumexp, ndtri
from scipy.stats import chi2, qmc

from ..errors import TrustError
from ..model import Floats, Soil
from .descent import Descent, best_descent
from .four_pin_model import FourPinModel
from .layers import SoilBatch
from .pin_geometry import wenner_pins
from .resolution import Resolution
from .sounding import Sounding
from .target import EVERY_RESIDUAL, MOST_CONTRAST, Target

_freedom = 4  # of the Student distribution that soils are proposed from: wide at its ends
_widest = 1.5  # standard deviation of an ln at first, where readings say nothing
_rounds = 8  # proposals, each shaped by the one before
_log2_proposed = 12
_enough = 400.0  # effective number of soils
_inflation = 1.3  # of the spread found, so that the next proposal covers it
_floor = 1e-6  # of a variance, in squares of ln


@dataclass(frozen=True)
class PosteriorSoils:
    """Soils with their probabilities given the readings.

    Attributes
    ----------
    logarithms : ndarray of float, shape (n, 2 layers - 1)
        ln of resistivities [Ω·m], then of thicknesses [m], in the order of what four pins at
        one spacing read on them, so that a draw moves smoothly from low to high.
    probability : ndarray of float, shape (n,)
        Sums to 1.
    """

    logarithms: Floats
    probability: Floats

    @property
    def effective(self) -> float:
        """Number of equally probable soils that say as much (Kish 1965, from memory)."""
        return float(1.0 / (self.probability**2).sum())

    def at(self, share: Floats) -> list[Soil]:
        """Soils at shares of the probability between 0 and 1, shape (m,)."""
        ends = np.cumsum(self.probability)
        chosen = np.minimum(np.searchsorted(ends, share), len(ends) - 1)
        layers = (self.logarithms.shape[1] + 1) // 2
        return [
            Soil(tuple(row[:layers].tolist()), tuple(row[layers:].tolist()))
            for row in np.exp(self.logarithms[chosen])
        ]


def posterior_soils(sounding: Sounding, *, spacing: float, seed: int = 0) -> PosteriorSoils:
    """Soils with the chosen number of layers and their probabilities given the readings.

    Parameters
    ----------
    spacing : float
        Of the four pins that put them in order: about the size of what lies in the soil. [m]
    seed : int
        Of the proposals; the same gives the same soils.

    Raises
    ------
    TrustError
        If the readings leave so much open that the soils proposed do not cover it.

    Notes
    -----
    Before the readings every ln of a resistivity and thickness is as probable as any other
    within the bounds of the fit and contrasts of 1000, beyond which soils are not told apart
    nor solved. Where the noise is taken from the misfit S with n readings it
    is left open too, and the probability of a soil goes with :math:`S^{-n/2}` (Jeffreys 1939,
    *Theory of Probability*, ch. 3; from memory); where it is known, with
    :math:`e^{-S / 2 s^2}`. Soils are proposed by a Student distribution and weighted, several
    times, each time shaped by the weights before (population Monte Carlo: Cappé, Guillin,
    Marin and Robert 2004; from memory). Proposals are even (Sobol' points).
    """
    kind = next(kind for kind in EVERY_RESIDUAL if kind == sounding.residual)
    target = Target.of(sounding.survey, kind=kind)
    soil = sounding.chosen.soil
    start = np.log([*soil.resistivity, *soil.thickness])
    best = best_descent(target, start[None], robust=sounding.robust)
    resolution = Resolution.of(best, robust=sounding.robust)
    middle, spread = best.logarithms, _bounded(resolution.covariance)
    for number in range(_rounds):
        table, density = _proposed(middle, spread, seed=seed + number)
        chance = _log_chance(table, best=best, resolution=resolution) - density
        probability = np.exp(chance - logsumexp(chance))
        found = PosteriorSoils(table, probability)
        if found.effective >= _enough:
            return _ordered(found, spacing)
        # Few soils have nearly all: flattened, they still show which way to go.
        flat = probability ** min(1.0, 2 * found.effective / _enough)
        flat /= flat.sum()
        middle = flat @ table
        off = table - middle
        spread = _bounded(_inflation**2 * (off.T * flat) @ off)
    msg = (
        f"the readings leave the {len(soil.resistivity)} layers of the survey so open that "
        f"{2**_log2_proposed:,} soils drawn do not cover it (they count as "
        f"{found.effective:.0f}, {_enough:.0f} are needed); ask for fewer layers (soil.survey."
        "layers) or measure at more spacings"
    )
    raise TrustError(msg)


def _bounded(covariance: Floats) -> Floats:
    """Covariance, no direction wider than a proposal should be or without width."""
    values, directions = np.linalg.eigh(0.5 * (covariance + covariance.T))
    values = np.clip(values, _floor, _widest**2)
    return np.asarray((directions * values) @ directions.T)


def _proposed(middle: Floats, spread: Floats, *, seed: int) -> tuple[Floats, Floats]:
    """Soils from a Student distribution, (n, p), and the ln of their density."""
    count = len(middle)
    unit = qmc.Sobol(count + 1, scramble=True, rng=np.random.default_rng(seed)).random_base2(
        _log2_proposed
    )
    unit = np.clip(unit, 1e-12, 1 - 1e-12)
    wide = np.sqrt(_freedom / chi2.ppf(unit[:, 0], _freedom))
    factor = np.linalg.cholesky(spread)
    normal = ndtri(unit[:, 1:]) * wide[:, None]
    table = middle + normal @ factor.T
    square = (normal**2).sum(axis=1)
    density = (
        gammaln(0.5 * (_freedom + count))
        - gammaln(0.5 * _freedom)
        - 0.5 * count * np.log(_freedom * np.pi)
        - np.log(np.diag(factor)).sum()
        - 0.5 * (_freedom + count) * np.log1p(square / _freedom)
    )
    return table, density


def _log_chance(table: Floats, *, best: Descent, resolution: Resolution) -> Floats:
    """Logarithm of the probability of soils, up to a constant, shape (n,)."""
    target, layers = best.target, (table.shape[1] + 1) // 2
    low, high = target.bounds(layers)
    inside = ((table >= low) & (table <= high)).all(axis=1)
    inside &= np.ptp(table[:, :layers], axis=1) <= np.log(MOST_CONTRAST)
    found = np.full(len(table), -np.inf)
    pulls = np.array([target.pull(row) for row in table[inside]]).reshape(-1, layers)
    cost = best.loss.cost(target.residuals(table[inside])) + (pulls**2).sum(axis=1)
    if resolution.origin == "misfit":
        found[inside] = -0.5 * len(target) * np.log(cost)
    else:
        found[inside] = -0.5 * cost / resolution.noise**2
    return found


def _ordered(soils: PosteriorSoils, spacing: float) -> PosteriorSoils:
    """The same by what four pins read on them."""
    pins = FourPinModel.of(wenner_pins(np.array([spacing])), pin_depth=np.zeros(1))
    read = pins.resistance(SoilBatch.from_logarithms(soils.logarithms))[:, 0]
    order = np.argsort(read, kind="stable")
    return PosteriorSoils(soils.logarithms[order], soils.probability[order])
