"""Grids as straight pieces: lines in two directions inside an outline, and the outline."""

import numpy as np

from ...solver.errors import CaseError
from ...solver.model import Floats
from ...solver.polygons import distance_to_sides, fault_of_outline, signed_area
from ..reading.polygons import clipped_line, strictly_inside
from .pieces import Nodes, Pieces, elevated, rotated
from .schema import Area, Grid


def grid_pieces(part: Grid) -> Pieces:
    """Sides of the outline and the grid lines clipped to it, whole lines, not yet split.

    `CaseError` if the outline crosses itself, or listed spacings do not fill the grid.
    """
    outline, origin = local_outline(part)
    low, high = outline.min(axis=0), outline.max(axis=0)
    lines = [
        _positions(part, axis=axis, low=low[axis], size=high[axis] - low[axis])
        for axis in (0, 1)
    ]
    start, end = [outline], [np.roll(outline, -1, axis=0)]
    for axis in (0, 1):
        for at in lines[1 - axis][1:-1]:
            stretches = clipped_line(outline, axis=axis, at=at)
            for ends, column in ((start, 0), (end, 1)):
                points = np.full((len(stretches), 2), at)
                points[:, axis] = stretches[:, column]
                ends.append(points)
    return _placed(part, np.vstack(start), np.vstack(end), outline, lines, origin)


def spacing_weights(meshes: int, *, compression: float) -> Floats:
    """Relative widths of meshes, each `compression` times its inner neighbour."""
    from_middle = np.floor(np.abs(np.arange(meshes) - (meshes - 1) / 2))
    return np.asarray(compression**from_middle)


def local_outline(part: Area) -> tuple[Floats, Floats]:
    """Outline on the grid's own axes, counter-clockwise, and the point it turns about."""
    if part.outline is not None:
        given = np.array(part.outline)
        fault = fault_of_outline(given)
        if fault:
            msg = f"outline: {fault}; list the corners once, in order round the area"
            raise CaseError(msg)
        if signed_area(given) < 0:
            given = np.vstack([given[:1], given[:0:-1]])
        origin = given[0]
        return rotated(given - origin, angle=-part.rotation), origin
    assert part.size is not None
    outline = np.array([[0, 0], [1, 0], [1, 1], [0, 1]]) * np.array(part.size)
    if part.centre is not None:
        return outline - np.array(part.size) / 2, np.array(part.centre)
    return outline, np.array(part.corner)


def _positions(part: Grid, *, axis: int, low: float, size: float) -> Floats:
    """Places of the lines across an axis, the two sides of the bounding rectangle included."""
    if part.spacings is not None:
        widths = np.array((part.spacings.x, part.spacings.y)[axis])
        # A millionth: lists are written with a few digits.
        if abs(widths.sum() - size) > 1e-6 * size:
            letter = "xy"[axis]
            msg = (
                f"spacings: those along {letter} add up to {widths.sum():.6g} m, the grid "
                f"measures {size:.6g} m along {letter}; make them agree"
            )
            raise CaseError(msg)
    else:
        assert part.meshes is not None
        widths = spacing_weights(part.meshes[axis], compression=part.compression)
    steps = np.concatenate([[0.0], np.cumsum(widths)])
    return np.asarray(low + size * steps / steps[-1])


def _placed(
    part: Grid, start: Floats, end: Floats, outline: Floats, lines: list[Floats], origin: Floats
) -> Pieces:
    """Pieces at their place in the soil, with the nodes rods may hang from."""

    def place(plan: Floats) -> Floats:
        return elevated(rotated(plan, angle=part.rotation) + origin, depth=part.depth)

    eps = 1e-9 * float(np.ptp(outline, axis=0).max())
    i, j = np.meshgrid(*(np.arange(len(at)) for at in lines), indexing="ij")
    lattice = np.column_stack([lines[0][i.ravel()], lines[1][j.ravel()]])
    kept = strictly_inside(lattice, outline=outline, margin=0.0)
    kept |= distance_to_sides(lattice, outline=outline) <= eps
    position = np.column_stack([i.ravel(), j.ravel()])[kept]
    tips = np.vstack([outline, start[len(outline) :], end[len(outline) :]])
    run = place(outline)
    return Pieces(
        start=place(start),
        end=place(end),
        run=np.vstack([run, run[:1]]),
        run_nodes=place(_in_order(tips, outline=outline, eps=eps)),
        nodes=Nodes(inside=place(lattice[kept]), position=position),
    )


def _in_order(points: Floats, *, outline: Floats, eps: float) -> Floats:
    """Points on an outline in the order in which they are met along it, each once."""
    ordered: list[Floats] = []
    for a, b in zip(outline, np.roll(outline, -1, axis=0), strict=True):
        u = (b - a) / np.hypot(*(b - a))
        along = (points - a) @ u
        off = np.abs((points - a) @ np.array([-u[1], u[0]]))
        here = (off <= eps) & (along >= -eps) & (along < np.hypot(*(b - a)) - eps)
        order = np.flatnonzero(here)[np.argsort(along[here], kind="stable")]
        distinct = np.concatenate([[True], np.diff(along[order]) > eps])
        ordered.append(points[order[distinct]])
    return np.vstack(ordered)
