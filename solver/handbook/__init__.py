"""Closed formulas of the earthing trade, printed beside a field result as an order check.

Each function says where its formula comes from, refuses input for which it does not hold, and
tells by how much it differs from the field of a metal surface at one potential. None of them
replaces the field solution, the local code or the licensed engineer: most stand for uniform
soil, all for a single simple shape.
"""

from .grid_voltages import GridPlan, GridVoltage, mesh_voltage, perimeter_step_voltage
from .grids import laurent_niemann_resistance, sverak_resistance
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
    driven_rod_resistance,
    encased_rod_resistance,
    rod_in_upper_layer_resistance,
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
    buried_wire_resistance,
    right_angle_resistance,
    ring_resistance,
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
    "buried_wire_resistance",
    "deep_sphere_resistance",
    "driven_rod_resistance",
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
    "laurent_niemann_resistance",
    "mesh_voltage",
    "perimeter_step_voltage",
    "right_angle_resistance",
    "ring_resistance",
    "rod_in_upper_layer_resistance",
    "rod_line_resistance",
    "rod_pair_resistance",
    "schwarz_coefficients",
    "schwarz_resistance",
    "star_resistance",
    "strip_equivalent_radius",
    "strip_on_edge_resistance",
    "surface_disc_resistance",
    "sverak_resistance",
    "vertical_plate_resistance",
]
