"""Spacings for a four-pin survey that is to serve an electrode."""

import numpy as np

_shortest = 0.5  # m
_round = (1.0, 1.5, 2.0, 3.0, 5.0, 7.0)  # of each decade, about even in their logarithm
_fewest = 8


def survey_spacings(extent: float, *, unit: float = 1.0) -> tuple[float, ...]:
    """Spacings between neighbouring pins, from half a metre to beyond the electrode. [m]

    Parameters
    ----------
    extent : float
        Largest dimension of the electrode, > 0. [m]
    unit : float, default 1
        In which they are round numbers. [m]

    Notes
    -----
    A survey sees to about its longest spacing, and an electrode to about its largest
    dimension: the last spacing is the first one not below that, and there are eight at least.
    Each is one and a half times the one before or so, that no layer falls between two.
    """
    decades = np.outer(10.0 ** np.arange(-2, 6), _round).ravel() * unit
    possible = decades[decades >= _shortest * (1 - 1e-9)]
    count = int(np.searchsorted(possible, extent * (1 - 1e-9))) + 1
    return tuple(float(f"{value:.6g}") for value in possible[: max(count, _fewest)])
