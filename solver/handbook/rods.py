"""Handbook resistance of vertical rods: one, in uniform soil or in a top layer."""

from math import log, pi

import numpy as np

from .checks import SLENDER, SLENDER_REASON, require_positive, require_range


def driven_rod_resistance(*, resistivity: float, length: float, radius: float) -> float:
    r"""Resistance to remote earth of a vertical rod whose top is at the surface.

    Parameters
    ----------
    resistivity : float
        Resistivity of the uniform soil, > 0. [Ω·m]
    length : float
        Length in the soil, at least 10 radii. [m]
    radius : float
        Radius of the rod, > 0. [m]

    Returns
    -------
    resistance : float
        [Ω]

    Raises
    ------
    CaseError
        If a value is not positive and finite, or the rod is not slender.

    Notes
    -----
    Mean potential of a rod that feeds its current evenly into the soil:

    .. math:: R = \frac{\rho}{2 \pi L} \left(\ln \frac{4L}{a} - 1\right)

    The metal is at one potential instead, which lowers R: by 1.0 % for 8 ft of 5/8 in rod
    (computed independently, boundary integral).

    References
    ----------
    .. [1] H. B. Dwight, "Calculation of resistances to ground", AIEE Trans. 55(12), 1936,
       pp. 1319-1328, as in IEEE Std 142-1991 Table 13. From memory.

    Examples
    --------
    >>> round(driven_rod_resistance(resistivity=100.0, length=3.0, radius=0.008), 4)
    33.4927
    """
    where = "driven_rod_resistance"
    require_positive(where, resistivity=resistivity, length=length, radius=radius)
    require_range(
        where, length / radius, name="length / radius", low=SLENDER, why=SLENDER_REASON
    )
    return resistivity / (2 * pi * length) * (log(4 * length / radius) - 1)


def rod_in_upper_layer_resistance(
    *,
    upper_resistivity: float,
    lower_resistivity: float,
    thickness: float,
    length: float,
    radius: float,
) -> float:
    r"""Resistance to remote earth of a rod that ends inside the upper of two layers.

    Parameters
    ----------
    upper_resistivity, lower_resistivity : float
        Resistivity of the layers, > 0. [Ω·m]
    thickness : float
        Thickness of the upper layer. [m]
    length : float
        Length in the soil, at least 10 radii and at most `thickness`. [m]
    radius : float
        Radius of the rod, > 0. [m]

    Returns
    -------
    resistance : float
        [Ω]

    Raises
    ------
    CaseError
        If a value is not positive and finite, the rod is not slender, or it leaves the layer.

    Notes
    -----
    Images of an evenly fed rod; :math:`K = (\rho_2 - \rho_1) / (\rho_2 + \rho_1)`:

    .. math:: R = \frac{\rho_1}{2 \pi L} \left(\ln \frac{4L}{a} - 1
              + \sum_{n=1}^{\infty} K^n \ln \frac{2nh + L}{2nh - L}\right)

    Tends to the uniform formula for equal layers or a thick top layer.

    References
    ----------
    .. [1] G. F. Tagg, *Earth Resistances*, Newnes, 1964; E. D. Sunde, *Earth Conduction
       Effects in Transmission Systems*, Van Nostrand, 1949. From memory.

    Examples
    --------
    >>> r = rod_in_upper_layer_resistance(
    ...     upper_resistivity=100.0, lower_resistivity=20.0, thickness=5.0, length=3.0,
    ...     radius=0.008)
    >>> round(r, 3)
    31.804
    """
    where = "rod_in_upper_layer_resistance"
    require_positive(
        where,
        upper_resistivity=upper_resistivity,
        lower_resistivity=lower_resistivity,
        thickness=thickness,
        length=length,
        radius=radius,
    )
    require_range(
        where, length / radius, name="length / radius", low=SLENDER, why=SLENDER_REASON
    )
    require_range(
        where,
        length / thickness,
        name="length / thickness",
        high=1.0,
        why="the formula is for a rod that stays inside the upper layer",
    )
    total = upper_resistivity + lower_resistivity
    K = (lower_resistivity - upper_resistivity) / total
    # At high contrast K^n alone hardly decays. Its slow part, L/(nh), sums to
    # -(L/h) ln(1 - K); 1 - K is written without subtraction, for K near 1. What is left
    # falls as n^-3, so that 20000 terms leave less than 1e-9 for any contrast.
    half = length / (2 * thickness * np.arange(1, 20_001))
    remainder = float(np.sum(K ** np.arange(1, 20_001) * 2 * (np.arctanh(half) - half)))
    images = remainder - length / thickness * log(2 * upper_resistivity / total)
    own = log(4 * length / radius) - 1
    return upper_resistivity / (2 * pi * length) * (own + images)
