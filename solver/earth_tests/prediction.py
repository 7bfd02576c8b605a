"""What is predicted of one earth test, as outputs take it."""

from dataclasses import dataclass
from typing import Literal

from ..model import Soil
from .clamp import ClampReading
from .driven_rod import DrivenRodTest
from .fall_of_potential import FallOfPotential
from .findings import clamp_findings, potential_findings, rod_findings
from .plans import EarthTestPlan, FallOfPotentialPlan

Method = Literal["thin conductors", "finite elements"]


@dataclass(frozen=True)
class Prediction:
    """One test of a case or of one of its variants.

    Attributes
    ----------
    plan : EarthTestPlan
        What was asked.
    variant : str
        Name of the variant; empty for the case as it stands.
    soil : Soil
        Layers.
    found : FallOfPotential, ClampReading or DrivenRodTest
        What the tester reads.
    others : tuple of FallOfPotential
        The same with the current probe at other distances.
    extent : float
        Largest dimension of the electrode in plan or depth; 0 where there is none. [m]
    covered : float
        How far the electrode reaches along the current lead from its start, >= 0. [m]
    method : {"thin conductors", "finite elements"}
        How the field was solved.
    field_error : float
        Estimated error of the true resistance, relative; readings share most of it.
    """

    plan: EarthTestPlan
    variant: str
    soil: Soil
    found: FallOfPotential | ClampReading | DrivenRodTest
    others: tuple[FallOfPotential, ...]
    extent: float
    covered: float
    method: Method
    field_error: float

    @property
    def findings(self) -> tuple[str, ...]:
        """What to mind in it."""
        found = self.found
        if isinstance(found, FallOfPotential):
            assert isinstance(self.plan, FallOfPotentialPlan)
            return potential_findings(
                found,
                extent=self.extent,
                soil=self.soil,
                paths_connected=self.plan.paths_connected,
            )
        return clamp_findings(found) if isinstance(found, ClampReading) else rod_findings(found)
