"""How much voltage soil stands for ever before it dries out."""

import math

from ..errors import CaseError


def lasting_voltage(resistivity: float, *, conductivity: float, rise: float) -> float:
    """Voltage of an electrode whose soil ends a given rise of temperature above ambient. [V]

    Parameters
    ----------
    resistivity : float
        Of the soil, to current, > 0. [Ω·m]
    conductivity : float
        Of the soil, to heat, > 0. [W/(m·K)]
    rise : float
        Of the temperature at the electrode, after for ever, > 0. [K]

    Raises
    ------
    CaseError
        If a value is not above 0.

    Notes
    -----
    √(2 λ ρ θ), Ollendorff (from memory); it follows for an electrode of any shape in uniform
    soil from ∇·(λ∇θ) = −(∇φ)²/ρ, whose solution θ = (V² − (V − φ)²)/(2 λ ρ) has no flow of heat
    into the metal. Drying raises ρ and lowers λ at once: it runs away from there.

    Examples
    --------
    >>> print(f"{lasting_voltage(100.0, conductivity=1.2, rise=60.0):.0f} V")
    120 V
    """
    for value, what in (
        (resistivity, "resistivity"),
        (conductivity, "thermal conductivity"),
        (rise, "rise of the temperature"),
    ):
        if not value > 0:
            msg = f"{what} of {value:g}; it must be above 0"
            raise CaseError(msg)
    return math.sqrt(2 * conductivity * resistivity * rise)
