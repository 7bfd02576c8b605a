"""Soils that fit the readings as well as the best one, within the noise."""

import numpy as np

from ..model import Floats
from .descent import Descent, descend
from .resolution import Resolution

_first_step, _longest_step = 0.03, 1.5  # in ln of a parameter
_growth, _shrink = 1.8, 0.3
_most_tries, _most_failures = 12, 3
_tolerance, _most_steps = 1e-5, 30


def equivalent_soils(best: Descent, resolution: Resolution) -> Floats:
    """The outermost soils whose misfit is still within the noise, two for each parameter.

    Rows of ln(resistivity) of each layer, then ln(thickness). The resolution sets the noise
    and the first steps.

    Notes
    -----
    One parameter is led away from its best value, all others are fitted again at each
    step, until the misfit exceeds that of the best soil by the squared 95 % quantile of
    the noise (profile of the likelihood). A thin layer known only by the product of
    thickness and resistivity, or not seen at all, shows as a wide range here: the walk follows
    the valley, where the error analysis at one point does not.
    """
    allowed = best.cost + (resolution.quantile * resolution.noise) ** 2
    found = [
        end
        for parameter in range(len(best.logarithms))
        for sign in (-1.0, 1.0)
        if (end := _walk(best, resolution, parameter, sign, allowed)) is not None
    ]
    return np.array(found).reshape(-1, len(best.logarithms))


def _walk(
    best: Descent, resolution: Resolution, parameter: int, sign: float, allowed: float
) -> Floats | None:
    """The last soil within the noise when one parameter is led one way; None if none is."""
    low, high = best.target.bounds((len(best.logarithms) + 1) // 2)
    edge = high[parameter] if sign > 0 else low[parameter]
    variance = resolution.covariance[parameter, parameter]
    tangent = resolution.covariance[parameter] / variance
    step = float(np.clip(np.sqrt(variance), _first_step, _longest_step))
    here, last, failures = best.logarithms, None, 0
    for _ in range(_most_tries):
        reach = min(step, sign * (edge - here[parameter]))
        if reach <= 0:
            break
        ahead = np.clip(here + sign * reach * tangent, low, high)
        ahead[parameter] = here[parameter] + sign * reach
        soil, _ = descend(
            best.target,
            ahead,
            loss=best.loss,
            fixed=parameter,
            tolerance=_tolerance,
            most_steps=_most_steps,
        )
        if float(best.loss.cost(best.target.residuals(soil[None])[0])) <= allowed:
            tangent = (soil - here) / (soil[parameter] - here[parameter])
            here = last = soil
            # After a failure the end is near: no longer steps.
            step = step * _growth if failures == 0 else reach
        else:
            failures += 1
            step = reach * _shrink
            if failures == _most_failures:
                break
    return last
