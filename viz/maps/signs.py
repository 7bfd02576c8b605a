"""On which side of a touch map the soil is above the metal: a line with ticks, or a word."""

from dataclasses import dataclass

import numpy as np

from ...solver.exposure.places import TouchableMetal
from ...solver.model import Floats, Integers, Phasors
from ...solver.results.result import Result
from ...solver.verdict.outline import level_segments

_nothing = 1e-3  # of the largest voltage: a foot on the metal itself is at its voltage
# Of the longer side of the view: from tick to tick, and their length.
_apart, _tick = 0.03, 0.012


@dataclass(frozen=True)
class SoilAbove:
    """Where the soil is above the metal that is touched.

    Attributes
    ----------
    line : ndarray of float, shape (n, 2, 2)
        Pieces of the line at which it begins, and ticks that point to where it is; none where
        it is above everywhere. [m]
    words : str
        What the line means; what holds everywhere, where there is no line.
    """

    line: Floats
    words: str


def soil_above(
    result: Result,
    metal: TouchableMetal,
    *,
    places: Floats,
    triangles: Integers,
    potential: Phasors,
) -> SoilAbove | None:
    """Where the soil within reach is above a metal; None where it nowhere is.

    Parameters
    ----------
    places, triangles, potential
        Samples of the surface round the metal. [m], [V]
    """
    field = result.field

    def signed(potential: Phasors, where: Floats) -> Floats:
        held = field.metal_voltage(metal.group, places=where)
        return field.on_side_of_rise(held - potential)

    values = signed(potential, places)
    reached = metal.within_reach(places)
    if not reached.any():
        return None
    level = -_nothing * float(np.abs(values[reached]).max())
    if values[reached].min() >= level:
        return None
    pieces = level_segments(places, triangles=triangles, values=values, level=level)
    middle = pieces.mean(axis=1)
    pieces = pieces[metal.within_reach(middle)]
    if not len(pieces):
        return SoilAbove(pieces, f"the soil is above '{metal.name}' everywhere here")
    span = float(np.ptp(places[reached], axis=0).max())
    cell = np.floor(pieces.mean(axis=1) / (_apart * span)).astype(np.int64)
    chosen = pieces[np.unique(cell, axis=0, return_index=True)[1]]
    along = chosen[:, 1] - chosen[:, 0]
    length = np.linalg.norm(along, axis=1)
    chosen, along = chosen[length > 0], along[length > 0] / length[length > 0, None]
    across = min(_tick * span, metal.reach / 4) * np.column_stack([-along[:, 1], along[:, 0]])
    start = chosen.mean(axis=1)
    sides = (start + across, start - across)
    one, other = (signed(field.surface_potential(each), each) for each in sides)
    ends = start + np.where(one < other, 1.0, -1.0)[:, None] * across
    line = np.concatenate([pieces, np.stack([start, ends], axis=1)])
    return SoilAbove(
        line, f"thin line: its ticks point to where the soil is above '{metal.name}'"
    )
