"""Handbook resistance of vertical rods: one, two, in a top layer, in concrete or backfill."""

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


def rod_pair_resistance(
    *, resistivity: float, length: float, radius: float, spacing: float
) -> float:
    r"""Resistance to remote earth of two equal bonded rods, tops at the surface.

    Parameters
    ----------
    resistivity : float
        Resistivity of the uniform soil, > 0. [Ω·m]
    length : float
        Length of each rod, at least 10 radii. [m]
    radius : float
        Radius of each rod, > 0. [m]
    spacing : float
        Distance between the axes, at least 10 radii. [m]

    Returns
    -------
    resistance : float
        [Ω]

    Raises
    ------
    CaseError
        If a value is not positive and finite, a rod is not slender, or the rods nearly touch.

    Notes
    -----
    Two series for one integral, evenly fed; below two lengths apart

    .. math:: R = \frac{\rho}{4 \pi L} \left(\ln \frac{4L}{a} + \ln \frac{4L}{s} - 2
              + \frac{s}{2L} - \frac{s^2}{16 L^2} + \frac{s^4}{512 L^4}\right)

    and from there on

    .. math:: R = \frac{\rho}{4 \pi L} \left(\ln \frac{4L}{a} - 1\right)
              + \frac{\rho}{4 \pi s} \left(1 - \frac{L^2}{3 s^2} + \frac{2 L^4}{5 s^4}\right)

    The handbooks change over at s = L. We believe that is too early: the second series
    converges only for s > 2L and is 3.4 % high at s = L, the first is within 0.2 % of R at
    s = 2L. Metal at one potential comes out some 1 % lower.

    References
    ----------
    .. [1] H. B. Dwight, "Calculation of resistances to ground", AIEE Trans. 55(12), 1936,
       pp. 1319-1328, as in IEEE Std 142-1991 Table 13. From memory.

    Examples
    --------
    >>> pair = rod_pair_resistance(resistivity=100.0, length=3.0, radius=0.008, spacing=6.0)
    >>> round(pair, 4)
    17.9953
    """
    where = "rod_pair_resistance"
    require_positive(
        where, resistivity=resistivity, length=length, radius=radius, spacing=spacing
    )
    require_range(
        where, length / radius, name="length / radius", low=SLENDER, why=SLENDER_REASON
    )
    require_range(
        where,
        spacing / radius,
        name="spacing / radius",
        low=10.0,
        why="the formula takes each rod as a line seen from the other",
    )
    own = log(4 * length / radius) - 1
    x = spacing / length
    if x < 2.0:
        other = log(4 / x) - 1 + x / 2 - x**2 / 16 + x**4 / 512
    else:
        other = (1 - 1 / (3 * x**2) + 2 / (5 * x**4)) / x
    return resistivity / (4 * pi * length) * (own + other)


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


def encased_rod_resistance(
    *,
    resistivity: float,
    length: float,
    radius: float,
    casing_resistivity: float,
    casing_radius: float,
) -> float:
    r"""Resistance to remote earth of a rod in a cylinder of concrete or backfill.

    Parameters
    ----------
    resistivity : float
        Resistivity of the uniform soil, > 0. [Ω·m]
    length : float
        Length of rod and casing, at least 10 times `casing_radius`. [m]
    radius : float
        Radius of the rod, > 0. [m]
    casing_resistivity : float
        Resistivity of concrete or backfill, > 0. [Ω·m]
    casing_radius : float
        Outer radius of the casing, at least `radius`. [m]

    Returns
    -------
    resistance : float
        [Ω]

    Raises
    ------
    CaseError
        If a value is not positive and finite, the casing is not slender or thinner than
        the rod.

    Notes
    -----
    .. math:: R = \frac{1}{2 \pi L} \left(\rho_c \ln \frac{b}{a}
              + \rho \left(\ln \frac{4L}{b} - 1\right)\right)

    With cover below the tip R is 2 to 4 % lower (computed independently, boundary
    integral). Concrete dries, backfill shrinks: neither keeps its resistivity for years.

    References
    ----------
    .. [1] E. J. Fagan, R. H. Lee, "The use of concrete-enclosed reinforcing rods as
       grounding electrodes", IEEE Trans. Ind. Gen. Appl. IGA-6(4), 1970, pp. 337-348.
       From memory.

    Examples
    --------
    >>> r = encased_rod_resistance(
    ...     resistivity=100.0, length=3.0, radius=0.008, casing_resistivity=30.0,
    ...     casing_radius=0.15)
    >>> round(r, 4)
    22.6073
    """
    where = "encased_rod_resistance"
    require_positive(
        where,
        resistivity=resistivity,
        length=length,
        radius=radius,
        casing_resistivity=casing_resistivity,
        casing_radius=casing_radius,
    )
    require_range(
        where,
        casing_radius / radius,
        name="casing_radius / radius",
        low=1.0,
        why="the casing stands around the rod",
    )
    require_range(
        where,
        length / casing_radius,
        name="length / casing_radius",
        low=SLENDER,
        why=SLENDER_REASON,
    )
    casing = casing_resistivity * log(casing_radius / radius)
    soil = resistivity * (log(4 * length / casing_radius) - 1)
    return (casing + soil) / (2 * pi * length)
