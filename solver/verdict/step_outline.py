"""Where steps fall below a chosen voltage: closed outlines, and how far from live metal."""

import numpy as np

from ..exposure.between_samples import step_samples
from ..exposure.worst import worst_step
from ..model import Flags
from ..polygons import nearest_on_segments
from ..solved_soil import Field
from .findings import StepOutline
from .outline import closed_outlines, level_segments, on_edge, outermost
from .scene import Scene

_looked_at = 40  # as for the places that are judged
_dead = 1e-6  # a net current of less, of the largest, is round-off of none


def step_outline(voltage: float, *, scene: Scene) -> StepOutline:
    """Outline of a step voltage, and its distance from the nearest live metal."""
    surface, conductors = scene.surface, scene.field.solution.conductors
    samples = step_samples(surface, field=scene.field, levels=np.array([voltage]))
    segments = level_segments(
        samples.places, triangles=samples.triangles, values=samples.step, level=voltage
    )
    live = live_pieces(scene.field)
    start, end = conductors.start[live, :2], conductors.end[live, :2]
    ends = np.concatenate([start, end])
    centre = (ends.min(axis=0) + ends.max(axis=0)) / 2
    above = samples.places[samples.step >= voltage]
    # Between the places of the map steps are a little larger than at any of them.
    worst = worst_step(surface, field=scene.field, area=scene.area, most=_looked_at)
    feet = [(item.foot, item.other_foot) for item in worst if item.voltage >= voltage]
    far = np.concatenate(
        [above, segments.reshape(-1, 2), np.array(feet, dtype=float).reshape(-1, 2)]
    )
    nearest = nearest_on_segments(far, start=start, end=end)
    low, high = np.array(scene.area.low), np.array(scene.area.high)
    return StepOutline(
        voltage=voltage,
        segments=segments,
        centre=(float(centre[0]), float(centre[1])),
        radius=float(np.linalg.norm(far - centre, axis=1).max(initial=0.0)),
        whole=not on_edge(above, low=low, high=high).any(),
        distance=float(np.linalg.norm(far - nearest, axis=1).max(initial=0.0)),
        polygons=outermost(closed_outlines(segments)),
    )


def live_pieces(field: Field) -> Flags:
    """Whether each piece is of a group that feeds current into the soil, shape (pieces,).

    Metal without a drive takes on a voltage, but what enters it leaves it again.
    """
    current = np.abs(field.group_current())
    return np.asarray((current > _dead * current.max())[field.solution.conductors.group])
