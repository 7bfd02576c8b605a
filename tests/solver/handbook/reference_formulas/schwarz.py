"""Handbook resistance of a grid with rods by Schwarz.

For uniform soil; comes out 5 to 15 % above the field value (computed independently, method of
moments).
"""

from dataclasses import dataclass
from math import log, pi, sqrt

from ohmscape.solver.handbook.checks import require_enclosing, require_positive, require_range


@dataclass(frozen=True)
class SchwarzCoefficients:
    """Coefficients of the area terms in Schwarz's formulas.

    Attributes
    ----------
    k1 : float
        Factor of length over root of area.
    k2 : float
        Constant.
    """

    k1: float
    k2: float


@dataclass(frozen=True)
class SchwarzResistance:
    """Resistances of a grid with rods by Schwarz.

    Attributes
    ----------
    grid : float
        Horizontal conductors alone. [Ω]
    rods : float
        All rods alone. [Ω]
    mutual : float
        Between the two. [Ω]
    combined : float
        Both, bonded, to remote earth. [Ω]
    """

    grid: float
    rods: float
    mutual: float
    combined: float


def schwarz_coefficients(*, area: float, depth: float, aspect: float) -> SchwarzCoefficients:
    r"""Coefficients k1 and k2 of Schwarz's formulas for a rectangular grid.

    Parameters
    ----------
    area : float
        Area the grid covers, > 0. [m²]
    depth : float
        Depth of the grid, > 0, at most a sixth of the root of `area`. [m]
    aspect : float
        Longer over shorter side, 1 to 8.

    Returns
    -------
    coefficients : SchwarzCoefficients

    Raises
    ------
    CaseError
        If a value is not positive and finite or outside its bounds.

    Notes
    -----
    The standard draws straight lines in the aspect x for three depths: at the surface
    k1 = -0.04 x + 1.41, k2 = 0.15 x + 5.50; at √A/10 -0.05 x + 1.20, 0.10 x + 4.68; at √A/6
    -0.05 x + 1.13, -0.05 x + 4.40. Between these depths we interpolate in depth / √A.

    References
    ----------
    .. [1] IEEE Std 80-2000, clause 14.3, figure of the coefficients. From memory.

    Examples
    --------
    >>> coefficients = schwarz_coefficients(area=4900.0, depth=7.0, aspect=1.0)
    >>> round(coefficients.k1, 3), round(coefficients.k2, 3)
    (1.15, 4.78)
    """
    where = "schwarz_coefficients"
    require_positive(where, area=area, depth=depth, aspect=aspect)
    require_range(
        where, aspect, name="aspect", low=1.0, high=8.0, why="the standard's lines end there"
    )
    relative = depth / sqrt(area)
    require_range(
        where,
        relative,
        name="depth / root of area",
        high=1 / 6,
        why="the standard's deepest line",
    )
    k1 = (-0.04 * aspect + 1.41, -0.05 * aspect + 1.20, -0.05 * aspect + 1.13)
    k2 = (0.15 * aspect + 5.50, 0.10 * aspect + 4.68, -0.05 * aspect + 4.40)
    if relative <= 0.1:
        first, share = 0, relative / 0.1
    else:
        first, share = 1, (relative - 0.1) / (1 / 6 - 0.1)
    return SchwarzCoefficients(
        k1=(1 - share) * k1[first] + share * k1[first + 1],
        k2=(1 - share) * k2[first] + share * k2[first + 1],
    )


def schwarz_resistance(
    *,
    grid_resistivity: float,
    rod_resistivity: float,
    area: float,
    conductor_length: float,
    conductor_radius: float,
    depth: float,
    rod_count: int,
    rod_length: float,
    rod_radius: float,
    coefficients: SchwarzCoefficients,
) -> SchwarzResistance:
    r"""Resistance to remote earth of a grid with equal rods by Schwarz.

    Parameters
    ----------
    grid_resistivity : float
        Resistivity of the soil round the grid, > 0. [Ω·m]
    rod_resistivity : float
        Apparent resistivity the rods see, > 0; equal to `grid_resistivity` in uniform
        soil. [Ω·m]
    area : float
        Area the grid covers, > 0. [m²]
    conductor_length : float
        Horizontal conductor without rods, at least the circumference of a circle of
        `area`. [m]
    conductor_radius : float
        Radius of the horizontal conductor, > 0. [m]
    depth : float
        Depth of the grid, at least 5 conductor radii. [m]
    rod_count : int
        Number of rods, at least 1.
    rod_length : float
        Length of each rod, at least 10 rod radii and at most twice `conductor_length`. [m]
    rod_radius : float
        Radius of the rods, > 0. [m]
    coefficients : SchwarzCoefficients
        From `schwarz_coefficients`, or read from a figure.

    Returns
    -------
    resistance : SchwarzResistance
        Grid, rods, mutual and combined. [Ω]

    Raises
    ------
    CaseError
        If a value is not positive and finite or outside its bounds.

    Notes
    -----
    With conductor radius a, :math:`a' = \sqrt{2 a h}`, rod radius b, n rods of length l:

    .. math::
       R_1 &= \frac{\rho_1}{\pi L_c} \left(\ln \frac{2 L_c}{a'}
              + k_1 \frac{L_c}{\sqrt A} - k_2\right) \\
       R_2 &= \frac{\rho_2}{2 \pi n l} \left(\ln \frac{4 l}{b} - 1
              + 2 k_1 \frac{l}{\sqrt A} (\sqrt n - 1)^2\right) \\
       R_m &= \frac{\rho_2}{\pi L_c} \left(\ln \frac{2 L_c}{l}
              + k_1 \frac{L_c}{\sqrt A} - k_2 + 1\right) \\
       R &= \frac{R_1 R_2 - R_m^2}{R_1 + R_2 - 2 R_m}

    The 2000 edition has one resistivity; handbooks after the 1986 edition take the upper
    layer for the grid and the soil at the rods for the other two.

    References
    ----------
    .. [1] S. J. Schwarz, "Analytical expressions for the resistance of grounding systems",
       AIEE Trans. 73(III-B), 1954, as in IEEE Std 80-2000 eq. (53)-(56). From memory.
    .. [2] A. L. Sheldrake, *Handbook of Electrical Engineering*, Wiley, 2003, Appendix H,
       pp. 590-595.

    Examples
    --------
    >>> schwarz = schwarz_resistance(
    ...     grid_resistivity=5000.0, rod_resistivity=1000.0, area=100.0,
    ...     conductor_length=120.0, conductor_radius=0.005, depth=0.5, rod_count=6,
    ...     rod_length=50.0, rod_radius=0.01,
    ...     coefficients=SchwarzCoefficients(k1=1.15, k2=4.75))
    >>> round(schwarz.combined, 2)
    16.58
    """
    where = "schwarz_resistance"
    require_positive(
        where,
        grid_resistivity=grid_resistivity,
        rod_resistivity=rod_resistivity,
        area=area,
        conductor_length=conductor_length,
        conductor_radius=conductor_radius,
        depth=depth,
        rod_count=rod_count,
        rod_length=rod_length,
        rod_radius=rod_radius,
    )
    require_enclosing(where, area=area, conductor_length=conductor_length)
    for ratio, name, low in (
        (depth / conductor_radius, "depth / conductor_radius", 5.0),
        (rod_length / rod_radius, "rod_length / rod_radius", 10.0),
        (conductor_length / rod_length, "conductor_length / rod_length", 0.5),
    ):
        require_range(where, ratio, name=name, low=low, why="its logarithm loses its meaning")
    Lc, lr, n = conductor_length, rod_length, rod_count
    k1, k2 = coefficients.k1, coefficients.k2
    plate = k1 * Lc / sqrt(area) - k2
    own = log(2 * Lc / sqrt(2 * conductor_radius * depth))
    R1 = grid_resistivity / (pi * Lc) * (own + plate)
    crowd = 2 * k1 * lr / sqrt(area) * (sqrt(n) - 1) ** 2
    R2 = rod_resistivity / (2 * pi * n * lr) * (log(4 * lr / rod_radius) - 1 + crowd)
    Rm = rod_resistivity / (pi * Lc) * (log(2 * Lc / lr) + plate + 1)
    combined = (R1 * R2 - Rm**2) / (R1 + R2 - 2 * Rm)
    return SchwarzResistance(grid=R1, rods=R2, mutual=Rm, combined=combined)
