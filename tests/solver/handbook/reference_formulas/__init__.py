"""Closed formulas of the earthing trade that no run prints, with their sources.

Most stand for uniform soil, all for a single simple shape. The tests beside this folder hold
them, and those that a run prints (`solver/handbook`), against worked examples, against each
other and against fields.
"""

from .grid_voltages import GridPlan, GridVoltage, mesh_voltage, perimeter_step_voltage
from .groups import (
    HOLLOW_SQUARE_FACTOR,
    IEEE_142_FACTOR,
    LINE_FACTOR,
    hollow_square_resistance,
    ieee_142_group_resistance,
    rod_line_resistance,
)
from .plates import (
    horizontal_plate_resistance,
    surface_disc_resistance,
    vertical_plate_resistance,
)
from .rods import (
    encased_rod_resistance,
    rod_pair_resistance,
)
from .schwarz import (
    SchwarzCoefficients,
    SchwarzResistance,
    schwarz_coefficients,
    schwarz_resistance,
)
from .spheroids import (
    backfilled_hemisphere_resistance,
    deep_sphere_resistance,
    half_spheroid_resistance,
    hemisphere_resistance,
)
from .strips import flat_strip_resistance, strip_equivalent_radius, strip_on_edge_resistance
from .surface_voltages import (
    driven_rod_step_voltage,
    driven_rod_surface_potential,
    driven_rod_touch_voltage,
    half_spheroid_surface_potential,
)
from .wires import (
    right_angle_resistance,
    star_resistance,
)

__all__ = [
    "HOLLOW_SQUARE_FACTOR",
    "IEEE_142_FACTOR",
    "LINE_FACTOR",
    "GridPlan",
    "GridVoltage",
    "SchwarzCoefficients",
    "SchwarzResistance",
    "backfilled_hemisphere_resistance",
    "deep_sphere_resistance",
    "driven_rod_step_voltage",
    "driven_rod_surface_potential",
    "driven_rod_touch_voltage",
    "encased_rod_resistance",
    "flat_strip_resistance",
    "half_spheroid_resistance",
    "half_spheroid_surface_potential",
    "hemisphere_resistance",
    "hollow_square_resistance",
    "horizontal_plate_resistance",
    "ieee_142_group_resistance",
    "mesh_voltage",
    "perimeter_step_voltage",
    "right_angle_resistance",
    "rod_line_resistance",
    "rod_pair_resistance",
    "schwarz_coefficients",
    "schwarz_resistance",
    "star_resistance",
    "strip_equivalent_radius",
    "strip_on_edge_resistance",
    "surface_disc_resistance",
    "vertical_plate_resistance",
]
