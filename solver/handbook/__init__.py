"""Closed formulas of the earthing trade, printed beside a field result as an order check.

Each function says where its formula comes from, refuses input for which it does not hold, and
tells by how much it differs from the field of a metal surface at one potential. None of them
replaces the field solution, the local code or the licensed engineer: most stand for uniform
soil, all for a single simple shape.
"""

from .grids import laurent_niemann_resistance, sverak_resistance
from .plates import buried_plate_resistance, surface_plate_resistance
from .rods import driven_rod_resistance, rod_in_upper_layer_resistance
from .wires import buried_wire_resistance, ring_resistance

__all__ = [
    "buried_plate_resistance",
    "buried_wire_resistance",
    "driven_rod_resistance",
    "laurent_niemann_resistance",
    "ring_resistance",
    "rod_in_upper_layer_resistance",
    "surface_plate_resistance",
    "sverak_resistance",
]
