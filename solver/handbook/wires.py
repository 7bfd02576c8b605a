"""Handbook resistance of horizontal wires: straight and as a ring.

Both are mean potentials of a conductor that feeds its current evenly into the soil. The metal
is at one potential instead, which lowers R: 0.8 % for a straight wire, hardly at all for a ring
(computed independently, method of moments).
"""

from math import log, pi

from .checks import SLENDER, SLENDER_REASON, require_positive, require_range

_SHALLOW = "the formula takes the mirror image in the surface as a line"


def buried_wire_resistance(
    *, resistivity: float, length: float, radius: float, depth: float
) -> float:
    r"""Resistance to remote earth of a straight horizontal wire.

    Parameters
    ----------
    resistivity : float
        Resistivity of the uniform soil, > 0. [Ω·m]
    length : float
        Whole length of the wire, at least 20 radii. [m]
    radius : float
        Radius of the wire, > 0. [m]
    depth : float
        Depth of the axis, at least 5 radii, at most half the length. [m]

    Returns
    -------
    resistance : float
        [Ω]

    Raises
    ------
    CaseError
        If a value is not positive and finite, the wire is not slender, or the depth is
        outside its bounds.

    Notes
    -----
    With half length L and s = 2 depth:

    .. math:: R = \frac{\rho}{4 \pi L} \left(\ln \frac{4L}{a} + \ln \frac{4L}{s} - 2
              + \frac{s}{2L} - \frac{s^2}{16 L^2} + \frac{s^4}{512 L^4}\right)

    References
    ----------
    .. [1] H. B. Dwight, "Calculation of resistances to ground", AIEE Trans. 55(12), 1936,
       pp. 1319-1328, as in IEEE Std 142-1991 Table 13, read in a transcription;
       title and pages from memory.

    Examples
    --------
    >>> r = buried_wire_resistance(resistivity=100.0, length=20.0, radius=0.005, depth=0.6)
    >>> round(r, 4)
    8.3977
    """
    where = "buried_wire_resistance"
    require_positive(where, resistivity=resistivity, length=length, radius=radius, depth=depth)
    require_thin(where, length=length / 2, radius=radius, depth=depth)
    half = length / 2
    return resistivity / (4 * pi * half) * (log(4 * half / radius) - 1 + _image(depth / half))


def ring_resistance(
    *, resistivity: float, diameter: float, radius: float, depth: float
) -> float:
    r"""Resistance to remote earth of a horizontal ring of wire.

    Parameters
    ----------
    resistivity : float
        Resistivity of the uniform soil, > 0. [Ω·m]
    diameter : float
        Diameter of the ring between the wire's axes, at least 20 wire radii. [m]
    radius : float
        Radius of the wire, > 0. [m]
    depth : float
        Depth of the axis, at least 5 radii, at most a quarter of `diameter`. [m]

    Returns
    -------
    resistance : float
        [Ω]

    Raises
    ------
    CaseError
        If a value is not positive and finite, the wire is not slender, or the depth is
        outside its bounds.

    Notes
    -----
    With ring diameter D, wire diameter d and s = 2 depth:

    .. math:: R = \frac{\rho}{2 \pi^2 D} \left(\ln \frac{8D}{d} + \ln \frac{4D}{s}\right)

    The second logarithm is the leading part of an elliptic integral; at the greatest depth
    allowed it is 0.06 too high, below 1 % of the bracket of an ordinary wire.

    References
    ----------
    .. [1] H. B. Dwight, "Calculation of resistances to ground", AIEE Trans. 55(12), 1936,
       pp. 1319-1328, as in IEEE Std 142-1991 Table 13, read in a transcription;
       title and pages from memory.

    Examples
    --------
    >>> r = ring_resistance(resistivity=100.0, diameter=10.0, radius=0.005, depth=0.75)
    >>> round(r, 4)
    6.2164
    """
    where = "ring_resistance"
    require_positive(
        where, resistivity=resistivity, diameter=diameter, radius=radius, depth=depth
    )
    require_thin(where, length=diameter / 2, radius=radius, depth=depth, deepest=0.5)
    bracket = log(4 * diameter / radius) + log(2 * diameter / depth)
    return resistivity / (2 * pi**2 * diameter) * bracket


def _image(depth_ratio: float) -> float:
    """Bracket of the mirror image of a straight wire; depth over half length."""
    x = 2 * depth_ratio
    return log(4 / x) - 1 + x / 2 - x**2 / 16 + x**4 / 512


def require_thin(
    where: str, *, length: float, radius: float, depth: float, deepest: float = 1.0
) -> None:
    """Refuse stubby wires and depths outside the series; `length` is what L is in them."""
    require_range(where, length / radius, name="L / radius", low=SLENDER, why=SLENDER_REASON)
    require_range(where, depth / radius, name="depth / radius", low=5.0, why=_SHALLOW)
    require_range(
        where,
        depth / length,
        name="depth / L",
        high=deepest,
        why="the series in depth is not good enough below that",
    )
