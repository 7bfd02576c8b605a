"""Metal that carries fault current: what it takes to heat it, and when it melts."""

from dataclasses import dataclass
from typing import Literal

Family = Literal[
    "copper",
    "copper-clad steel",
    "aluminium",
    "aluminium-clad steel",
    "steel",
    "zinc-coated steel",
    "stainless steel",
    "own",
]


@dataclass(frozen=True)
class Material:
    """A metal, as the adiabatic equation takes it.

    Attributes
    ----------
    name : str
        As case files spell it.
    family : str
        What kind of metal it is, for standards that tell no more apart.
    coefficient : float
        Temperature coefficient of its resistivity at 20 °C. [1/K]
    zero : float
        K_0: by how much its temperature is from where its resistivity would vanish, at
        0 °C. [K]
    fusing : float
        Temperature at which it, or what covers it, melts. [°C]
    resistivity : float
        At 20 °C. [Ω·m]
    heat_capacity : float
        Per volume. [J/(m³·K)]
    source : str
        Where the case has its constants from; empty of those of the table.
    permeability : tuple of float, length 3
        Relative, at the least, as usual and at the most; of clad metal that of its core. That
        of steel goes with the current in it.
    shell, core : str
        Materials of the table that clad metal is made of; empty where it is one throughout.
    """

    name: str
    family: Family
    coefficient: float
    zero: float
    fusing: float
    resistivity: float
    heat_capacity: float
    source: str = ""
    permeability: tuple[float, float, float] = (1.0, 1.0, 1.0)
    shell: str = ""
    core: str = ""


_CORE = "steel 1020"
_STEEL = (50.0, 200.0, 1000.0)
_STEELS = {
    "copper-clad steel wire 40 %": "annealed copper",
    "copper-clad steel wire 30 %": "annealed copper",
    "copper-clad steel rod 20 %": "annealed copper",
    "aluminium-clad steel": "aluminium EC",
    "stainless-clad steel rod": "stainless steel 304",
    "zinc-coated steel rod": "",  # the zinc is too thin to lead much
    _CORE: "",
}
"""What has steel in it that a field enters, and the metal round the steel."""


def _row(name: str, family: Family, *values: float) -> Material:
    """A row in the units of the table: 1/K, K, °C, µΩ·cm, J/(cm³·K)."""
    coefficient, zero, fusing, resistivity, heat = values
    shell = _STEELS.get(name, "")
    return Material(
        name,
        family,
        coefficient,
        zero,
        fusing,
        1e-8 * resistivity,
        1e6 * heat,
        permeability=_STEEL if name in _STEELS else (1.0, 1.0, 1.0),
        shell=shell,
        core=_CORE if shell else "",
    )


SOURCE = "IEEE Std 80-2000, table 1 (from memory)"
"""Of `MATERIALS`. The edition of 2013 revises some steels (1020: coefficient 0.00377, K_0 245,
3.8 J/(cm³·K); aluminium-clad 2.67 J/(cm³·K)) and rounds heat capacities, from memory too. Not
of that table: relative permeability of steel, 50 to 1000 and mostly taken as 200, which is
common practice and has no one source, and of what clad metal consists."""

MATERIALS = (
    _row("annealed copper", "copper", 0.00393, 234, 1083, 1.72, 3.42),
    _row("hard-drawn copper", "copper", 0.00381, 242, 1084, 1.78, 3.42),
    _row("copper-clad steel wire 40 %", "copper-clad steel", 0.00378, 245, 1084, 4.40, 3.85),
    _row("copper-clad steel wire 30 %", "copper-clad steel", 0.00378, 245, 1084, 5.86, 3.85),
    _row("copper-clad steel rod 20 %", "copper-clad steel", 0.00378, 245, 1084, 8.62, 3.85),
    _row("aluminium EC", "aluminium", 0.00403, 228, 657, 2.86, 2.56),
    _row("aluminium 5005", "aluminium", 0.00353, 263, 652, 3.22, 2.60),
    _row("aluminium 6201", "aluminium", 0.00347, 268, 654, 3.28, 2.60),
    _row("aluminium-clad steel", "aluminium-clad steel", 0.00360, 258, 657, 8.48, 3.58),
    _row("steel 1020", "steel", 0.00160, 605, 1510, 15.90, 3.28),
    _row("stainless-clad steel rod", "stainless steel", 0.00160, 605, 1400, 17.50, 4.44),
    _row("zinc-coated steel rod", "zinc-coated steel", 0.00320, 293, 419, 20.10, 3.93),
    _row("stainless steel 304", "stainless steel", 0.00130, 749, 1400, 72.00, 4.03),
)
"""What the case file can name; percentages are the conductivity of copper-clad steel in terms
of that of copper."""


def material(name: str) -> Material | None:
    """The material of a name, None where there is none."""
    return next((item for item in MATERIALS if item.name == name), None)
