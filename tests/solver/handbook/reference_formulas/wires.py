"""Resistance of bent wires and stars of wires.

Both are mean potentials of a conductor that feeds its current evenly into the soil. The metal
is at one potential instead, which lowers R: 0.8 % for a bend, 1.9, 3.5, 6.7 and 9.6 % for stars
of 3, 4, 6 and 8 arms at depth 0.06 arm lengths (computed independently, method of moments).
"""

from math import log, pi

from ohmscape.solver.handbook.checks import require_positive
from ohmscape.solver.handbook.wires import require_thin

from .checks import require_one_of

# Constant and coefficients of x, x^2, x^4 with x = 2 depth / arm length, Dwight 1936 as in
# IEEE Std 142-1991 Table 13 (from memory where two transcriptions differ).
_BEND = (-0.2373, 0.2146, 0.1035, -0.0424)
_STAR = {
    3: (1.071, -0.209, 0.238, -0.054),
    4: (2.912, -1.071, 0.645, -0.145),
    6: (6.851, -3.128, 1.758, -0.490),
    8: (10.98, -5.51, 3.26, -1.17),
}


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
    require_thin(where, length=arm_length, radius=radius, depth=depth, deepest=0.4)
