"""How hot leads, metal and joints may get in a fault: the heating block."""

from typing import Annotated, ClassVar, Literal, Self

from pydantic import Field, model_validator

from ...solver.errors import CaseError
from ...solver.heating import Material, material
from ..electrodes.schema_metal import MaterialName, Size
from ..reading import fields as f
from ..reading.blocks import Block
from ..reading.naming import names_a, refers_to
from ..reading.size_limits import MOST_LEADS, MOST_LIMITS, MOST_PARTS

Joint = Literal["fusing", "brazed", "welded", "bolted", "pressed"]
Share = Annotated[float, f.ratio(least=0.001, most=1.0)]
Corrosion = Annotated[float, f.ratio(least=0.0, most=0.9)]
# Longer than a name: 'earth current of' stands before one.
Carries = Annotated[str, f.words(most=100)]


class Joined(Block):
    """What limits the temperature of metal, and what it loses in its life."""

    at_most_one: ClassVar[tuple[tuple[str, ...], ...]] = (("joint", "limit"),)

    joint: Joint | None = None
    """Kind of its joints: brazed or welded (450 °C), bolted or pressed (250 °C), or fusing, for
    joints shown to outlast the metal itself."""
    limit: f.Temperature | None = None
    """A limit of your own, where your standard or the maker of the joint has another."""
    corrosion: Corrosion | None = None
    """Share of the section given up to corrosion over its life: 0.2 for a fifth."""


class OwnMaterial(Block):
    """Metal that the table does not have, by the constants of the equation of IEEE Std 80."""

    exactly_one = (("resistivity", "conductivity"),)

    name: Annotated[f.Name, names_a("material")]
    """Your own name, as leads and parts call it."""
    source: Annotated[str, f.words(most=160)]
    """Where its constants come from: a data sheet, a standard with its edition."""
    resistivity: f.MetalResistivity | None = None
    """At 20 °C."""
    conductivity: f.MetalConductivity | None = None
    """The same the other way round, at 20 °C."""
    temperature_coefficient: f.TemperatureCoefficient
    """Of its resistivity at 20 °C; K_0 is 1/α less 20 K."""
    fusing: f.Temperature
    """Temperature at which it, or what covers it, melts."""
    heat_capacity: f.HeatCapacity
    """Per volume."""
    relative_permeability: Annotated[float, f.ratio(least=1.0, most=10_000.0)] = 1.0
    """For the voltage along it: 1 unless it is magnetic; steel has 50 to 1000."""

    @property
    def material(self) -> Material:
        """The metal as the equation takes it."""
        resistivity = self.resistivity or 1 / (self.conductivity or 1.0)
        zero = 1 / self.temperature_coefficient - 20.0
        return Material(
            name=self.name,
            family="own",
            coefficient=self.temperature_coefficient,
            zero=zero,
            fusing=self.fusing,
            resistivity=resistivity,
            heat_capacity=self.heat_capacity,
            source=self.source,
            permeability=(self.relative_permeability,) * 3,
        )

    @model_validator(mode="after")
    def _new(self) -> Self:
        if material(self.name) is not None:
            msg = f"{self.name!r} stands in the table already; take another name"
            raise CaseError(msg)
        return self


class Lead(Size, Joined):
    """Conductor from what is earthed to an electrode, or between electrodes."""

    exactly_one = Size.exactly_one
    at_most_one = (*Joined.at_most_one, ("current", "carries"))

    name: Annotated[f.Name, names_a("lead")]
    """Your own name."""
    material: MaterialName
    """What it is made of."""
    current: f.Current | None = None
    """Current of today through it, symmetrical; growth and decrement of the circuit come on
    top."""
    carries: Carries | None = None
    """Current through it by the name that a device measures: supply (also where nothing is
    said), a path of the circuit, earth current of X."""
    share: Share | None = None
    """Share of that current that it carries; all of it when left out."""


class HeatedPart(Joined):
    """What is to be said of a part of an electrode beside its material."""

    at_most_one = (*Joined.at_most_one, ("current", "share"))

    name: Annotated[f.Name, refers_to("part")]
    """Name of the part, which has a material."""
    current: f.Current | None = None
    """Most current of today that its metal carries along itself, symmetrical."""
    share: Share | None = None
    """Share that its metal carries of all that its electrode can; when left out all of it, or
    of rods what the field shows that one lets into the soil."""


class SoilHeat(Block):
    """What the soil must not get to where a current lasts."""

    thermal_conductivity: f.HeatConductivity
    """How well the soil conducts heat, dry as it may be."""
    highest_temperature: f.Temperature
    """Temperature of the soil at the electrode from which it dries."""


class Heating(Joined):
    """Leads, metal that has a material, and joints, held against how hot they may get."""

    exactly_one = (("joint", "limit"),)
    at_most_one = ()

    equation: Literal["ieee_80", "en_50522"] = "ieee_80"
    """Adiabatic equation: of IEEE Std 80-2000, or of EN 50522, which wants a limit given."""
    ambient: f.Temperature
    """Temperature of metal and soil before the fault."""
    duration: f.Duration | None = None
    """How long metal is heated where that is longer than the fault: until backup protection
    opens, or the sum of a fault and its reclosures."""
    materials: Annotated[tuple[OwnMaterial, ...], Field(max_length=MOST_LIMITS)] = ()
    """Metals of your own beside those of the table."""
    leads: Annotated[tuple[Lead, ...], Field(max_length=MOST_LEADS)] = ()
    """Leads."""
    parts: Annotated[tuple[HeatedPart, ...], Field(max_length=MOST_PARTS)] = ()
    """Parts of electrodes of which more is to be said than their material."""
    soil: SoilHeat | None = None
    """Soil under a current that lasts."""

    @model_validator(mode="after")
    def _soil_gets_warmer(self) -> Self:
        if self.soil is not None and self.soil.highest_temperature <= self.ambient:
            msg = (
                f"soil: highest_temperature {self.soil.highest_temperature:g} °C is not above "
                f"the ambient {self.ambient:g} °C; give a higher one"
            )
            raise CaseError(msg)
        return self
