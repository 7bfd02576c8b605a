"""Distances between four pins in a line, and what uniform soil gives for them."""

import numpy as np

from ..model import Floats

# Sign with which each pair of pins counts: first and last pin carry the current, the voltage
# is that of the second pin over the third.
PAIR_SIGN = np.array([1.0, -1.0, -1.0, 1.0])


def pair_distances(pins: Floats) -> Floats:
    """Distances between current and potential pins, in the order of `PAIR_SIGN`.

    Parameters
    ----------
    pins : ndarray of float, shape (n, 4)
        Positions of current pin, potential pin, potential pin, current pin. [m]

    Returns
    -------
    distance : ndarray of float, shape (n, 4)
        First current pin to first and second potential pin, then the last current pin. [m]
    """
    return np.abs(pins[:, [0, 0, 3, 3]] - pins[:, [1, 2, 1, 2]])


def half_space_coefficients(pins: Floats, *, pin_depth: Floats) -> Floats:
    r"""Resistance over resistivity of each layout in uniform soil.

    Parameters
    ----------
    pins : ndarray of float, shape (n, 4)
        Positions of current pin, potential pin, potential pin, current pin. [m]
    pin_depth : ndarray of float, shape (n,)
        Depth of the pins, taken as points. [m]

    Returns
    -------
    coefficient : ndarray of float, shape (n,)
        [1/m]

    Notes
    -----
    A point at depth d and its image above the surface, at distance r:

    .. math:: \frac{V}{\rho I} = \sum \pm \frac{1}{4 \pi}
              \left(\frac{1}{r} + \frac{1}{\sqrt{r^2 + 4 d^2}}\right)

    For four pins at equal distances a it is the exact formula of F. Wenner, "A method of
    measuring earth resistivity", Bull. Bureau of Standards 12, 1915 (from memory), with
    the limit 1 / (2 π a) for d = 0.
    """
    r, d = pair_distances(pins), pin_depth[:, None]
    potential = (1.0 / r + 1.0 / np.sqrt(r**2 + 4 * d**2)) / (4 * np.pi)
    return potential @ PAIR_SIGN
