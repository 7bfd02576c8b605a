"""Where the rods of an array stand."""

import numpy as np

from ...solver.errors import CaseError
from ...solver.model import Floats
from .pieces import Pieces, elevated, rotated
from .schema_rods import Rods, RodsAlong, RodsAtNodes, RodsOnRectangle


def rods_pieces(part: Rods, *, host: Pieces | None) -> Pieces:
    """One vertical piece for each rod of an array; the host is what they hang from, if any.

    `CaseError` if the host has no run or nodes of the kind asked for.
    """
    if part.along is not None:
        top = _along(part.along, host)
    elif part.nodes is not None:
        top = _at_nodes(part.nodes, host)
    else:
        assert part.top_depth is not None
        top = elevated(_plan(part), depth=part.top_depth)
    return Pieces(start=top, end=top - [0.0, 0.0, part.length], rod=True)


def rectangle_points(part: RodsOnRectangle) -> Floats:
    """Places of rods round or over a rectangle, shape (n, 2), each once. [m]"""
    i, j = (
        n.ravel() for n in np.meshgrid(*(np.arange(n) for n in part.per_side), indexing="ij")
    )
    if not part.filled:
        last_i, last_j = (n - 1 for n in part.per_side)
        rim = (i == 0) | (i == last_i) | (j == 0) | (j == last_j)
        i, j = i[rim], j[rim]
    size = np.array(part.size)
    local = np.column_stack([i, j]) * size / (np.array(part.per_side) - 1)
    if part.centre is not None:
        local -= size / 2
    place = np.array(part.corner if part.centre is None else part.centre)
    return np.asarray(rotated(local, angle=part.rotation) + place)


def _plan(part: Rods) -> Floats:
    if part.line is not None:
        return np.linspace(part.line.start, part.line.end, part.line.count)
    if part.circle is not None:
        circle = part.circle
        angle = circle.first_azimuth + 2 * np.pi * np.arange(circle.count) / circle.count
        unit = np.column_stack([np.cos(angle), np.sin(angle)])
        return np.asarray(unit * circle.circle_radius + circle.centre)
    if part.rectangle is not None:
        return rectangle_points(part.rectangle)
    return np.array(part.points, dtype=float)


def _along(layout: RodsAlong, host: Pieces | None) -> Floats:
    if host is None or host.run is None or host.run_nodes is None:
        msg = (
            f"along: {layout.part!r} has no outline or run; "
            "name a grid, ring, loop or conductor"
        )
        raise CaseError(msg)
    if layout.every is not None:
        return host.run_nodes[:: layout.every]
    assert layout.count is not None
    sides = np.linalg.norm(np.diff(host.run, axis=0), axis=1)
    passed = np.concatenate([[0.0], np.cumsum(sides)])
    # A closed run ends where it began: its last rod stands one step before that.
    at = np.linspace(0.0, passed[-1], layout.count, endpoint=not host.closed)
    side = np.clip(np.searchsorted(passed, at, side="right") - 1, 0, len(sides) - 1)
    share = (at - passed[side]) / sides[side]
    return np.asarray(host.run[side] + share[:, None] * (host.run[side + 1] - host.run[side]))


def _at_nodes(layout: RodsAtNodes, host: Pieces | None) -> Floats:
    if host is None or host.nodes is None:
        msg = f"nodes: {layout.part!r} is no grid; name a grid of the same electrode"
        raise CaseError(msg)
    chosen = (host.nodes.position % layout.every == 0).all(axis=1)
    return np.asarray(host.nodes.inside[chosen])
