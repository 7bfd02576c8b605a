"""Electrodes and soils drawn at random, for the tests and the benchmark of both methods."""

import field_layouts as lay
import numpy as np

from ohmscape.solver.model import Soil

ELECTRODES = {
    "rod": lay.rod(length=3.0, radius=0.008),
    "ring": lay.ring(diameter=10.0, radius=0.005, depth=0.75),
    "grid": lay.grid(sides=(21.0, 14.0), lines=(4, 3), radius=0.005, depth=0.5),
}


def drawn(random: np.random.Generator) -> Soil:
    """Two to five layers of 0.2 to 8 m and 3 to 5000 Ω·m, drawn evenly in the logarithm."""
    count = int(random.integers(2, 6))
    resistivity = np.exp(random.uniform(np.log(3.0), np.log(5000.0), count))
    thickness = np.exp(random.uniform(np.log(0.2), np.log(8.0), count - 1))
    return Soil(tuple(resistivity.tolist()), tuple(thickness.tolist()))
