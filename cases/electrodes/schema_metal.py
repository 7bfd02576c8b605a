"""Size of the metal of a part, and what covers it."""

import math
from dataclasses import dataclass
from typing import Annotated, ClassVar, Self

from pydantic import model_validator

from ...solver.errors import CaseError
from ...solver.heating import MATERIALS
from ..reading import fields as f
from ..reading.blocks import Block
from ..reading.messages import not_among, shown
from ..reading.naming import refers_to


class Stranded(Block):
    """Stranded conductor: taken as a round one of the same metal area, or as wide as it is."""

    cross_section: f.Area
    """Area of the metal."""
    overall_diameter: f.Diameter | None = None
    """Diameter over the strands, if known; it replaces the diameter of equal area."""

    @model_validator(mode="after")
    def _fits(self) -> Self:
        solid = 2 * math.sqrt(self.cross_section / math.pi)
        if self.overall_diameter is not None and self.overall_diameter < solid:
            msg = (
                f"overall_diameter {self.overall_diameter:.4g} m is below the {solid:.4g} m of "
                "a solid wire of the same cross_section; check both"
            )
            raise CaseError(msg)
        return self


class Backfill(Block):
    """Soil, concrete or enhancing material filled in around the metal."""

    diameter: f.Diameter
    """Outer diameter of the fill."""
    resistivity: f.Resistivity
    """Resistivity of the fill."""
    cover: f.Depth = 0.0
    """How far the fill goes on beyond each end of the metal that meets neither other metal nor
    the surface, such as the tip of a rod; 0 where it ends with the metal."""


class Coating(Block):
    """Layer on the metal: paint, corrosion product, plastic."""

    thickness: f.Length
    """Thickness of the layer."""
    resistivity: f.Resistivity
    """Resistivity of the layer."""


@dataclass(frozen=True)
class Sheath:
    """What covers metal: it reaches out to a radius, or by a thickness from its face."""

    # Outer radius, the same for all metal; or thickness on top of it, the other 0. [m]
    radius: float
    thickness: float
    resistivity: float  # [Ω·m]
    cover: float  # how far it goes on beyond free ends of the metal [m]


_known = tuple(item.name for item in MATERIALS)


def _material(value: object) -> str:
    """Name of a material; whether there is one is seen where names are."""
    if not isinstance(value, str):
        raise CaseError(not_among(shown(value), _known, what="material"))
    return f.name(value)


_schema = {"type": "string", "maxLength": 80, "examples": list(_known)}
MaterialName = Annotated[str, f.Reader(_material, _schema), refers_to("material", also=_known)]


class Size(Block):
    """Size of metal, in one of three ways."""

    exactly_one: ClassVar[tuple[tuple[str, ...], ...]] = (("diameter", "strip", "stranded"),)

    diameter: f.Diameter | None = None
    """Diameter of round metal; a wire gauge is accepted."""
    strip: tuple[f.Diameter, f.Diameter] | None = None
    """Width and thickness of a strip; it acts as round metal as wide as their mean."""
    stranded: Stranded | None = None
    """Stranded conductor."""

    @property
    def section(self) -> float | None:
        """Area of the metal across; None where a table gives it. [m²]"""
        if self.stranded is not None:
            return self.stranded.cross_section
        if self.strip is not None:
            return self.strip[0] * self.strip[1]
        return None if self.diameter is None else math.pi / 4 * self.diameter**2

    @property
    def radius(self) -> float | None:
        """Equivalent radius of the metal; None where a table gives it. [m]

        A strip acts as round metal of radius (w + t)/4, a conformal map (from memory).
        """
        if self.stranded is not None:
            wide = self.stranded.overall_diameter
            area = self.stranded.cross_section
            return math.sqrt(area / math.pi) if wide is None else wide / 2
        if self.strip is not None:
            return sum(self.strip) / 4
        return None if self.diameter is None else self.diameter / 2


class Metal(Size):
    """Size of the metal and what covers it; the same for the whole part."""

    at_most_one: ClassVar[tuple[tuple[str, ...], ...]] = (("backfill", "coating"),)

    name: f.Name | None = None
    """Your own name of the part; without it, its kind and a number."""
    material: MaterialName | None = None
    """What it is made of, for the voltage along it and the heat of a fault (`heating`)."""
    temperature: f.Temperature | None = None
    """Of the metal, for the voltage along it; 20 degC when left out."""
    contact_resistivity: f.FilmResistivity = 0.0
    """Resistance of the film between metal and soil, times its area; 0 without it."""
    backfill: Backfill | None = None
    """Fill around the metal."""
    coating: Coating | None = None
    """Coating on the metal."""

    @property
    def sheath(self) -> Sheath | None:
        """What covers the metal; None where it is bare.

        A coating is as thick over the ends of the metal as on its sides.
        """
        fill, coat = self.backfill, self.coating
        if fill is not None:
            return Sheath(fill.diameter / 2, 0.0, fill.resistivity, fill.cover)
        if coat is not None:
            return Sheath(0.0, coat.thickness, coat.resistivity, coat.thickness)
        return None

    @model_validator(mode="after")
    def _fill_holds_the_metal(self) -> Self:
        widest = max(self.strip or (0.0,), default=0.0)
        if self.radius is not None:
            widest = max(widest, 2 * self.radius)
        if self.backfill is not None and self.backfill.diameter <= widest:
            msg = (
                f"backfill: diameter {self.backfill.diameter:g} m does not hold the metal, "
                f"{widest:g} m wide; it must be wider"
            )
            raise CaseError(msg)
        return self
