"""Exact resistance of hemispheres, half spheroids and a deep sphere."""

from math import acosh, atan2, atanh, log, pi, sinh, sqrt

import numpy as np

from ohmscape.solver.handbook.checks import require_positive, require_range


def hemisphere_resistance(*, resistivity: float, radius: float) -> float:
    r"""Resistance to remote earth of a hemisphere flush with the surface (exact).

    Parameters
    ----------
    resistivity : float
        Resistivity of the uniform soil, > 0. [Ω·m]
    radius : float
        Radius of the hemisphere, > 0. [m]

    Returns
    -------
    resistance : float
        [Ω]

    Raises
    ------
    CaseError
        If a value is not positive and finite.

    Notes
    -----
    .. math:: R = \frac{\rho}{2 \pi a}

    References
    ----------
    .. [1] Any textbook: Ohm's law over hemispherical shells.

    Examples
    --------
    >>> round(hemisphere_resistance(resistivity=100.0, radius=0.5), 4)
    31.831
    """
    require_positive("hemisphere_resistance", resistivity=resistivity, radius=radius)
    return resistivity / (2 * pi * radius)


def backfilled_hemisphere_resistance(
    *, resistivity: float, radius: float, backfill_resistivity: float, backfill_radius: float
) -> float:
    r"""Resistance to remote earth of a hemisphere in a shell of other soil (exact).

    Parameters
    ----------
    resistivity : float
        Resistivity of the soil outside, > 0. [Ω·m]
    radius : float
        Radius of the metal, > 0. [m]
    backfill_resistivity : float
        Resistivity between metal and soil, > 0. [Ω·m]
    backfill_radius : float
        Outer radius of the shell, at least `radius`. [m]

    Returns
    -------
    resistance : float
        [Ω]

    Raises
    ------
    CaseError
        If a value is not positive and finite, or the shell ends inside the metal.

    Notes
    -----
    .. math:: R = \frac{\rho_b}{2 \pi} \left(\frac{1}{a} - \frac{1}{b}\right)
              + \frac{\rho}{2 \pi b}

    References
    ----------
    .. [1] Any textbook: hemispherical shells in series.

    Examples
    --------
    >>> r = backfilled_hemisphere_resistance(
    ...     resistivity=100.0, radius=0.2, backfill_resistivity=20.0, backfill_radius=0.6)
    >>> round(r, 4)
    37.1362
    """
    where = "backfilled_hemisphere_resistance"
    require_positive(
        where,
        resistivity=resistivity,
        radius=radius,
        backfill_resistivity=backfill_resistivity,
        backfill_radius=backfill_radius,
    )
    require_range(
        where,
        backfill_radius / radius,
        name="backfill_radius / radius",
        low=1.0,
        why="the backfill lies around the metal",
    )
    shell = backfill_resistivity * (1 / radius - 1 / backfill_radius)
    return (shell + resistivity / backfill_radius) / (2 * pi)


def half_spheroid_resistance(*, resistivity: float, radius: float, depth: float) -> float:
    r"""Resistance to remote earth of half a spheroid, its mid-plane at the surface (exact).

    Parameters
    ----------
    resistivity : float
        Resistivity of the uniform soil, > 0. [Ω·m]
    radius : float
        Radius of its circle at the surface, > 0. [m]
    depth : float
        Depth of its lowest point, > 0; longer than `radius` it is prolate (a rod without
        edges), shorter oblate (a dish). [m]

    Returns
    -------
    resistance : float
        [Ω]

    Raises
    ------
    CaseError
        If a value is not positive and finite.

    Notes
    -----
    With radius a and depth c, prolate and oblate:

    .. math:: R = \frac{\rho}{2 \pi f} \operatorname{artanh} \frac{f}{c},
              \quad f = \sqrt{c^2 - a^2}; \qquad
              R = \frac{\rho}{2 \pi f} \arctan \frac{f}{c},
              \quad f = \sqrt{a^2 - c^2}

    Tends to the hemisphere for c → a and to the disc on the surface for c → 0.

    References
    ----------
    .. [1] Classical capacitance of spheroids, for example W. R. Smythe, *Static and Dynamic
       Electricity*, McGraw-Hill. From memory.

    Examples
    --------
    >>> round(half_spheroid_resistance(resistivity=100.0, radius=0.1, depth=2.0), 5)
    29.38695
    >>> round(half_spheroid_resistance(resistivity=100.0, radius=1.0, depth=0.3), 5)
    21.12364
    """
    require_positive(
        "half_spheroid_resistance", resistivity=resistivity, radius=radius, depth=depth
    )
    if depth == radius:
        return hemisphere_resistance(resistivity=resistivity, radius=radius)
    focal = sqrt(abs((depth - radius) * (depth + radius)))
    if depth > radius:
        # artanh(f / c) loses all digits for a slender body, where f / c rounds to 1
        angle = log((focal + depth) / radius) if radius < 0.1 * depth else atanh(focal / depth)
    else:
        angle = atan2(focal, depth)
    return resistivity / (2 * pi * focal) * angle


def deep_sphere_resistance(*, resistivity: float, radius: float, depth: float) -> float:
    r"""Resistance to remote earth of a buried sphere (exact).

    Parameters
    ----------
    resistivity : float
        Resistivity of the uniform soil, > 0. [Ω·m]
    radius : float
        Radius of the sphere, > 0. [m]
    depth : float
        Depth of its centre, at least 1.0001 radii. [m]

    Returns
    -------
    resistance : float
        [Ω]

    Raises
    ------
    CaseError
        If a value is not positive and finite, or the sphere breaks the surface.

    Notes
    -----
    The sphere and its mirror image are two spheres at one potential. Kelvin's images give,
    with centre depth c and :math:`\cosh \beta = c / a`,

    .. math:: \frac{1}{R} = \frac{4 \pi a}{\rho} \sinh \beta
              \sum_{n=1}^{\infty} \frac{(-1)^{n+1}}{\sinh n \beta}

    For great depth it tends to the handbooks' :math:`\rho (1 + a / 2c) / 4 \pi a`; for
    c → a to :math:`\rho / (4 \pi a \ln 2)`.

    References
    ----------
    .. [1] Two equal spheres at one potential, for example W. R. Smythe, *Static and Dynamic
       Electricity*, McGraw-Hill. From memory.

    Examples
    --------
    >>> round(deep_sphere_resistance(resistivity=100.0, radius=0.25, depth=1.0), 4)
    35.802
    """
    where = "deep_sphere_resistance"
    require_positive(where, resistivity=resistivity, radius=radius, depth=depth)
    require_range(
        where,
        depth / radius,
        name="depth / radius",
        low=1.0001,
        why="the sphere lies below the surface",
    )
    beta = acosh(depth / radius)
    # Terms fall as exp(-n beta); the last one is below 1e-17 of the first.
    n = np.arange(1, 2 + int(40 / beta))
    decay = np.exp(-n * beta)
    terms = 2 * decay / (1 - decay**2)
    total = float(np.sum(np.where(n % 2 == 1, terms, -terms)))
    return resistivity / (4 * pi * radius * sinh(beta) * total)
