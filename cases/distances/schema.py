"""How far voltages reach, and how far apart electrodes must stand: the distances block."""

from typing import Annotated, Self

from pydantic import Field, model_validator

from ...solver.distances import Apart, DistancePlan
from ...solver.distances import Level as LevelPlan
from ...solver.errors import CaseError
from ..reading import fields as f
from ..reading.blocks import Block
from ..reading.naming import names_a, refers_to
from ..reading.size_limits import MOST_LEVELS


class Level(Block):
    """A voltage that is met up to some distance: of the surface, between feet, at metal."""

    exactly_one = (("potential", "step", "touch"),)

    name: Annotated[f.Name, names_a("level")]
    """Your own name: telephone zone, no steps of cattle beyond."""
    potential: f.Voltage | None = None
    """Potential of the soil surface to remote earth."""
    step: f.Voltage | None = None
    """Voltage between two feet, a pace of the study apart."""
    touch: Annotated[f.Name, refers_to("touchable metal")] | None = None
    """Touchable metal, with `voltage`: where a foot within reach meets that."""
    voltage: f.Voltage | None = None
    """With touch: between the metal and the foot."""

    @property
    def plan(self) -> LevelPlan:
        """The level as the solver takes it."""
        if self.touch is not None:
            return LevelPlan(self.name, "touch", self.voltage or 0.0, self.touch)
        if self.step is not None:
            return LevelPlan(self.name, "step", self.step)
        return LevelPlan(self.name, "potential", self.potential or 0.0)

    @model_validator(mode="after")
    def _has_a_voltage(self) -> Self:
        if (self.touch is None) != (self.voltage is None):
            msg = "'touch' and 'voltage' go together; potential and step have it themselves"
            raise CaseError(msg)
        if not self.plan.voltage > 0:
            msg = f"a level of {self.plan.voltage:g} V reaches everywhere; give one above 0 V"
            raise CaseError(msg)
        return self


class Separation(Block):
    """Another electrode, of somebody else, that is to take on no more than some voltage."""

    exactly_one = (("voltage", "transfer"),)

    name: Annotated[f.Name, names_a("separation")]
    """Your own name: a neighbour's fence, low-voltage earth, telephone pole."""
    voltage: f.Voltage | None = None
    """Voltage that it may take on from the soil."""
    transfer: Annotated[float, f.ratio(least=1e-4, most=0.9)] | None = None
    """The same as a share of the largest rise."""
    rod: f.Length | None = None
    """Length of its rod, driven from the surface; left out, it stands on the surface."""
    azimuth: f.Angle | None = None
    """Direction in which it stands, from the x axis towards y; left out, the worst one."""

    @property
    def plan(self) -> Apart:
        """The electrode as the solver takes it."""
        return Apart(self.name, self.voltage, self.transfer, self.rod or 0.0, self.azimuth)

    @model_validator(mode="after")
    def _reaches_somewhere(self) -> Self:
        if self.voltage is not None and not self.voltage > 0:
            msg = f"a voltage of {self.voltage:g} V is taken on nowhere; give one above 0 V"
            raise CaseError(msg)
        return self


class Distances(Block):
    """How far voltages reach from live metal; a table along and across it comes with it.

    With bodies in the soil too; where one goes on for ever or has a film, as far as the mesh.
    """

    levels: Annotated[tuple[Level, ...], Field(max_length=MOST_LEVELS)] = ()
    """Voltages whose outlines are wanted."""
    separations: Annotated[tuple[Separation, ...], Field(max_length=MOST_LEVELS)] = ()
    """Electrodes of others, and what they may take on."""

    @property
    def plan(self) -> DistancePlan:
        """The block as the solver takes it."""
        return DistancePlan(
            tuple(level.plan for level in self.levels),
            tuple(each.plan for each in self.separations),
        )

    @model_validator(mode="after")
    def _asks_for_something(self) -> Self:
        if not self.levels and not self.separations:
            msg = "asks for nothing; give it 'levels', 'separations' or both"
            raise CaseError(msg)
        return self
