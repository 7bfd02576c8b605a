"""Bodies in the soil of the 3-D view: their edges, over all that is solid, and hatching."""

from typing import Any

import numpy as np

from ...solver.model import Floats
from ...solver.results.result import Result
from ..canvas.bodies import angles_of, body_colour, cut_outlines, edges, hatching
from ..canvas.offscreen import graphics
from ..canvas.smoothing import flat
from .blocks import Block


def add_bodies(over: Any, *, result: Result, shape: Block) -> None:
    """Edges of bodies in the soil, over all that is left of it, and hatching on the section."""
    unit = 1e-3 * float(np.linalg.norm(np.subtract(shape.high, shape.low)))
    for number, body in enumerate(result.solution.soil.bodies):
        lines = edges(body.shape, low=shape.low, high=shape.high, depth=shape.depth)
        for line in lines:
            _add_over(over, shape.shown(line), radius=0.9 * unit)
        for outline in cut_outlines(
            body.shape,
            origin=np.array([0.0, shape.cut]),
            direction=np.array([1.0, 0.0]),
            start=shape.low[0],
            end=shape.high[0],
            depth=shape.depth,
        ):
            # In the plane of the picture, so that the lines are as far apart both ways.
            stretched = outline * [1.0, shape.stretch]
            for angle in angles_of(body, number=number):
                for hatch in hatching(stretched, gap=22 * unit, angle=angle):
                    ends = [(x, shape.cut, -z) for x, z in hatch]
                    _add_over(over, np.array(ends), radius=0.45 * unit)


def _add_over(over: Any, points: Floats, *, radius: float) -> None:
    """A line as a thin tube in a layer over all that is solid."""
    cells = [len(points), *range(len(points))]
    tube = graphics().PolyData(points, lines=cells).tube(radius=radius, n_sides=8)
    over.AddActor(flat(tube, colour=body_colour))
