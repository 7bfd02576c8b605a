"""Handbook potential of the soil surface around rods and spheroids; touch and step.

All voltages are prospective: what a high-resistance voltmeter would show with nobody there.
"""

from math import pi

import numpy as np
import numpy.typing as npt

from ohmscape.solver.errors import CaseError, Problem
from ohmscape.solver.handbook import driven_rod_resistance
from ohmscape.solver.handbook.checks import require_positive
from ohmscape.solver.model import Floats

from .checks import require_all_positive


def driven_rod_surface_potential(
    distance: npt.ArrayLike, *, resistivity: float, length: float, current: float
) -> Floats:
    r"""Potential of the soil surface around a vertical rod, relative to remote earth.

    Parameters
    ----------
    distance : array_like of float
        Horizontal distance from the rod's axis, > 0. [m]
    resistivity : float
        Resistivity of the uniform soil, > 0. [Ω·m]
    length : float
        Length of the rod from the surface down, > 0. [m]
    current : float
        Current from the rod into the soil. [A]

    Returns
    -------
    potential : ndarray of float, shape of `distance`
        [V]

    Raises
    ------
    CaseError
        If a distance, `resistivity` or `length` is not positive and finite.

    Notes
    -----
    Assumes that the rod feeds its current evenly into the soil:

    .. math:: V(r) = \frac{\rho I}{2 \pi L} \operatorname{arsinh} \frac{L}{r}

    Near the rod it is too high (3 m of 16 mm rod: 2.6 % at 1 m, 0.4 % at 5 m, computed
    independently). Far out it tends to :math:`\rho I / 2 \pi r`.

    References
    ----------
    .. [1] E. D. Sunde, *Earth Conduction Effects in Transmission Systems*, Van Nostrand,
       1949. From memory; also the integral of a point source over the rod.

    Examples
    --------
    >>> v = driven_rod_surface_potential(
    ...     [1.0, 5.0], resistivity=100.0, length=3.0, current=1.0)
    >>> v.round(4).tolist()
    [9.6472, 3.0177]
    """
    where = "driven_rod_surface_potential"
    r = np.asarray(distance, dtype=float)
    require_positive(where, resistivity=resistivity, length=length)
    require_all_positive(where, distance=r)
    return np.asarray(resistivity * current / (2 * pi * length) * np.arcsinh(length / r))


def driven_rod_touch_voltage(
    distance: npt.ArrayLike,
    *,
    resistivity: float,
    length: float,
    radius: float,
    current: float,
) -> Floats:
    r"""Voltage between a vertical rod and the soil surface at a distance from it.

    Parameters
    ----------
    distance : array_like of float
        Horizontal distance from the rod's axis, at least `radius`; 1 m is the usual
        reach. [m]
    resistivity : float
        Resistivity of the uniform soil, > 0. [Ω·m]
    length : float
        Length of the rod from the surface down, at least 10 radii. [m]
    radius : float
        Radius of the rod, > 0. [m]
    current : float
        Current from the rod into the soil. [A]

    Returns
    -------
    voltage : ndarray of float, shape of `distance`
        Rod minus soil. [V]

    Raises
    ------
    CaseError
        If a value is not positive and finite, the rod is not slender, or a distance lies
        inside the rod.

    Notes
    -----
    Rise of the rod, `driven_rod_resistance` times current, less
    `driven_rod_surface_potential`. Both assume an even feed; at the rod itself the
    difference does not vanish, as a metal surface at one potential would ask.

    References
    ----------
    .. [1] As the two formulas; MIL-HDBK-419A vol. I Table 2-7 tabulates the ratio.

    Examples
    --------
    >>> v = driven_rod_touch_voltage(
    ...     1.0, resistivity=100.0, length=3.0, radius=0.008, current=1.0)
    >>> round(float(v), 3)
    23.846
    """
    r = np.asarray(distance, dtype=float)
    resistance = driven_rod_resistance(resistivity=resistivity, length=length, radius=radius)
    soil = driven_rod_surface_potential(
        r, resistivity=resistivity, length=length, current=current
    )
    _require_outside("driven_rod_touch_voltage", r, radius=radius)
    return np.asarray(resistance * current - soil)


def driven_rod_step_voltage(
    distance: npt.ArrayLike,
    *,
    pace: float = 1.0,
    resistivity: float,
    length: float,
    current: float,
) -> Floats:
    """Voltage between two feet on a line through a vertical rod.

    Parameters
    ----------
    distance : array_like of float
        Horizontal distance from the rod's axis to the nearer foot, > 0. [m]
    pace : float
        Distance between the feet, > 0. [m]
    resistivity : float
        Resistivity of the uniform soil, > 0. [Ω·m]
    length : float
        Length of the rod from the surface down, > 0. [m]
    current : float
        Current from the rod into the soil. [A]

    Returns
    -------
    voltage : ndarray of float, shape of `distance`
        Nearer minus farther foot. [V]

    Raises
    ------
    CaseError
        If a distance, `pace`, `resistivity` or `length` is not positive and finite.

    Notes
    -----
    Difference of `driven_rod_surface_potential`; the worst direction is the radial one.

    References
    ----------
    .. [1] As `driven_rod_surface_potential`.

    Examples
    --------
    >>> v = driven_rod_step_voltage(1.0, resistivity=100.0, length=3.0, current=1.0)
    >>> round(float(v), 3)
    3.309
    """
    require_positive("driven_rod_step_voltage", pace=pace)
    r = np.asarray(distance, dtype=float)
    near, far = (
        driven_rod_surface_potential(
            foot, resistivity=resistivity, length=length, current=current
        )
        for foot in (r, r + pace)
    )
    return near - far


def half_spheroid_surface_potential(
    distance: npt.ArrayLike, *, resistivity: float, radius: float, depth: float, current: float
) -> Floats:
    r"""Potential of the soil surface around half a spheroid or a hemisphere (exact).

    Parameters
    ----------
    distance : array_like of float
        Horizontal distance from the axis, at least `radius`. [m]
    resistivity : float
        Resistivity of the uniform soil, > 0. [Ω·m]
    radius : float
        Radius of its circle at the surface, > 0. [m]
    depth : float
        Depth of its lowest point, > 0; a hemisphere where it equals `radius`. [m]
    current : float
        Current into the soil. [A]

    Returns
    -------
    potential : ndarray of float, shape of `distance`
        Relative to remote earth. [V]

    Raises
    ------
    CaseError
        If a value is not positive and finite, or a distance lies inside the metal.

    Notes
    -----
    Equipotentials are confocal. With :math:`f^2 = |c^2 - a^2|`, prolate, sphere, oblate:

    .. math:: \frac{2 \pi V}{\rho I} = \frac{1}{f} \operatorname{arsinh} \frac{f}{r},
              \quad \frac{1}{r}, \quad \frac{1}{f} \arcsin \frac{f}{r}

    The prolate one is the rod's formula with the focal depth as length.

    References
    ----------
    .. [1] Classical, for example W. R. Smythe, *Static and Dynamic Electricity*,
       McGraw-Hill. From memory.

    Examples
    --------
    >>> v = half_spheroid_surface_potential(
    ...     1.5, resistivity=100.0, radius=0.5, depth=0.5, current=10.0)
    >>> round(float(v), 3)
    106.103
    """
    where = "half_spheroid_surface_potential"
    r = np.asarray(distance, dtype=float)
    require_positive(where, resistivity=resistivity, radius=radius, depth=depth)
    require_all_positive(where, distance=r)
    _require_outside(where, r, radius=radius)
    focal = np.sqrt(abs((depth - radius) * (depth + radius)))
    if depth == radius:
        shape = 1 / r
    elif depth > radius:
        shape = np.arcsinh(focal / r) / focal
    else:
        shape = np.arcsin(focal / r) / focal
    return np.asarray(resistivity * current / (2 * pi) * shape)


def _require_outside(where: str, distance: Floats, *, radius: float) -> None:
    """Refuse distances that lie inside the metal."""
    nearest = float(np.min(distance, initial=np.inf))
    if nearest < radius:
        problem = Problem(
            f"got {nearest:g}; must be at least the radius of the metal, {radius:g}",
            path=f"{where}: distance",
        )
        raise CaseError([problem])
