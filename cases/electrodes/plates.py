"""Plates, tank bottoms and piles as patches."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from ...solver.errors import CaseError
from ...solver.model import Floats
from ...solver.patches import axes_of, disc, polygon, rectangle
from ...solver.polygons import convex_parts
from .pieces import Pieces, elevated
from .schema_plates import BoxPile, Flat, Plate, SheetPile, TankBottom

DOWN = np.array([0.0, 0.0, -1.0])


def flat_pieces(part: Flat) -> Pieces:
    """Patches of a part that is a surface, each a piece."""
    if isinstance(part, SheetPile):
        return _pieces(_walls(part))
    if isinstance(part, BoxPile):
        return _pieces(_box(part))
    if isinstance(part, TankBottom):
        (centre,) = elevated([part.centre], depth=part.depth)
        along, across = _axes(0.0, 0.0)
        radius = part.tank_diameter / 2
        return _pieces([disc(centre, radius=radius, along=along, across=across)])
    assert isinstance(part, Plate)
    return _pieces([_plate(part)])


def flat_count(part: Flat) -> int:
    """Number of plates of a part."""
    if isinstance(part, SheetPile):
        return len(part.points) - 1
    if isinstance(part, BoxPile):
        return 5 + (part.top_depth > 0)
    return 1


def _plate(part: Plate) -> Floats:
    if part.outline is not None:
        parts = convex_parts(np.array(part.outline))
        return np.concatenate([polygon(elevated(each, depth=part.depth)) for each in parts])
    (centre,) = elevated([part.centre or (0.0, 0.0)], depth=part.depth)
    along, across = _axes(part.azimuth, part.tilt)
    rise = abs(float(across[2]))
    half = (part.plate_diameter or (part.size or (0.0, 0.0))[1]) / 2
    if half * rise > part.depth + 1e-9:
        msg = (
            f"reaches {half * rise - part.depth:.4g} m above ground; its centre must be "
            f"{half * rise:.4g} m deep or more"
        )
        raise CaseError(msg)
    if part.plate_diameter is not None:
        made = disc(centre, radius=half, along=along, across=across)
    else:
        assert part.size is not None
        made = rectangle(centre, along=part.size[0] * along, across=part.size[1] * across)
    made[..., 2] = np.minimum(made[..., 2], 0.0)  # round-off where an edge is in the surface
    return made


def _axes(azimuth: float, tilt: float) -> tuple[Floats, Floats]:
    """Level axis of a plate and the one that slopes down to its left, unit vectors."""
    along = np.array([np.cos(azimuth), np.sin(azimuth), 0.0])
    left = np.array([-along[1], along[0], 0.0])
    return along, np.cos(tilt) * left + np.sin(tilt) * DOWN


def _walls(part: SheetPile) -> list[Floats]:
    corners = elevated(part.points, depth=part.top_depth)
    middle = 0.5 * part.length * DOWN
    return [
        rectangle(0.5 * (a + b) + middle, along=b - a, across=part.length * DOWN)
        for a, b in pairwise(corners)
    ]


def _box(part: BoxPile) -> list[Floats]:
    """Its four faces, its tip and, where it is buried, its head."""
    (head,) = elevated([part.at], depth=part.top_depth)
    along, across = _axes(part.azimuth, 0.0)
    one, other = part.size[0] * along, part.size[1] * across
    down = part.length * DOWN
    middle = head + 0.5 * down
    faces = [
        rectangle(middle + sign * 0.5 * off, along=side, across=down)
        for side, off in ((one, other), (other, one))
        for sign in (-1.0, 1.0)
    ]
    ends = [head + down, head] if part.top_depth > 0 else [head + down]
    return [*faces, *(rectangle(end, along=one, across=other) for end in ends)]


def _pieces(plates: Sequence[Floats]) -> Pieces:
    corners = np.concatenate(plates)
    start, end, radius = axes_of(corners)
    plate = np.repeat(np.arange(len(plates)), [len(one) for one in plates])
    return Pieces(start=start, end=end, radius=radius, plate=plate, corners=corners)
