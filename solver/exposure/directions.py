"""In which direction a step may be the largest, by a surface that is read quickly."""

import numpy as np
from scipy.spatial import cKDTree

from ..model import Floats, Phasors
from ..solved_soil import Field
from ..threads import in_threads
from .quick_surface import QuickSurface
from .raster import plan_points

_directions = 72
_halvings = 8  # of the angle in which a step just misses a void
_batch = 2_000  # places that all directions are tried of at once


def towards_metal(places: Floats, *, field: Field, spacing: float) -> Floats:
    """Direction to the nearest metal in plan, where a spline is blind to a thin rod. [rad]"""
    conductors = field.solution.conductors
    along = plan_points(conductors.start, end=conductors.end, spacing=spacing)
    offset = along[cKDTree(along).query(places)[1]] - places
    return np.arctan2(offset[:, 1], offset[:, 0])


def steepest(
    places: Floats, *, potential: Phasors, surface: QuickSurface, field: Field, pace: float
) -> Floats:
    """The two directions in which a pace differs most by a quick surface, (2, n). [rad]

    Of each peak among the directions tried, the top of the parabola through its neighbours;
    none that ends in a void.
    """
    angle = 2 * np.pi * np.arange(_directions) / _directions
    to_x, to_y = pace * np.array([np.cos(angle), np.sin(angle)]) / surface.raster.step[:, None]
    nodes = (places - surface.raster.low) / surface.raster.step
    ends_anywhere = not field.solution.soil.open_voids

    def of_batch(first: int) -> Floats:
        batch = slice(first, first + _batch)
        x, y = nodes[batch, 0, None] + to_x, nodes[batch, 1, None] + to_y
        size = np.abs(potential[batch, None] - surface.at(x, y))
        if not ends_anywhere:
            row, way = np.divmod(np.arange(size.size), _directions)
            ends = a_pace_on(places[batch][row], angle[way], pace=pace)
            size[~field.on_ground(ends).reshape(size.shape)] = 0.0
        round_it = np.concatenate([size[:, -1:], size, size[:, :1]], axis=1)
        before, after = round_it[:, :-2], round_it[:, 2:]
        peaks = np.where((size >= before) & (size >= after), size, -1.0)
        row, found = np.arange(len(size)), []
        for _ in range(2):
            top = peaks.argmax(axis=1)
            here, one, other = (values[row, top] for values in (size, before, after))
            bend = np.minimum(one + other - 2 * here, -1e-12 * here.max(initial=1e-300))
            shift = np.clip(0.5 * (one - other) / bend, -0.5, 0.5)
            found.append(2 * np.pi / _directions * (top + shift))
            peaks[row, top] = -1.0
        return np.array(found)

    parts = in_threads(of_batch, range(0, len(places), _batch))
    return np.concatenate([np.zeros((2, 0)), *parts], axis=1)


def along_voids(
    places: Floats, *, potential: Phasors, surface: QuickSurface, field: Field, pace: float
) -> tuple[Floats, ...]:
    """Direction of the largest step that just misses a void, (n,); none without one. [rad]

    The worst step from beside a wall often leads along it, between the directions tried.
    """
    if not field.solution.soil.open_voids:
        return ()
    tried = 2 * np.pi * np.arange(_directions) / _directions
    row, way = np.divmod(np.arange(len(places) * _directions), _directions)
    stands = field.on_ground(a_pace_on(places[row], tried[way], pace=pace))
    table = stands.reshape(-1, _directions)
    rows, angles = [], []
    for turn in (-1, 1):
        row, way = np.nonzero(table & ~np.roll(table, -turn, axis=1))
        over, short = tried[way], tried[way] + turn * 2 * np.pi / _directions
        for _ in range(_halvings):
            middle = (over + short) / 2
            still = field.on_ground(a_pace_on(places[row], middle, pace=pace))
            over, short = np.where(still, middle, over), np.where(still, short, middle)
        rows.append(row)
        angles.append(over)
    row, angle = np.concatenate(rows), np.concatenate(angles)
    value, _ = surface.smoothly(a_pace_on(places[row], angle, pace=pace))
    order = np.lexsort([np.abs(potential[row] - value), row])
    best = order[np.flatnonzero(np.diff(row[order], append=-1))]
    found = np.zeros(len(places))
    found[row[best]] = angle[best]
    return (found,)


def a_pace_on(places: Floats, angle: Floats, *, pace: float) -> Floats:
    """Where the other foot is, a pace from each place in a direction. [m]"""
    return places + pace * np.column_stack([np.cos(angle), np.sin(angle)])
