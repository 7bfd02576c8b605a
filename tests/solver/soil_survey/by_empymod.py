"""Four-pin readings by empymod, a general electromagnetic modeller of layered media.

D. Werthmüller, "An open-source full 3D electromagnetic modeler for 1D VTI media in Python:
empymod", Geophysics 82(6), 2017. It has no direct-current mode: one millihertz stands for it.
At such a frequency the voltage depends on the ends of the current's wire only, so the wire is
led round the potential pins at a distance, in three straight pieces.
"""

import itertools

import empymod
import numpy as np

# Gauss points along each piece of wire; 25 change the voltages below by less than 2e-6.
_points = 9


def four_pin_resistance(pins, *, soil, pin_depth):
    """Voltage over current for places (n, 4) along x, pins at one depth below the surface."""
    depth = pin_depth
    out = []
    for row in pins:
        aside = 0.5 * np.ptp(row)
        # Current leaves the wire at its end and is to leave the first pin: back to front.
        corners = [(row[3], 0.0), (row[3], aside), (row[0], aside), (row[0], 0.0)]
        volts = 0.0
        for (x0, y0), (x1, y1) in itertools.pairwise(corners):
            volts += empymod.bipole(
                src=[x0, x1, y0, y1, depth, depth],
                rec=[row[1], row[2], 0.0, 0.0, depth, depth],
                depth=[0.0, *soil.interface_depth],
                res=[2e14, *soil.resistivity],
                freqtime=1e-3,
                srcpts=_points,
                recpts=_points,
                strength=1,
                verb=0,
            ).real
        out.append(float(volts))
    return np.array(out)
