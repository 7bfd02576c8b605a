"""Least squares on the field model: chosen unknowns, their ranges, what cannot be seen."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri, stdtrit

from ..errors import CaseError
from ..model import Flags, Floats
from .prediction import predicted
from .readings import Readings
from .search import Search
from .state import State, Unknown
from .transfer import FieldModel

_confidence = 0.95
# Steps of the difference quotients: far above the noise of the field solutions (0.05 %).
_log_step = 0.03
_least_singular = 1e-5
# A logarithm known no better than this, up or down, is not seen by the readings.
_seen = np.log(10.0)
_correlated = 0.9


@dataclass(frozen=True)
class Fit:
    """Unknowns fitted to readings, all at once.

    Attributes
    ----------
    unknowns : tuple of Unknown
        What was fitted, p of them.
    state : State
        The best state.
    value : ndarray of float, shape (p,)
        Best value of each. [unit of each]
    range : ndarray of float, shape (p, 2)
        95 % range by linear error analysis (of the logarithm where `Unknown.logarithmic`);
        infinite where the readings say nothing.
    correlation : ndarray of float, shape (p, p)
        Of the errors of the unknowns.
    seen : ndarray of bool, shape (p,)
        Whether the readings determine it at all.
    predicted : ndarray of float, shape (n,)
        Simulated readings in the best state, in the units of the readings.
    misfit : float
        Root mean square of (measured - simulated) / deviation; about 1 is as good as the
        deviations promise.
    at_bound : ndarray of bool, shape (p,)
        Whether the best value lies on a bound of the fit.
    """

    unknowns: tuple[Unknown, ...]
    state: State
    value: Floats
    range: Floats
    correlation: Floats
    seen: Flags
    predicted: Floats
    misfit: float
    at_bound: Flags

    @property
    def correlated(self) -> tuple[tuple[str, str, float], ...]:
        """Pairs of unknowns that the readings hardly tell apart, with their correlation."""
        names = [unknown.name for unknown in self.unknowns]
        return tuple(
            (names[i], names[k], float(self.correlation[i, k]))
            for i in range(len(names))
            for k in range(i)
            if abs(self.correlation[i, k]) > _correlated
        )


def misfit_of(readings: Readings, values: Floats) -> float:
    """Root mean square of (measured - simulated) / deviation."""
    return float(np.sqrt(np.mean(((readings.value - values) / readings.deviation) ** 2)))


def needs_field(unknown: Unknown, model: FieldModel) -> bool:
    """Whether another value of an unknown needs another field solution."""
    scaled = unknown.kind == "soil scale" and not model.scales
    return scaled or unknown.kind in ("resistivity", "thickness")


def fit(
    readings: Readings,
    *,
    model: FieldModel,
    start: State,
    unknowns: Sequence[Unknown],
    tolerance: float = 1e-3,
    most_steps: int = 40,
    renew: bool = True,
) -> Fit:
    r"""Unknowns that bring the simulated readings closest to the measured ones.

    Parameters
    ----------
    start : State
        Where the search starts; what is not fitted stays so.
    tolerance : float
        Relative change of misfit and unknowns at which the search ends.
    renew : bool
        Whether to spend field solutions on a Jacobian of its own for the ranges.

    Raises
    ------
    CaseError
        If there are fewer readings than unknowns, or no unknowns.

    Notes
    -----
    Sum of squares of (measured - simulated) / deviation, trust-region search in logarithms
    of soil properties (`search.py`), Jacobian J by differences of 3 %. Errors by
    the linear analysis :math:`C = s^2 (J^T J)^{-1}`, where s is the misfit over the readings
    left beyond the unknowns but at least 1, so that ranges never get narrower than the
    deviations given; Student's quantile where s is above 1.
    """
    n, p = len(readings), len(unknowns)
    if p == 0 or n < p:
        msg = f"{p} unknowns and {n} readings; fit at least one, and no more than readings"
        raise CaseError(msg)

    def state_of(seen: Floats) -> State:
        state = start
        for unknown, value in zip(unknowns, seen, strict=True):
            state = unknown.put(state, unknown.outer(float(value)))
        return state

    def values(seen: Floats) -> Floats:
        return predicted(readings, model=model, state=state_of(seen))

    def residuals(seen: Floats) -> Floats:
        return (values(seen) - readings.value) / readings.deviation

    typical = _typical(readings, model=model, start=start, unknowns=unknowns)

    first = np.array([u.inner(u.of(start, start=start)) for u in unknowns])
    low = np.array([u.inner(u.low) for u in unknowns])
    high = np.array([u.inner(u.high) for u in unknowns])
    search = Search(
        residuals, low, high, typical, np.array([needs_field(u, model) for u in unknowns])
    )
    best, jacobian = search.best(
        np.clip(first, low + typical, high),
        scale=typical / _log_step,
        tolerance=tolerance,
        most_steps=most_steps,
        renew=renew,
    )
    # The search stays a hair inside its bounds; put it on the one that it has run into.
    below, above = best - low < 1e-3 * typical, high - best < 1e-3 * typical
    best = np.where(below, low, np.where(above, high, best))
    shown = values(best)
    misfit = misfit_of(readings, shown)
    deviation, correlation, quantile = _errors(jacobian, misfit=misfit)
    reach = quantile * deviation
    ends = np.column_stack([np.maximum(best - reach, low), np.minimum(best + reach, high)])
    return Fit(
        unknowns=tuple(unknowns),
        state=state_of(best),
        value=np.array([u.outer(float(x)) for u, x in zip(unknowns, best, strict=True)]),
        range=np.array(
            [[u.outer(float(x)) for x in row] for u, row in zip(unknowns, ends, strict=True)]
        ),
        correlation=correlation,
        seen=np.asarray(reach < typical / _log_step * _seen),
        predicted=shown,
        misfit=misfit,
        at_bound=below | above,
    )


def scaled_start(
    readings: Readings,
    *,
    model: FieldModel,
    start: State,
    unknowns: Sequence[Unknown],
    among: Sequence[Unknown],
) -> State:
    """Start of a fit of all resistivities: the soil scaled to the readings, at no cost.

    Parameters
    ----------
    readings, model, start, unknowns
        As for `fit`.

    Returns
    -------
    start : State
        The same where scaling costs a field or not all resistivities are to be fitted.
    """
    layers = {u.layer for u in unknowns if u.kind == "resistivity"}
    cheap = [u for u in unknowns if not needs_field(u, model)]
    scale = [u for u in among if u.kind == "soil scale"]
    whole = len(layers) == len(start.soil.resistivity) > 1
    if not (whole and model.scales) or len(readings) < 1 + len(cheap):
        return start
    return fit(readings, model=model, start=start, unknowns=[*scale, *cheap]).state


def _typical(
    readings: Readings, *, model: FieldModel, start: State, unknowns: Sequence[Unknown]
) -> Floats:
    """Step of each unknown for difference quotients: 3 % of a natural size.

    The natural size is 1 for logarithms and dividers, and the resistance of the electrode
    that carries the current for resistances.
    """
    bare = model.transfer(start.soil, contact=(0.0,) * len(start.contact))
    rise = float(np.mean(np.diag(bare.resistance)))
    return np.array([_log_step * (rise if u.unit == "ohm" else 1.0) for u in unknowns])


def _errors(jacobian: Floats, *, misfit: float) -> tuple[Floats, Floats, float]:
    """Standard deviations, correlations, and number of deviations to the end of a range."""
    n, p = jacobian.shape
    free = n - p
    spread = misfit * np.sqrt(n / free) if free else 1.0
    quantile = float(ndtri(0.5 + _confidence / 2))
    if spread > 1:
        quantile = float(stdtrit(free, 0.5 + _confidence / 2))
    size = np.linalg.norm(jacobian, axis=0)
    size = np.where(size > 0, size, 1e-300)
    _, singular, right = np.linalg.svd(jacobian / size, full_matrices=False)
    safe = np.maximum(singular, _least_singular * singular[0])
    scaled = (right.T / safe**2) @ right
    deviation = np.sqrt(np.diag(scaled)) / size * max(spread, 1.0)
    root = np.sqrt(np.diag(scaled))
    return deviation, scaled / np.outer(root, root), quantile
