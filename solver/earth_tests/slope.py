r"""Slope method: true resistance from three readings, for electrodes of unknown centre.

G. F. Tagg, "Measurement of the resistance of physically large earth electrodes", *Proc. IEE*
117(11), 1970, p. 2185 (from memory, not opened). The electrode acts as a small hemisphere whose
centre lies x beyond the place from which distances are measured. With the current probe at 1,

.. math:: R(p) = R + \frac{\rho}{2 \pi} \left( \frac{1}{1 - p} - \frac{1}{p + x} -
          \frac{1}{1 + x} \right)

and the slope coefficient of readings at 0.2, 0.4 and 0.6 depends on x alone. His table from
coefficient to place is not copied but worked out from this formula (derived here); it gives the
first entry of the table as remembered, 0.643 at 0.40, and 0.618 where x = 0.
"""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from ..errors import CaseError

places = (0.2, 0.4, 0.6)
# Coefficients the published table covers (from memory). Below, the first reading lies on the
# electrode; above, the current probe is too near for the method.
lowest_coefficient, highest_coefficient = 0.40, 1.59


@dataclass(frozen=True)
class Slope:
    """What the slope method makes of three readings.

    Attributes
    ----------
    readings : tuple of float, length 3
        At 0.2, 0.4 and 0.6 of the distance of the current probe. [Ω]
    coefficient : float
        Second rise of the readings over the first.
    place : float or None
        Where the true resistance is to be read, in terms of the distance of the current
        probe; None where the coefficient is out of the range of the method.
    resistance : float or None
        Reading there. [Ω]
    """

    readings: tuple[float, float, float]
    coefficient: float
    place: float | None
    resistance: float | None


def slope_coefficient(readings: tuple[float, float, float]) -> float:
    """Second rise over the first of readings at 0.2, 0.4 and 0.6; infinite without a first.

    Parameters
    ----------
    readings : tuple of float, length 3
        [Ω]
    """
    first, second, third = readings
    return (third - second) / (second - first) if second != first else float("inf")


def slope_place(coefficient: float) -> float:
    """Place of the potential probe, per distance of the current probe, by the slope method.

    Parameters
    ----------
    coefficient : float
        Slope coefficient, 0.40 to 1.59.

    Raises
    ------
    CaseError
        If the coefficient is out of that range.

    Examples
    --------
    >>> print(f"{slope_place(0.40):.3f} {slope_place(1.00):.3f}")
    0.643 0.542
    """
    if not lowest_coefficient <= coefficient <= highest_coefficient:
        msg = (
            f"slope coefficient {coefficient:.3g}; the method holds from {lowest_coefficient} "
            f"to {highest_coefficient}: move the current probe farther away and read again"
        )
        raise CaseError(msg)

    def missing(x: float) -> float:
        return slope_coefficient((_shape(0.2, x), _shape(0.4, x), _shape(0.6, x))) - coefficient

    offset = float(brentq(missing, -0.19, 2.0))
    return float(brentq(_above, -offset + 1e-9, 1 - 1e-9, args=(offset,)))


def _shape(p: float, x: float) -> float:
    """Reading less a constant, without the factor."""
    return 1 / (1 - p) - 1 / (p + x)


def _above(p: float, x: float) -> float:
    """Reading less the true resistance, without the factor."""
    return float(np.float64(_shape(p, x)) - 1 / (1 + x))
