"""Least squares from many starts to one soil."""

from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import least_squares

from ..model import Floats
from .target import Target

# Starts are first followed until their misfit hardly moves, then the best to the end.
_rough, _fine = 1e-4, 1e-10
_most_steps_rough, _most_steps_fine = 40, 200
_followed_to_the_end = 3
# Misfits this near to the best, in share of it or of the least error, are one minimum.
_same = 0.01
# Rods: how often the correction to one potential is renewed.
_renewals = 3
# Robust fits: residuals count less from here on, in least errors, until their own spread is
# known, and then in standard deviations. 2.385 keeps 95 % of the efficiency of least squares
# on normal errors (Holland & Welsch, Comm. Statist. A6, 1977; from memory).
_first_scale, _tuned_scale = 10.0, 2.385
# Median of the absolute normal deviate, inverse.
_median_to_sigma = 1.4826


@dataclass(frozen=True)
class Loss:
    """How large residuals count."""

    # Weighted residual from which on residuals count less, by Cauchy's loss s² ln(1 +
    # (r/s)²); infinite for plain squares.
    scale: float = np.inf

    def cost(self, residuals: Floats) -> Floats:
        """Sum over the last axis of what the residuals count."""
        if np.isinf(self.scale):
            return np.asarray((residuals**2).sum(axis=-1))
        return np.asarray(self.scale**2 * np.log1p((residuals / self.scale) ** 2).sum(axis=-1))


@dataclass(frozen=True)
class Descent:
    """Where least squares ended."""

    logarithms: Floats  # (2 layers - 1,): ln(resistivity) of each layer, then ln(thickness)
    target: Target  # the target, its rods corrected at this soil
    loss: Loss
    starts: int  # number of starts, and of those that came to the same misfit
    agreeing: int

    @property
    def residuals(self) -> Floats:
        """Weighted residuals, shape (n,)."""
        return self.target.residuals(self.logarithms[None])[0]

    @property
    def cost(self) -> float:
        """What the residuals count."""
        return float(self.loss.cost(self.residuals))


def descend(
    target: Target,
    start: Floats,
    *,
    loss: Loss,
    fixed: int | None = None,
    tolerance: float = _fine,
    most_steps: int = _most_steps_fine,
) -> tuple[Floats, float]:
    """Least squares from one start within the bounds: logarithms, and what the misfit counts.

    `fixed` is a parameter that stays as it is. Ends where misfit and parameters change by
    less than the tolerance. The cost holds the residuals and the pull of the target.
    """
    layers = (len(start) + 1) // 2
    low, high = target.bounds(layers)
    free = np.arange(len(start)) != (-1 if fixed is None else fixed)

    def whole(x: Floats) -> Floats:
        soil = start.copy()
        soil[free] = x
        return soil

    def residuals(x: Floats) -> Floats:
        soil = whole(x)
        return np.concatenate([target.residuals(soil[None])[0], target.pull(soil)])

    def jacobian(x: Floats) -> Floats:
        both = np.vstack(
            [
                target.jacobian(whole(x), rough=tolerance >= _rough),
                target.pull_jacobian(len(start)),
            ]
        )
        return both[:, free]

    if not free.any():
        return start, float((residuals(start[free]) ** 2).sum())
    edge = 1e-9 * (high - low)
    inside = np.clip(start, low + edge, high - edge)[free]
    result = least_squares(
        residuals,
        inside,
        jac=jacobian,
        bounds=(low[free], high[free]),
        loss="linear" if np.isinf(loss.scale) else "cauchy",
        f_scale=1.0 if np.isinf(loss.scale) else loss.scale,
        ftol=tolerance,
        xtol=tolerance,
        gtol=tolerance * 1e-3,
        max_nfev=most_steps,
    )
    return whole(result.x), float(2 * result.cost)


def best_descent(target: Target, starts: Floats, *, robust: bool) -> Descent:
    """The best soil that any of the starts, shape (s, 2 layers - 1), leads to.

    `robust` makes large residuals count less.
    """
    loss = Loss(_first_scale * target.least_error) if robust else Loss()
    ends = [
        descend(target, start, loss=loss, tolerance=_rough, most_steps=_most_steps_rough)
        for start in starts
    ]
    ends.sort(key=lambda end: end[1])
    best = ends[0][1]
    enough = best + _same * max(best, target.least_error**2)
    agreeing = sum(cost <= enough for _, cost in ends)
    if robust:
        spread = robust_spread(target.residuals(ends[0][0][None])[0], len(starts[0]))
        loss = Loss(_tuned_scale * max(spread, target.least_error))
    followed = [descend(target, soil, loss=loss) for soil, _ in ends[:_followed_to_the_end]]
    soil = min(followed, key=lambda end: end[1])[0]
    for _ in range(_renewals if target.model.rods is not None else 0):
        target = replace(target, model=target.model.corrected_at(soil))
        soil = descend(target, soil, loss=loss)[0]
    return Descent(soil, target=target, loss=loss, starts=len(starts), agreeing=agreeing)


def robust_spread(residuals: Floats, parameters: int) -> float:
    """Standard deviation of residuals from their median size, a few outliers left aside."""
    n = len(residuals)
    freedom = np.sqrt(n / max(n - parameters, 1))
    return float(_median_to_sigma * np.median(np.abs(residuals)) * freedom)
