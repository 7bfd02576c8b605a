"""What an earth tester would read: probes in the soil, clamps round a loop, a driven rod."""

from .clamp import ClampReading, clamp_reading
from .driven_rod import DrivenRodTest, driven_rod_test
from .fall_of_potential import FallOfPotential, fall_of_potential, golden
from .findings import clamp_findings, potential_findings, rod_findings
from .leads import Leads
from .network import Network
from .plans import ClampPlan, DrivenRodPlan, EarthTestPlan, FallOfPotentialPlan
from .prediction import Method, Prediction
from .probe import Pin, clearance, with_pin
from .slope import Slope, slope_coefficient, slope_place

__all__ = [
    "ClampPlan",
    "ClampReading",
    "DrivenRodPlan",
    "DrivenRodTest",
    "EarthTestPlan",
    "FallOfPotential",
    "FallOfPotentialPlan",
    "Leads",
    "Method",
    "Network",
    "Pin",
    "Prediction",
    "Slope",
    "clamp_findings",
    "clamp_reading",
    "clearance",
    "driven_rod_test",
    "fall_of_potential",
    "golden",
    "potential_findings",
    "rod_findings",
    "slope_coefficient",
    "slope_place",
    "with_pin",
]
