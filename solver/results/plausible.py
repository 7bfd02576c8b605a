"""Whether a result can be: the field that its currents ask of the soil at the metal."""

import numpy as np

from ..model import Floats
from .result import Result

# Soil breaks down at the metal from about here on: studies of lightning take 300 to 400 kV/m
# (from memory). Nothing in this program knows of it. [V/m]
BREAKDOWN_FIELD = 300e3


def field_at_metal(result: Result) -> Floats:
    """Mean field in the soil at the metal of each group, shape (g,). [V/m]

    Notes
    -----
    ρ i / (2 π a) of each length, a the radius of the metal or its sheath, i the current it
    leaks per length, ρ the resistivity of the layer that its middle lies in.
    """
    field, conductors = result.field, result.solution.conductors
    elements, soil = field.solution.elements, result.solution.soil
    depth = -(elements.start[:, 2] + elements.end[:, 2]) / 2
    layer = np.searchsorted(np.cumsum(soil.thickness), depth)
    resistivity = np.asarray(soil.resistivity)[layer]
    radius = conductors.sheath_radius[elements.piece]
    strength = resistivity * np.abs(field.leakage) / (2 * np.pi * radius)
    group = conductors.group[elements.piece]
    count = len(conductors.group_names)
    total = np.bincount(group, weights=strength * elements.length, minlength=count)
    return np.asarray(total / np.bincount(group, weights=elements.length, minlength=count))
