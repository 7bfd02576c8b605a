"""Handbook resistance of thin round plates: on the surface, buried flat, buried on edge."""

from math import pi

from ohmscape.solver.handbook.checks import require_positive, require_range

_PLATE_LIMIT = 1.2
_PLATE_REASON = "the series in radius / depth is already 0.34 % off at 1.2"


def surface_disc_resistance(*, resistivity: float, radius: float) -> float:
    r"""Resistance to remote earth of a thin round plate on the surface (exact).

    Parameters
    ----------
    resistivity : float
        Resistivity of the uniform soil, > 0. [Ω·m]
    radius : float
        Radius of the plate, > 0. [m]

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
    .. math:: R = \frac{\rho}{4 a}

    A plate so deep that the surface is not felt has half of it, as both faces feed the soil.

    References
    ----------
    .. [1] Any textbook: capacitance of a disc.

    Examples
    --------
    >>> surface_disc_resistance(resistivity=100.0, radius=1.0)
    25.0
    """
    require_positive("surface_disc_resistance", resistivity=resistivity, radius=radius)
    return resistivity / (4 * radius)


def horizontal_plate_resistance(*, resistivity: float, radius: float, depth: float) -> float:
    r"""Resistance to remote earth of a buried thin round plate that lies flat.

    Parameters
    ----------
    resistivity : float
        Resistivity of the uniform soil, > 0. [Ω·m]
    radius : float
        Radius of the plate, > 0. [m]
    depth : float
        Depth of the plate, at least 1.2 radii. [m]

    Returns
    -------
    resistance : float
        [Ω]

    Raises
    ------
    CaseError
        If a value is not positive and finite, or the plate is too shallow for the series.

    Notes
    -----
    With radius a and s = 2 depth:

    .. math:: R = \frac{\rho}{8a} + \frac{\rho}{4 \pi s}
              \left(1 - \frac{7 a^2}{12 s^2} + \frac{33 a^4}{40 s^4}\right)

    References
    ----------
    .. [1] H. B. Dwight, "Calculation of resistances to ground", AIEE Trans. 55(12), 1936,
       pp. 1319-1328, as in IEEE Std 142-1991 Table 13, read in a transcription;
       title and pages from memory.

    Examples
    --------
    >>> round(horizontal_plate_resistance(resistivity=100.0, radius=0.5, depth=1.0), 4)
    28.8466
    """
    where = "horizontal_plate_resistance"
    _require_plate(where, resistivity=resistivity, radius=radius, depth=depth)
    s = 2 * depth
    q = (radius / s) ** 2
    image = (1 - 7 / 12 * q + 33 / 40 * q**2) / (4 * pi * s)
    return resistivity * (1 / (8 * radius) + image)


def vertical_plate_resistance(*, resistivity: float, radius: float, depth: float) -> float:
    r"""Resistance to remote earth of a buried thin round plate that stands on edge.

    Parameters
    ----------
    resistivity : float
        Resistivity of the uniform soil, > 0. [Ω·m]
    radius : float
        Radius of the plate, > 0. [m]
    depth : float
        Depth of its centre, at least 1.2 radii. [m]

    Returns
    -------
    resistance : float
        [Ω]

    Raises
    ------
    CaseError
        If a value is not positive and finite, or the plate is too shallow for the series.

    Notes
    -----
    With radius a and s = 2 depth:

    .. math:: R = \frac{\rho}{8a} + \frac{\rho}{4 \pi s}
              \left(1 + \frac{7 a^2}{24 s^2} + \frac{99 a^4}{320 s^4}\right)

    References
    ----------
    .. [1] H. B. Dwight, "Calculation of resistances to ground", AIEE Trans. 55(12), 1936,
       pp. 1319-1328, as in IEEE Std 142-1991 Table 13, read in a transcription;
       title and pages from memory.

    Examples
    --------
    >>> round(vertical_plate_resistance(resistivity=100.0, radius=0.5, depth=1.0), 4)
    29.0562
    """
    where = "vertical_plate_resistance"
    _require_plate(where, resistivity=resistivity, radius=radius, depth=depth)
    s = 2 * depth
    q = (radius / s) ** 2
    image = (1 + 7 / 24 * q + 99 / 320 * q**2) / (4 * pi * s)
    return resistivity * (1 / (8 * radius) + image)


def _require_plate(where: str, *, resistivity: float, radius: float, depth: float) -> None:
    """Refuse plates that are too shallow for Dwight's series."""
    require_positive(where, resistivity=resistivity, radius=radius, depth=depth)
    require_range(
        where, depth / radius, name="depth / radius", low=_PLATE_LIMIT, why=_PLATE_REASON
    )
