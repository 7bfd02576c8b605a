"""What an earth tester would read: probes in the soil, clamps round a loop, a driven rod."""

from .clamp import ClampReading, clamp_reading
from .driven_rod import DrivenRodTest, driven_rod_test
from .fall_of_potential import FallOfPotential, fall_of_potential, golden
from .field_sheets import METER, SHIFT, FieldSheets, TestPoint
from .findings import clamp_findings, potential_findings, rod_findings
from .leads import Leads
from .network import Network
from .plans import ClampPlan, DrivenRodPlan, EarthTestPlan, FallOfPotentialPlan
from .prediction import Method, Prediction
from .probe import Pin, clearance, with_pin
from .probe_places import ProbePlace, probe_places, slack, steadiest
from .slope import Slope, slope_coefficient, slope_place
from .source_resistance import SHUNT, source_resistance

__all__ = [
    "METER",
    "SHIFT",
    "SHUNT",
    "ClampPlan",
    "ClampReading",
    "DrivenRodPlan",
    "DrivenRodTest",
    "EarthTestPlan",
    "FallOfPotential",
    "FallOfPotentialPlan",
    "FieldSheets",
    "Leads",
    "Method",
    "Network",
    "Pin",
    "Prediction",
    "ProbePlace",
    "Slope",
    "TestPoint",
    "clamp_findings",
    "clamp_reading",
    "clearance",
    "driven_rod_test",
    "fall_of_potential",
    "golden",
    "potential_findings",
    "probe_places",
    "rod_findings",
    "slack",
    "slope_coefficient",
    "slope_place",
    "source_resistance",
    "steadiest",
    "with_pin",
]
