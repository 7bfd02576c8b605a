"""Metal and joints in the heat of a fault: sections, temperatures, and what holds.

Adiabatic: metal keeps all heat. Temperatures are in °C throughout, as standards have them.
"""

from .adiabatic import EQUATIONS, HeatEquation, en_50522, ieee_80
from .carried import Carried, most_along, most_in_a_rod
from .findings import DryingSoil, HeatedConductor, Heating, HeatOutcome
from .joints import JOINTS, JointLimit, joint_limit, own_limit
from .judging import heated
from .materials import MATERIALS, Material, material
from .plan import Conductor, HeatingPlan, SoilHeat
from .sizes import least_section, next_sizes, wire_gauge_diameter
from .soil import lasting_voltage

__all__ = [
    "EQUATIONS",
    "JOINTS",
    "MATERIALS",
    "Carried",
    "Conductor",
    "DryingSoil",
    "HeatEquation",
    "HeatOutcome",
    "HeatedConductor",
    "Heating",
    "HeatingPlan",
    "JointLimit",
    "Material",
    "SoilHeat",
    "en_50522",
    "heated",
    "ieee_80",
    "joint_limit",
    "lasting_voltage",
    "least_section",
    "material",
    "most_along",
    "most_in_a_rod",
    "next_sizes",
    "own_limit",
    "wire_gauge_diameter",
]
