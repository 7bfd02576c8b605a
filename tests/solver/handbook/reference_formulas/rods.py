"""Two equal rods, and a rod in concrete or backfill."""

from math import log, pi

from ohmscape.solver.handbook.checks import (
    SLENDER,
    SLENDER_REASON,
    require_positive,
    require_range,
)


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
