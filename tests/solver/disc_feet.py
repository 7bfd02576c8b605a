"""Feet as metal discs on uniform soil, which the rounded factors of the trade stand for."""

import math

from ohmscape.solver.errors import CaseError
from ohmscape.solver.limits.contract import refuse_unless_positive
from ohmscape.solver.limits.feet import FOOT_RADIUS


def foot_resistance(resistivity: float, *, radius: float = FOOT_RADIUS) -> float:
    r"""Resistance of one foot, a disc on uniform soil. [Ω]

    Parameters
    ----------
    resistivity : float
        Resistivity under the foot, > 0. [Ω·m]
    radius : float
        Radius of the disc, > 0. [m]

    Raises
    ------
    CaseError
        If an argument is not positive and finite.

    Notes
    -----
    ρ / (4 b), exact for a disc on the surface of a half-space (classical).

    Examples
    --------
    >>> foot_resistance(100.0)
    312.5
    """
    refuse_unless_positive(resistivity, what="resistivity", unit="ohm*m")
    refuse_unless_positive(radius, what="foot radius", unit="m")
    return resistivity / (4 * radius)


def feet_in_parallel(
    resistivity: float, *, radius: float = FOOT_RADIUS, apart: float | None = None
) -> float:
    r"""Resistance of two feet side by side, as when a hand touches metal. [Ω]

    Parameters
    ----------
    resistivity : float
        Resistivity under the feet, > 0. [Ω·m]
    radius : float
        Radius of each disc, > 0. [m]
    apart : float or None
        Distance between their centres, at least two radii; None leaves out what one foot
        does to the other. [m]

    Raises
    ------
    CaseError
        If an argument is not positive and finite, or the feet overlap.

    Notes
    -----
    (R + R_m) / 2 with the mutual resistance R_m = ρ / (2 π d) of two distant points.
    """
    own = foot_resistance(resistivity, radius=radius)
    return (own + _mutual(resistivity, radius=radius, apart=apart)) / 2


def feet_in_series(
    resistivity: float, *, radius: float = FOOT_RADIUS, apart: float | None = None
) -> float:
    r"""Resistance of two feet one after the other, as in a step. [Ω]

    Parameters
    ----------
    resistivity, radius, apart
        As for `feet_in_parallel`.

    Raises
    ------
    CaseError
        As `feet_in_parallel`.

    Notes
    -----
    2 (R − R_m), R_m as in `feet_in_parallel`.
    """
    own = foot_resistance(resistivity, radius=radius)
    return 2 * (own - _mutual(resistivity, radius=radius, apart=apart))


def _mutual(resistivity: float, *, radius: float, apart: float | None) -> float:
    if apart is None:
        return 0.0
    if not (math.isfinite(apart) and apart >= 2 * radius):
        msg = f"feet {apart:g} m apart: discs of {radius:g} m radius need {2 * radius:g} m"
        raise CaseError(msg)
    return resistivity / (2 * math.pi * apart)
