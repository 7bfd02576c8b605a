"""Bodies in the soil of the 3-D view: their edges, over all that is solid, and hatching."""

from typing import Any

import numpy as np

from ...solver.model import Floats
from ...solver.results.result import Result
from ..canvas.bodies import angles_of, body_colour, cut_outlines, edges, hatching
from ..canvas.offscreen import graphics
from .blocks import Block


def add_bodies(plotter: Any, *, result: Result, shape: Block) -> None:
    """Edges of bodies in the soil, over all that is left of it, and hatching on the section."""
    if not result.solution.soil.bodies:
        return
    over = layer_over(plotter)
    unit = 1e-3 * float(np.linalg.norm(np.subtract(shape.high, shape.low)))
    for number, body in enumerate(result.solution.soil.bodies):
        lines = edges(body.shape, low=shape.low, high=shape.high, depth=shape.depth)
        for line in lines:
            _add_over(plotter, over, shape.shown(line), radius=0.9 * unit)
        for outline in cut_outlines(
            body.shape,
            origin=np.array([0.0, shape.cut]),
            direction=np.array([1.0, 0.0]),
            start=shape.low[0],
            end=shape.high[0],
            depth=shape.depth,
        ):
            # In the plane of the picture, so that the lines are as far apart both ways.
            flat = outline * [1.0, shape.stretch]
            for angle in angles_of(body, number=number):
                for hatch in hatching(flat, gap=22 * unit, angle=angle):
                    ends = [(x, shape.cut, -z) for x, z in hatch]
                    _add_over(plotter, over, np.array(ends), radius=0.45 * unit)


def _add_over(plotter: Any, over: Any, points: Floats, *, radius: float) -> None:
    """A line as a thin tube in a layer over all that is solid."""
    cells = [len(points), *range(len(points))]
    tube = graphics().PolyData(points, lines=cells).tube(radius=radius, n_sides=8)
    actor = plotter.add_mesh(tube, color=body_colour, lighting=False)
    plotter.renderer.RemoveActor(actor)
    over.AddActor(actor)


def layer_over(plotter: Any) -> Any:
    """What is drawn over all else: metal behind the cut must not vanish, none is before it."""
    from vtkmodules.vtkRenderingCore import vtkRenderer  # loads VTK

    window, over = plotter.render_window, vtkRenderer()
    over.SetLayer(window.GetNumberOfLayers())
    window.SetNumberOfLayers(window.GetNumberOfLayers() + 1)
    over.SetActiveCamera(plotter.camera)
    window.AddRenderer(over)
    return over
