"""Handbook resistance of buried strips, flat and on edge."""

from math import log, pi

from ohmscape.solver.handbook import buried_wire_resistance
from ohmscape.solver.handbook.checks import (
    SLENDER,
    SLENDER_REASON,
    require_positive,
    require_range,
)


def strip_equivalent_radius(*, width: float, thickness: float) -> float:
    """Radius of the round wire that has the resistance of a strip of the same length.

    Parameters
    ----------
    width, thickness : float
        Sides of the cross-section, thickness at most the width. [m]

    Returns
    -------
    radius : float
        A quarter of width plus thickness. [m]

    Raises
    ------
    CaseError
        If a side is not positive and finite, or thickness exceeds the width.

    Notes
    -----
    Exact for a strip without thickness (conformal map, width / 4). A square bar of side w has
    0.59 w (from memory), where this rule gives 0.50 w: 0.17 too much in a bracket of 10.

    References
    ----------
    .. [1] Conformal map of a flat strip on a circle. From memory; no published page.

    Examples
    --------
    >>> strip_equivalent_radius(width=0.030, thickness=0.003)
    0.00825
    """
    where = "strip_equivalent_radius"
    require_positive(where, width=width, thickness=thickness)
    require_range(
        where,
        thickness / width,
        name="thickness / width",
        high=1.0,
        why="the wider side is the width",
    )
    return (width + thickness) / 4


def flat_strip_resistance(
    *, resistivity: float, length: float, width: float, thickness: float, depth: float
) -> float:
    r"""Resistance to remote earth of a straight strip that lies flat.

    Parameters
    ----------
    resistivity : float
        Resistivity of the uniform soil, > 0. [Ω·m]
    length : float
        Whole length of the strip, at least 20 widths. [m]
    width, thickness : float
        Sides of the cross-section, thickness below an eighth of the width. [m]
    depth : float
        Depth of the strip, at least 2 widths, at most half the length. [m]

    Returns
    -------
    resistance : float
        [Ω]

    Raises
    ------
    CaseError
        If a value is not positive and finite, or the strip is too thick, short, shallow
        or deep.

    Notes
    -----
    With half length L, width w, thickness t and s = 2 depth:

    .. math:: R = \frac{\rho}{4 \pi L} \left(\ln \frac{4L}{w}
              + \frac{w^2 - \pi w t}{2 (w + t)^2} + \ln \frac{4L}{s} - 1
              + \frac{s}{2L} - \frac{s^2}{16 L^2} + \frac{s^4}{512 L^4}\right)

    Evenly fed; the strip at one potential is about 1 % lower.

    References
    ----------
    .. [1] H. B. Dwight, "Calculation of resistances to ground", AIEE Trans. 55(12), 1936,
       pp. 1319-1328, as in IEEE Std 142-1991 Table 13, read in a transcription;
       title and pages from memory.

    Examples
    --------
    >>> r = flat_strip_resistance(
    ...     resistivity=100.0, length=20.0, width=0.030, thickness=0.003, depth=0.6)
    >>> round(r, 4)
    7.9932
    """
    where = "flat_strip_resistance"
    require_positive(
        where,
        resistivity=resistivity,
        length=length,
        width=width,
        thickness=thickness,
        depth=depth,
    )
    require_range(
        where,
        thickness / width,
        name="thickness / width",
        high=0.125,
        why="Dwight gives the formula for thin strips; take the equivalent radius instead",
    )
    half = length / 2
    require_range(
        where, half / width, name="half length / width", low=SLENDER, why=SLENDER_REASON
    )
    require_range(
        where,
        depth / width,
        name="depth / width",
        low=2.0,
        why="the formula takes the mirror image in the surface as a line",
    )
    require_range(
        where,
        depth / half,
        name="depth / half length",
        high=1.0,
        why="the series in depth is not good enough below that",
    )
    x = 2 * depth / half
    shape = (width**2 - pi * width * thickness) / (2 * (width + thickness) ** 2)
    own = log(4 * half / width) + shape
    image = log(4 / x) - 1 + x / 2 - x**2 / 16 + x**4 / 512
    return resistivity / (4 * pi * half) * (own + image)


def strip_on_edge_resistance(
    *, resistivity: float, length: float, width: float, thickness: float, depth: float
) -> float:
    """Resistance to remote earth of a straight strip set on edge.

    Parameters
    ----------
    resistivity : float
        Resistivity of the uniform soil, > 0. [Ω·m]
    length : float
        Whole length of the strip. [m]
    width, thickness : float
        Sides of the cross-section, width vertical. [m]
    depth : float
        Depth of the centre line. [m]

    Returns
    -------
    resistance : float
        [Ω]

    Raises
    ------
    CaseError
        If a value is not positive and finite, or outside the bounds of
        `buried_wire_resistance` for the equivalent radius.

    Notes
    -----
    The straight wire of equivalent radius; no handbook row of its own is known to us.

    References
    ----------
    .. [1] See `strip_equivalent_radius` and `buried_wire_resistance`.

    Examples
    --------
    >>> r = strip_on_edge_resistance(
    ...     resistivity=100.0, length=20.0, width=0.030, thickness=0.003, depth=0.6)
    >>> round(r, 4)
    7.9992
    """
    return buried_wire_resistance(
        resistivity=resistivity,
        length=length,
        radius=strip_equivalent_radius(width=width, thickness=thickness),
        depth=depth,
    )
