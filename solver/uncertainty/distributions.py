"""Distributions of one quantity, by their quantile functions."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from scipy.special import ndtr, ndtri

from ..errors import CaseError
from ..model import Floats


class Distribution(Protocol):
    """Values of one quantity by how probable it is that they are not exceeded."""

    def at(self, share: Floats) -> Floats:
        """Values at shares of the probability between 0 and 1, both left out, shape (n,)."""


@dataclass(frozen=True)
class Lognormal:
    """Quantity whose logarithm is normal.

    Attributes
    ----------
    median : float
        > 0.
    factor : float
        Of one standard deviation: two thirds lie between median / factor and median · factor.

    Raises
    ------
    CaseError
        If the median is not above 0 or the factor not above 1.
    """

    median: float
    factor: float

    def __post_init__(self) -> None:
        if not (self.median > 0 and 1 < self.factor < np.inf):
            msg = f"median {self.median:g}, factor {self.factor:g}: need > 0 and > 1"
            raise CaseError(msg)

    def at(self, share: Floats) -> Floats:
        """See `Distribution`."""
        return np.asarray(self.median * self.factor ** ndtri(share))


@dataclass(frozen=True)
class Normal:
    """Normal quantity, cut off where it would leave `low` to `high`.

    Attributes
    ----------
    mean, deviation : float
        Of the distribution before it is cut.
    low, high : float
        Limits.

    Raises
    ------
    CaseError
        If the deviation is not above 0, or hardly anything lies between the limits.
    """

    mean: float
    deviation: float
    low: float = -np.inf
    high: float = np.inf

    def __post_init__(self) -> None:
        if not 0 < self.deviation < np.inf:
            msg = f"a standard deviation of {self.deviation:g}: need one above 0"
            raise CaseError(msg)
        first, last = self._ends
        if last - first < 0.5:
            msg = (
                f"only {100 * (last - first):.2g} % of a normal distribution with mean "
                f"{self.mean:g} and deviation {self.deviation:g} is allowed between "
                f"{self.low:g} and {self.high:g}; give another, such as a lognormal one"
            )
            raise CaseError(msg)

    @property
    def _ends(self) -> tuple[float, float]:
        low, high = ((end - self.mean) / self.deviation for end in (self.low, self.high))
        return float(ndtr(low)), float(ndtr(high))

    def at(self, share: Floats) -> Floats:
        """See `Distribution`."""
        first, last = self._ends
        return np.asarray(self.mean + self.deviation * ndtri(first + share * (last - first)))


@dataclass(frozen=True)
class Uniform:
    """Every value between two as probable.

    Raises
    ------
    CaseError
        If `high` is not above `low`.
    """

    low: float
    high: float

    def __post_init__(self) -> None:
        if not self.low < self.high:
            msg = f"from {self.low:g} to {self.high:g}: the second has to be above the first"
            raise CaseError(msg)

    def at(self, share: Floats) -> Floats:
        """See `Distribution`."""
        return self.low + share * (self.high - self.low)


@dataclass(frozen=True)
class Triangular:
    """Most probable at one value, falling evenly to two ends.

    Raises
    ------
    CaseError
        If they are not in order.
    """

    low: float
    likely: float
    high: float

    def __post_init__(self) -> None:
        if not (self.low <= self.likely <= self.high and self.low < self.high):
            msg = f"{self.low:g}, {self.likely:g}, {self.high:g}: they have to be in order"
            raise CaseError(msg)

    def at(self, share: Floats) -> Floats:
        """See `Distribution`."""
        width, rise = self.high - self.low, self.likely - self.low
        return np.where(
            share * width < rise,
            self.low + np.sqrt(share * width * rise),
            self.high - np.sqrt((1 - share) * width * (width - rise)),
        )


@dataclass(frozen=True)
class OneOf:
    """One of a few, by weight; values are their numbers from 0.

    Raises
    ------
    CaseError
        If a weight is below zero or all are zero.
    """

    weights: tuple[float, ...]

    def __post_init__(self) -> None:
        weights = np.array(self.weights)
        if not (np.isfinite(weights).all() and (weights >= 0).all() and weights.sum() > 0):
            msg = f"weights {self.weights}: need one above zero and none below"
            raise CaseError(msg)

    def at(self, share: Floats) -> Floats:
        """See `Distribution`."""
        ends = np.cumsum(self.weights) / np.sum(self.weights)
        return np.minimum(np.searchsorted(ends, share, side="right"), len(ends) - 1.0)
