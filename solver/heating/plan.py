"""What is to be held against its temperature: leads, metal in the soil, joints."""

from dataclasses import dataclass
from typing import Literal

from .joints import JointLimit
from .materials import Material

Use = Literal["lead", "wire", "rod"]


@dataclass(frozen=True)
class Conductor:
    """A lead, or a part of an electrode, that must outlast the fault.

    Attributes
    ----------
    name : str
        The user's name.
    use : {"lead", "wire", "rod"}
        Lead to an electrode, buried conductor or driven rod.
    material : Material
        What it is made of.
    section : float
        Of its metal as new; of a table of rods or conductors the least. [m²]
    corrosion : float
        Share of the section that is given up to corrosion over its life.
    limit : JointLimit
        How hot its joints, or itself, may get.
    current : float or None
        Given for it, of today and symmetrical. [A]
    carries : str
        Name of a current that it carries, as protective devices measure it; empty for a part.
    share : float or None
        Share that it carries of its current; None leaves it to what the field shows of a rod,
        and is all of it elsewhere.
    part : int or None
        Number of the part of an electrode; None for a lead.
    """

    name: str
    use: Use
    material: Material
    section: float
    corrosion: float
    limit: JointLimit
    current: float | None = None
    carries: str = ""
    share: float | None = None
    part: int | None = None


@dataclass(frozen=True)
class SoilHeat:
    """What soil must not get to under a current that lasts.

    Attributes
    ----------
    conductivity : float
        Of the soil, to heat. [W/(m·K)]
    highest : float
        Temperature at which it would dry. [°C]
    """

    conductivity: float
    highest: float


@dataclass(frozen=True)
class HeatingPlan:
    """What of a case is held against its temperature.

    Attributes
    ----------
    equation : {"ieee_80", "en_50522"}
        By which equation.
    ambient : float
        Temperature of metal and soil before the fault. [°C]
    duration : float or None
        How long metal is heated where that is longer than the fault: until backup protection
        opens, or as the sum of a fault and its reclosures. [s]
    conductors : tuple of Conductor
        Leads first.
    soil : SoilHeat or None
        For currents that last; None where the case does not say.
    """

    equation: Literal["ieee_80", "en_50522"]
    ambient: float
    duration: float | None
    conductors: tuple[Conductor, ...]
    soil: SoilHeat | None = None
