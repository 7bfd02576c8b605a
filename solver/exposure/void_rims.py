"""Where the ground ends at voids in the surface: maps end at these lines, not at a raster."""

import numpy as np

from ..bodies import Ball, Cylinder, HalfSpace, Shape
from ..model import Floats, Soil
from ..pairs import numbered
from ..polygons import nearest_on_segments
from .raster import Area

_sides = 72  # at least, of a round rim


def with_rims(places: Floats, *, area: Area, soil: Soil, apart: float) -> Floats:
    """Places of a raster with those on the rims of voids in place of what is nearer to them.

    So near that triangles between the places have the rims for sides.

    Parameters
    ----------
    places : ndarray of float, shape (n, 2)
        [m]
    apart : float
        Largest distance between two places on a rim, that of the raster there. [m]
    """
    start, end = _rims(area, soil=soil, apart=apart)
    if not len(start):
        return places
    count = np.ceil(np.linalg.norm(end - start, axis=1) / apart).astype(int)
    side, step = numbered(np.maximum(count, 1) + 1)
    share = (step / np.maximum(count, 1)[side])[:, None]
    on_rim = np.round(start[side] + share * (end - start)[side], 9)
    reach = apart + np.zeros(2)
    low, high = on_rim.min(axis=0) - reach, on_rim.max(axis=0) + reach
    near = np.flatnonzero(((places >= low) & (places <= high)).all(axis=1))
    nearest = nearest_on_segments(places[near], start=start, end=end)
    gap = np.linalg.norm(places[near] - nearest, axis=1)
    # Corners of the area stay, or the map would lose them.
    corner = np.isin(places[near], [area.low, area.high]).all(axis=1)
    kept = np.ones(len(places), dtype=bool)
    kept[near[(gap < 0.5 * apart) & ~corner]] = False
    return np.unique(np.concatenate([places[kept], on_rim]), axis=0)


def _rims(area: Area, *, soil: Soil, apart: float) -> tuple[Floats, Floats]:
    """Ends of the straight pieces of all rims in an area, shape (n, 2) each. [m]"""
    starts, ends = [np.zeros((0, 2))], [np.zeros((0, 2))]
    voids = {body.name for body in soil.open_voids}
    for body in soil.bodies:
        # Ground that stands in a void has a rim too.
        if body.shape.top > 0 or not voids & {body.name, body.within}:
            continue
        outline = _outline(body.shape, area=area, apart=apart)
        following = np.roll(outline, -1, axis=0)
        if isinstance(body.shape, HalfSpace):
            outline, following = outline[:1], following[:1]
        start, end = _clipped(outline, following, area=area)
        starts.append(start)
        ends.append(end)
    return np.concatenate(starts), np.concatenate(ends)


def _outline(shape: Shape, *, area: Area, apart: float) -> Floats:
    """Corners of the rim of a shape, two places on that of a half-space. [m]"""
    if isinstance(shape, HalfSpace):
        middle = np.add(area.low, area.high) / 2
        foot = middle + float(shape.beyond(middle[None])[0]) * shape.direction
        across = np.array([-shape.direction[1], shape.direction[0]])
        far = float(np.linalg.norm(np.subtract(area.high, area.low)))
        return np.array([foot - far * across, foot + far * across])
    if not isinstance(shape, Ball | Cylinder):
        return shape.corners
    radius = shape.rim if isinstance(shape, Ball) else shape.radius
    count = max(_sides, int(np.ceil(2 * np.pi * radius / apart)))
    angle = 2 * np.pi * np.arange(count) / count
    circle = np.column_stack([np.cos(angle), np.sin(angle)])
    return np.asarray(np.array(shape.centre[:2]) + radius * circle)


def _clipped(start: Floats, end: Floats, *, area: Area) -> tuple[Floats, Floats]:
    """Parts of straight pieces in an area, by Liang and Barsky (1984; from memory)."""
    along = end - start
    first, last = np.zeros(len(start)), np.ones(len(start))
    for axis in (0, 1):
        with np.errstate(divide="ignore", invalid="ignore"):
            low, high = (
                (limit[axis] - start[:, axis]) / along[:, axis]
                for limit in (area.low, area.high)
            )
        level = along[:, axis] == 0
        outside = level & (
            (start[:, axis] < area.low[axis]) | (start[:, axis] > area.high[axis])
        )
        enters = np.where(level, np.where(outside, np.inf, -np.inf), np.fmin(low, high))
        leaves = np.where(level, np.inf, np.fmax(low, high))
        first, last = np.maximum(first, enters), np.minimum(last, leaves)
    some = last > first
    a, b = (start[some] + share[some, None] * along[some] for share in (first, last))
    return a, b
