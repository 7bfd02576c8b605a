"""How hot metal gets by a short current when it keeps all the heat."""

import math
from dataclasses import dataclass

from ..errors import CaseError
from .materials import Material


@dataclass(frozen=True)
class HeatEquation:
    """The adiabatic equation of one metal.

    Attributes
    ----------
    constant : float
        C below. [A²·s/m⁴]
    zero : float
        β below. [K]
    source : str
        Standard and edition.

    Notes
    -----
    I² t / A² = C ln((β + θ) / (β + θ₀)) for metal that begins at θ₀, whose resistance grows
    with its temperature and which keeps all heat. Whatever it gives off only cools it: the
    longer the current lasts, the more the equation is on the safe side.
    """

    constant: float
    zero: float
    source: str

    def temperature(
        self, current: float, *, section: float, duration: float, ambient: float
    ) -> float:
        """Temperature that metal ends at, were it never to melt. [°C]

        Parameters
        ----------
        current : float
            Effective value over the duration, its offset included, >= 0. [A]
        section : float
            > 0. [m²]
        duration : float
            [s]
        ambient : float
            Temperature that it begins at. [°C]

        Examples
        --------
        >>> from ohmscape.solver.heating import ieee_80, material
        >>> copper = ieee_80(material("annealed copper"))
        >>> end = copper.temperature(6e3, section=70e-6, duration=0.5, ambient=40.0)
        >>> print(f"{end:.0f} °C")
        61 °C
        """
        exponent = (current / section) ** 2 * duration / self.constant
        if exponent > 700:  # beyond every number a computer holds
            return math.inf
        return (self.zero + ambient) * math.exp(exponent) - self.zero

    def section(
        self, current: float, *, duration: float, ambient: float, limit: float
    ) -> float:
        """Section that ends at a limit. [m²]

        Parameters
        ----------
        current, duration, ambient
            As for `temperature`.
        limit : float
            Above `ambient`. [°C]

        Raises
        ------
        CaseError
            If the limit is not above the temperature that metal begins at.

        Examples
        --------
        >>> from ohmscape.solver.heating import ieee_80, material
        >>> copper = ieee_80(material("hard-drawn copper"))
        >>> least = copper.section(6814.0, duration=0.5, ambient=40.0, limit=1084.0)
        >>> print(f"{1e6 * least:.2f} mm²")
        17.24 mm²
        """
        return current * math.sqrt(duration / self._heat(ambient, limit))

    def current(
        self, *, section: float, duration: float, ambient: float, limit: float
    ) -> float:
        """Current that takes a section to a limit; `section` the other way round. [A]"""
        return section * math.sqrt(self._heat(ambient, limit) / duration)

    def _heat(self, ambient: float, limit: float) -> float:
        """What takes metal from one temperature to another. [A²·s/m⁴]"""
        if not limit > ambient:
            msg = (
                f"a limit of {limit:g} °C is not above the {ambient:g} °C that the metal "
                "begins at; give a higher limit or a lower ambient temperature"
            )
            raise CaseError(msg)
        return self.constant * math.log((self.zero + limit) / (self.zero + ambient))


def ieee_80(material: Material) -> HeatEquation:
    """The equation by IEEE Std 80-2000, eq. (37) (from memory).

    Notes
    -----
    There A = I / √((TCAP·10⁻⁴ / (t α_r ρ_r)) ln((K_0 + T_m) / (K_0 + T_a))) in kA, mm²,
    J/(cm³·K) and µΩ·cm; in SI units C = heat capacity / (α ρ). Its table 3 of ultimate
    currents of copper lies 2 to 5 % above what the equation gives with its own constants.
    """
    constant = material.heat_capacity / (material.coefficient * material.resistivity)
    constants = "the constants of its table 1 (from memory)"
    if material.source:
        constants = f"constants of the case for {material.name} ({material.source})"
    source = f"IEEE Std 80-2000, eq. (37) with {constants}"
    return HeatEquation(constant, material.zero, source)


# Family: K [A·√s/m²] and β [K]; zinc-coated steel is steel here, as the zinc carries little.
_en_50522 = {
    "copper": (226e6, 234.5),
    "aluminium": (148e6, 228.0),
    "steel": (78e6, 202.0),
    "zinc-coated steel": (78e6, 202.0),
}


def en_50522(material: Material) -> HeatEquation:
    """The equation by EN 50522, annex D (from memory).

    Raises
    ------
    CaseError
        If the annex has no constants for the material.

    Notes
    -----
    There A = (I/K) √(t / ln((Θ_f + β) / (Θ_i + β))): C is K². It is for currents that end
    within 5 s.
    """
    found = _en_50522.get(material.family)
    if found is None:
        msg = (
            f"EN 50522 annex D has constants for copper, aluminium and steel (from memory), "
            f"none for {material.name}; take equation: ieee_80"
        )
        raise CaseError(msg)
    constant, zero = found
    return HeatEquation(constant**2, zero, "EN 50522, annex D (from memory)")


EQUATIONS = {"ieee_80": ieee_80, "en_50522": en_50522}
"""What case files can name."""
