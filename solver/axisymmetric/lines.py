r"""Graded lines of a structured mesh: short steps at marked places, growing away from them.

The step wanted at x is the least over all marks of :math:`h_i + g |x - x_i|`, with
:math:`h_i` the step at mark i and g the growth. Between two marks the lines stand where
:math:`\int dx / h` passes equal values, which makes steps grow geometrically by about
:math:`e^g` and meets both marks exactly.
"""

from collections.abc import Mapping

import numpy as np

from ..model import Floats


def graded_lines(marks: Mapping[float, float], *, growth: float) -> Floats:
    """Increasing positions that hit every mark and grow away from each. [m]

    Marks map each place that must be hit to the step wanted there; `growth` is that of the
    step per distance.
    """
    place = np.array(sorted(marks))
    step = np.array([marks[x] for x in place])
    # A mark's step is felt by its neighbours too.
    step = (step[None, :] + growth * np.abs(place[:, None] - place[None, :])).min(axis=1)
    runs = [
        _between(low, high, first=first, last=last, growth=growth)
        for low, high, first, last in zip(
            place[:-1], place[1:], step[:-1], step[1:], strict=True
        )
    ]
    return np.concatenate([*runs, place[-1:]])


def _between(low: float, high: float, *, first: float, last: float, growth: float) -> Floats:
    """Lines from one mark up to, without, the next."""
    length = high - low
    # Where growth from both ends meets; it is inside since steps were limited by each other.
    peak = np.clip(0.5 * (length + (last - first) / growth), 0.0, length)
    rising = np.log1p(growth * peak / first) / growth
    falling = np.log1p(growth * (length - peak) / last) / growth
    count = max(1, int(np.ceil(rising + falling - 1e-9)))
    passed = (rising + falling) * np.arange(count) / count
    up = first * np.expm1(growth * passed) / growth
    down = last * np.expm1(growth * (rising + falling - passed)) / growth
    return low + np.where(passed <= rising, up, length - down)
