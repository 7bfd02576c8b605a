"""Which reading would narrow an answer most, before it is taken."""

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri
from scipy.stats import qmc

from ..errors import CaseError
from ..model import Floats

_least_effective = 5.0  # draws that a supposed reading leaves; with fewer it says too little
_supposed = 256  # true states tried at most


@dataclass(frozen=True)
class Narrowing:
    """What a reading is expected to do to the spread of an answer.

    Attributes
    ----------
    before, after : float
        Standard deviation of ln of the answer now, and on average once the reading is there.
    error : float
        Half-width of the 95 % range of `after` by sampling alone.
    scarce : float
        Share of the supposed readings after which fewer than five draws count, so that
        `after` is too small by rights: more draws tell it better.
    """

    before: float
    after: float
    error: float
    scarce: float

    @property
    def share(self) -> float:
        """Of the standard deviation: how much of it the reading takes away."""
        return 1.0 - self.after / self.before if self.before > 0 else 0.0


def narrowing(
    answer: Floats, *, reading: Floats, error: float | Floats, seed: int = 0
) -> Narrowing:
    r"""Expected narrowing of an answer by a reading that is not yet taken.

    Parameters
    ----------
    answer : ndarray of float, shape (n,)
        The answer in n draws, > 0.
    reading : ndarray of float, shape (n,) or (n, q)
        What the reading, or q of them, would be in each, > 0.
    error : float or ndarray of float, shape (q,)
        Relative standard deviation of each reading.
    seed : int
        Of the supposed errors of reading.

    Raises
    ------
    CaseError
        If values are not above zero, or there are fewer than two draws.

    Notes
    -----
    Each draw in turn is supposed to be true and is read with an error; all draws are weighted
    by how probable they make that reading, :math:`w_j \propto e^{-\frac12 \sum (\ln y_j - \ln
    y)^2 / \sigma^2}`, and the weighted spread of the answer is averaged: the expected posterior
    variance (preposterior analysis: Raiffa and Schlaifer 1961; from memory).
    """
    readings = np.atleast_2d(np.asarray(reading, dtype=float).T).T
    errors = np.broadcast_to(np.asarray(error, dtype=float), readings.shape[1:])
    if len(answer) < 2 or not (
        (answer > 0).all() and (readings > 0).all() and (errors > 0).all()
    ):
        msg = "answers, readings and their errors have to be above zero, in two draws at least"
        raise CaseError(msg)
    values, seen = np.log(answer), np.log(readings) / errors
    stride = max(1, len(values) // _supposed)
    true = np.arange(len(values))[::stride]
    unit = qmc.Sobol(readings.shape[1], scramble=True, rng=np.random.default_rng(seed)).random(
        1 << int(np.ceil(np.log2(len(true))))
    )
    noise = ndtri(np.clip(unit[: len(true)], 1e-9, 1 - 1e-9))
    off = ((seen[true] + noise)[:, None, :] - seen[None]) ** 2
    weight = np.exp(-0.5 * (off.sum(axis=2) - off.sum(axis=2).min(axis=1, keepdims=True)))
    weight /= weight.sum(axis=1, keepdims=True)
    variance = weight @ values**2 - (weight @ values) ** 2
    # A weighted variance is too small by the share that its draws have of one.
    effective = 1.0 / (weight**2).sum(axis=1)
    variance = np.maximum(variance, 0.0) / np.maximum(1 - 1 / effective, 0.5)
    after = float(np.sqrt(variance.mean()))
    scatter = 1.96 * float(variance.std(ddof=1)) / np.sqrt(len(true))
    return Narrowing(
        before=float(values.std()),
        after=after,
        error=scatter / (2 * max(after, 1e-300)),
        scarce=float((effective < _least_effective).mean()),
    )
