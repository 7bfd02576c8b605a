"""Rods, conductors, loops, rings and stars as straight pieces."""

import numpy as np

from ...solver.model import Floats
from .pieces import Pieces, elevated
from .schema import Conductor, Loop, Ring, Star
from .schema_rods import Rod


def rod_pieces(part: Rod) -> Pieces:
    """One piece from the top of a rod to its tip."""
    top = elevated([part.at], depth=part.top_depth)
    sideways = np.sin(part.tilt)
    azimuth = part.azimuth or 0.0
    along = np.array(
        [sideways * np.cos(azimuth), sideways * np.sin(azimuth), -np.cos(part.tilt)]
    )
    return Pieces(start=top, end=top + part.length * along, rod=True)


def run_pieces(part: Conductor | Loop) -> Pieces:
    """Pieces of a bent conductor or of a closed polygon, one per side."""
    corners = np.array(part.points, dtype=float)
    depth = corners[:, 2] if part.depth is None else part.depth
    return _along(elevated(corners[:, :2], depth=depth), closed=isinstance(part, Loop))


def ring_pieces(part: Ring) -> Pieces:
    """Pieces of a ring: a regular polygon as long as the circle.

    Notes
    -----
    The corners stand (π/n)/sin(π/n) times the radius from the centre: 0.07 % outside
    the circle with 48 sides, whose middles stand 0.14 % inside it. Metal is kept, area
    is (π/n)/tan(π/n) of the circle's: 0.14 % less.
    """
    radius = part.ring_radius or (part.ring_diameter or 0.0) / 2
    half = np.pi / part.pieces
    angle = 2 * half * np.arange(part.pieces)
    corners = np.column_stack([np.cos(angle), np.sin(angle)]) * radius * half / np.sin(half)
    return _along(elevated(corners + part.centre, depth=part.depth), closed=True)


def star_pieces(part: Star) -> Pieces:
    """One piece per arm, from the centre out."""
    angle = part.first_azimuth + 2 * np.pi * np.arange(part.arms) / part.arms
    tips = np.column_stack([np.cos(angle), np.sin(angle)]) * part.arm_length + part.centre
    ends = elevated(tips, depth=part.depth)
    start = np.broadcast_to(elevated([part.centre], depth=part.depth), ends.shape)
    return Pieces(start=start.copy(), end=ends)


def _along(corners: Floats, *, closed: bool) -> Pieces:
    run = np.vstack([corners, corners[:1]]) if closed else corners
    return Pieces(start=run[:-1], end=run[1:], run=run, run_nodes=corners)
