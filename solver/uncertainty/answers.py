"""What draws say of one answer: its spread, how probable a pass is, which input matters."""

from dataclasses import dataclass

import numpy as np
from scipy.special import stdtrit

from ..model import Flags, Floats
from .plan import SCRAMBLINGS, DrawPlan, problem_of

SHARES = (0.05, 0.5, 0.95)
"""Probabilities by which inputs and answers are told, and at which draws are proven."""
# Half-width of a 95 % range in standard errors, from the scatter of the scramblings.
_half_width = float(stdtrit(SCRAMBLINGS - 1, 0.975))
_resamples = 200  # for the ranges of the indices
_resampling = 1  # seed of that; 0 would be taken for none


@dataclass(frozen=True)
class Spread:
    """5, 50 and 95 % of an answer.

    Attributes
    ----------
    low, median, high : float
        Not exceeded by 5, 50 and 95 % of the draws.
    errors : tuple of float, length 3
        Half-widths of their 95 % ranges by sampling alone.
    """

    low: float
    median: float
    high: float
    errors: tuple[float, float, float]


@dataclass(frozen=True)
class Chance:
    """How probable something is.

    Attributes
    ----------
    share : float
        Of the draws.
    error : float
        Half-width of its 95 % range by sampling alone; where none or all of the draws have
        it, 3 over their number (the rule of three: Hanley and Lippman-Hand 1983, JAMA 249,
        1743; from memory).
    """

    share: float
    error: float


@dataclass(frozen=True)
class Importance:
    """Share of the variance of an answer that each of d inputs has.

    Attributes
    ----------
    first : ndarray of float, shape (d,)
        Alone: what would vanish on average if it were known; 0 to 1.
    total : ndarray of float, shape (d,)
        With all it acts together with: what would be left if all others were known.
    first_error, total_error : ndarray of float, shape (d,)
        Half-widths of their 95 % ranges by sampling alone.
    """

    first: Floats
    total: Floats
    first_error: Floats
    total_error: Floats


def spread_of(values: Floats) -> Spread:
    """Spread of an answer over the draws of a plan, shape (n,)."""
    whole = np.quantile(values, SHARES)
    each = np.quantile(values.reshape(SCRAMBLINGS, -1), SHARES, axis=1)
    errors = _half_width * each.std(axis=1, ddof=1) / np.sqrt(SCRAMBLINGS)
    low, median, high = whole.tolist()
    return Spread(low, median, high, tuple(errors.tolist()))


def chance_of(holds: Flags) -> Chance:
    """How probable something is that holds or not in each draw of a plan, shape (n,)."""
    share = float(holds.mean())
    if share in (0.0, 1.0):
        return Chance(share, min(1.0, 3.0 / len(holds)))
    each = holds.reshape(SCRAMBLINGS, -1).mean(axis=1)
    error = _half_width * float(each.std(ddof=1)) / np.sqrt(SCRAMBLINGS)
    # Scramblings that happen to agree do not make it certain.
    return Chance(share, max(error, 1.0 / len(holds)))


def importance_of(values: Floats, *, plan: DrawPlan) -> Importance:
    """Which inputs an answer over the draws of a plan depends on.

    Notes
    -----
    Sobol' 1993 for the first-order share, Jansen 1999 for the total one, as SALib has them
    (Herman and Usher 2017, J. Open Source Softw. 2, 97; from memory).
    """
    from SALib.analyze import sobol  # takes seconds to load

    spread = float(np.std(values))
    zero = np.zeros(plan.inputs)
    if not spread > 1e-12 * float(np.abs(values).max()):
        return Importance(zero, zero, zero, zero)
    found = sobol.analyze(
        problem_of(plan.inputs),
        values,
        calc_second_order=False,
        num_resamples=_resamples,
        conf_level=0.95,
        seed=_resampling,
    )
    first, total, first_error, total_error = (
        np.asarray(found[key], dtype=float) for key in ("S1", "ST", "S1_conf", "ST_conf")
    )
    # Sampling takes them beyond what a share can be.
    first, total = np.clip(first, 0.0, 1.0), np.clip(total, 0.0, 1.0)
    return Importance(first, total, first_error, total_error)
