"""Handbook resistance of horizontal wires and strips: straight, bent, stars, rings.

All are mean potentials of a conductor that feeds its current evenly into the soil. The metal
is at one potential instead, which lowers R: 0.8 % for a straight wire or a bend, 1.9, 3.5, 6.7
and 9.6 % for stars of 3, 4, 6 and 8 arms at depth 0.06 arm lengths, hardly at all for a ring
(computed independently, method of moments).
"""

from math import log, pi

from .checks import SLENDER, SLENDER_REASON, require_one_of, require_positive, require_range

_SHALLOW = "the formula takes the mirror image in the surface as a line"

# Constant and coefficients of x, x^2, x^4 with x = 2 depth / arm length, Dwight 1936 as in
# IEEE Std 142-1991 Table 13 (from memory where two transcriptions differ).
_BEND = (-0.2373, 0.2146, 0.1035, -0.0424)
_STAR = {
    3: (1.071, -0.209, 0.238, -0.054),
    4: (2.912, -1.071, 0.645, -0.145),
    6: (6.851, -3.128, 1.758, -0.490),
    8: (10.98, -5.51, 3.26, -1.17),
}


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
    _require_thin(where, length=length / 2, radius=radius, depth=depth)
    half = length / 2
    return resistivity / (4 * pi * half) * (log(4 * half / radius) - 1 + _image(depth / half))


def right_angle_resistance(
    *, resistivity: float, arm_length: float, radius: float, depth: float
) -> float:
    r"""Resistance to remote earth of a horizontal wire bent to a right angle in its middle.

    Parameters
    ----------
    resistivity : float
        Resistivity of the uniform soil, > 0. [Ω·m]
    arm_length : float
        Length of each of the two arms, at least 10 radii. [m]
    radius : float
        Radius of the wire, > 0. [m]
    depth : float
        Depth of the axis, at least 5 radii, at most 0.4 arm lengths. [m]

    Returns
    -------
    resistance : float
        [Ω]

    Raises
    ------
    CaseError
        If a value is not positive and finite, an arm is not slender, or the depth is
        outside its bounds.

    Notes
    -----
    With arm length L, s = 2 depth and x = s/L:

    .. math:: R = \frac{\rho}{4 \pi L} \left(\ln \frac{2L}{a} + \ln \frac{2L}{s}
              - 0.2373 + 0.2146 x + 0.1035 x^2 - 0.0424 x^4\right)

    References
    ----------
    .. [1] H. B. Dwight, "Calculation of resistances to ground", AIEE Trans. 55(12), 1936,
       pp. 1319-1328, as in IEEE Std 142-1991 Table 13; 2L in the logarithms and the last
       sign from memory, both confirmed by integration (test_closed_forms_wires.py).

    Examples
    --------
    >>> r = right_angle_resistance(resistivity=100.0, arm_length=10.0, radius=0.005, depth=0.6)
    >>> round(r, 4)
    8.6719
    """
    where = "right_angle_resistance"
    _require_arms(
        where, resistivity=resistivity, arm_length=arm_length, radius=radius, depth=depth
    )
    bracket = _arms(_BEND, arm_length=arm_length, radius=radius, depth=depth)
    return resistivity / (4 * pi * arm_length) * bracket


def star_resistance(
    *, resistivity: float, arm_count: int, arm_length: float, radius: float, depth: float
) -> float:
    r"""Resistance to remote earth of equal horizontal arms from one point, evenly spread.

    Parameters
    ----------
    resistivity : float
        Resistivity of the uniform soil, > 0. [Ω·m]
    arm_count : int
        3, 4, 6 or 8.
    arm_length : float
        Length of each arm, at least 10 radii. [m]
    radius : float
        Radius of the wire, > 0. [m]
    depth : float
        Depth of the axis, at least 5 radii, at most 0.4 arm lengths. [m]

    Returns
    -------
    resistance : float
        [Ω]

    Raises
    ------
    CaseError
        If a value is not positive and finite, the handbook has no such star, an arm is not
        slender, or the depth is outside its bounds.

    Notes
    -----
    With n arms of length L, s = 2 depth and x = s/L:

    .. math:: R = \frac{\rho}{2 n \pi L} \left(\ln \frac{2L}{a} + \ln \frac{2L}{s}
              + c_0 + c_1 x + c_2 x^2 + c_4 x^4\right)

    Up to the depth allowed the polynomial is within 1 % of the even-feed integral; the
    equipotential star is lower still, see the top of this module.

    References
    ----------
    .. [1] H. B. Dwight, "Calculation of resistances to ground", AIEE Trans. 55(12), 1936,
       pp. 1319-1328, as in IEEE Std 142-1991 Table 13; 2L in the logarithms and the last
       signs from memory, confirmed by integration (test_closed_forms_wires.py).

    Examples
    --------
    >>> r = star_resistance(
    ...     resistivity=100.0, arm_count=4, arm_length=10.0, radius=0.005, depth=0.6)
    >>> round(r, 4)
    5.5307
    """
    where = "star_resistance"
    require_one_of(where, arm_count, name="arm_count", allowed=_STAR)
    _require_arms(
        where, resistivity=resistivity, arm_length=arm_length, radius=radius, depth=depth
    )
    bracket = _arms(_STAR[arm_count], arm_length=arm_length, radius=radius, depth=depth)
    return resistivity / (2 * arm_count * pi * arm_length) * bracket


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
    _require_thin(where, length=diameter / 2, radius=radius, depth=depth, deepest=0.5)
    bracket = log(4 * diameter / radius) + log(2 * diameter / depth)
    return resistivity / (2 * pi**2 * diameter) * bracket


def _image(depth_ratio: float) -> float:
    """Bracket of the mirror image of a straight wire; depth over half length."""
    x = 2 * depth_ratio
    return log(4 / x) - 1 + x / 2 - x**2 / 16 + x**4 / 512


def _arms(
    coefficients: tuple[float, float, float, float],
    *,
    arm_length: float,
    radius: float,
    depth: float,
) -> float:
    """Bracket of Dwight's bends and stars."""
    x = 2 * depth / arm_length
    c0, c1, c2, c4 = coefficients
    polynomial = c0 + c1 * x + c2 * x**2 + c4 * x**4
    return log(2 * arm_length / radius) + log(2 / x) + polynomial


def _require_arms(
    where: str, *, resistivity: float, arm_length: float, radius: float, depth: float
) -> None:
    """Refuse arms for which Dwight's polynomials were not made."""
    require_positive(
        where, resistivity=resistivity, arm_length=arm_length, radius=radius, depth=depth
    )
    # Against the integral the polynomial of eight arms is 1 % low at x = 0.8, 3 % at x = 1.
    _require_thin(where, length=arm_length, radius=radius, depth=depth, deepest=0.4)


def _require_thin(
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
