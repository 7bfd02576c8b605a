"""Distances between four pins in a line, and what uniform soil gives for them."""

import numpy as np
import numpy.typing as npt

from ..model import Floats
from .checking import require_positive, spread

# Sign with which each pair of pins counts: first and last pin carry the current, the voltage
# is that of the second pin over the third.
PAIR_SIGN = np.array([1.0, -1.0, -1.0, 1.0])


def wenner_pins(spacing: npt.ArrayLike) -> Floats:
    """Places of four pins a spacing apart about a common centre, shape (n, 4). [m]

    `CaseError` if a spacing is not positive and finite.
    """
    a = np.atleast_1d(np.asarray(spacing, dtype=float))
    require_positive("spacing", a)
    return a[:, None] * np.array([-1.5, -0.5, 0.5, 1.5])


def schlumberger_pins(
    half_current_spacing: npt.ArrayLike, *, half_potential_spacing: npt.ArrayLike
) -> Floats:
    """Places of four pins, potential pins inside, about a common centre, shape (n, 4). [m]

    `CaseError` if the potential pins are not between the current pins.
    """
    outer = np.atleast_1d(np.asarray(half_current_spacing, dtype=float))
    inner = spread(half_potential_spacing, len(outer))
    require_positive("half potential spacing", inner)
    require_positive("half current spacing less half potential spacing", outer - inner)
    return np.column_stack([-outer, -inner, inner, outer])


def pair_distances(pins: Floats) -> Floats:
    """Distances between current and potential pins, in the order of `PAIR_SIGN`, (n, 4). [m]

    First current pin to first and second potential pin, then the last current pin.
    """
    return np.abs(pins[:, [0, 0, 3, 3]] - pins[:, [1, 2, 1, 2]])


def half_space_coefficients(pins: Floats, *, pin_depth: Floats) -> Floats:
    r"""Resistance over resistivity of each layout in uniform soil, pins as points. [1/m]

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
