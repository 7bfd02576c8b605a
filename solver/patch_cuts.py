"""Patches cut: at planes between layers, finer near better soil, no larger than asked."""

import numpy as np

from .arrays import Flags, Floats, Integers
from .model import Soil
from .patches import sizes

_flush = 1e-9  # with a plane [m]
_most_halvings = 12  # of a patch that slopes towards better soil
_an_end = 0.1  # of its height: so near a plane or far through it the edge of a plate may be
_in_better = 1.8  # times farther may the end of one be in that soil, of a tip that enters it
_halves = np.array([0.0, 0.5, 1.0])
# As `graded` has it, in three to the middle.
_at_a_plane = np.array([0.0, 1 / 54, 4 / 27, 0.5, 23 / 27, 53 / 54, 1.0])


def cut_at_heights(corners: Floats, *, heights: Floats) -> tuple[Floats, Integers]:
    """Patches cut where they cross planes, and which each is of: (m, 4, 3), (m,). [m]"""
    piece = np.arange(len(corners))
    for height in heights.tolist():
        above = corners[:, :, 2] - height
        across = (above.max(axis=1) > _flush) & (above.min(axis=1) < -_flush)
        if not across.any():
            continue
        made = [corners[~across]], [piece[~across]]
        for k in np.flatnonzero(across).tolist():
            for side in (1.0, -1.0):
                quads = _quadrilaterals(_beyond(corners[k], side * above[k]))
                made[0].append(quads)
                made[1].append(np.full(len(quads), piece[k]))
        corners, piece = np.concatenate(made[0]), np.concatenate(made[1])
    return corners, piece


def _beyond(outline: Floats, off: Floats) -> Floats:
    """What of a convex outline lies where a distance from a plane is not negative."""
    kept = []
    for k in range(len(outline)):
        ahead = (k + 1) % len(outline)
        if off[k] >= -_flush:
            kept.append(outline[k])
        if min(off[k], off[ahead]) < -_flush and max(off[k], off[ahead]) > _flush:
            share = off[k] / (off[k] - off[ahead])
            kept.append(outline[k] + share * (outline[ahead] - outline[k]))
    return np.array(kept)


def _quadrilaterals(outline: Floats) -> Floats:
    """Quadrilaterals, the last a triangle where need be, that make up a convex outline."""
    count = len(outline)
    rows = [[0, k, k + 1, min(k + 2, count - 1)] for k in range(1, count - 1, 2)]
    return outline[np.array(rows)]


def finer_towards_better(
    corners: Floats, *, plate: Integers, soil: Soil, most: float, contrast: float
) -> tuple[Floats, Integers]:
    """Patches cut finer at the edges of plates that come near to much better soil. [m]

    Parameters
    ----------
    corners : ndarray of float, shape (n, 4, 3)
        None crosses a plane. [m]
    plate : ndarray of int, shape (n,)
        Plate of each.
    most : float
        How many times farther from a plane than its nearest corner any of one may be.
    contrast : float
        Planes between soils that are less apart are left out.

    Returns
    -------
    corners, piece : ndarray, shape (m, 4, 3), (m,)
        [m], and which each is of.

    Notes
    -----
    Much better soil is like metal at another voltage: the density goes with the inverse of
    the distance from it. What touches a plane, at a plate that goes a little through it, is
    cut like a plate, finer towards both ends.
    """
    piece = np.arange(len(corners))
    steps = np.diff(np.log(soil.conductivity))
    for height, step in zip(-soil.interface_depth, steps, strict=True):
        if abs(step) < np.log(contrast):
            continue
        near_it = ends_near(corners, plate=plate[piece], height=height)
        off = np.abs(corners[:, :, 2] - height)
        touching = near_it & (off.min(axis=1) <= _flush) & (off.max(axis=1) > _flush)
        corners, piece = _cut(corners, piece, where=touching, shares=_at_a_plane)
        for _ in range(_most_halvings):
            gap = np.sign(step) * (corners[:, :, 2] - height)  # above 0 in the poorer soil
            near, far = np.abs(gap).min(axis=1), np.abs(gap).max(axis=1)
            ratio = np.where(gap.mean(axis=1) > 0, most, max(most, _in_better))
            steep = ends_near(corners, plate=plate[piece], height=height)
            steep &= (near > _flush) & (far > ratio * near)
            if not steep.any():
                break
            corners, piece = _cut(corners, piece, where=steep, shares=_halves)
    return corners, piece


def ends_near(corners: Floats, *, plate: Integers, height: float) -> Flags:
    """Whether each patch is of a plate that ends near a plane, on either side, shape (n,)."""
    off = corners[:, :, 2] - height
    low, high = (np.full(int(plate.max()) + 1, end) for end in (np.inf, -np.inf))
    np.minimum.at(low, plate, off.min(axis=1))
    np.maximum.at(high, plate, off.max(axis=1))
    near = np.minimum(np.abs(low), np.abs(high)) < _an_end * (high - low)
    return np.asarray(near[plate])


def _cut(
    corners: Floats, piece: Integers, *, where: Flags, shares: Floats
) -> tuple[Floats, Integers]:
    """Some patches cut at shares of their length where they fall the most."""
    if not where.any():
        return corners, piece
    a, b, c, d = np.moveaxis(corners[where], 1, 0)
    along = np.abs((b + c - a - d)[:, 2])
    across = np.abs((c + d - a - b)[:, 2]) > along
    turned = across[:, None]
    a, b, c, d = (np.where(turned, two, one) for one, two in ((a, b), (b, c), (c, d), (d, a)))
    lower = a[:, None] + shares[:, None] * (b - a)[:, None]
    upper = d[:, None] + shares[:, None] * (c - d)[:, None]
    parts = np.stack([lower[:, :-1], lower[:, 1:], upper[:, 1:], upper[:, :-1]], axis=2)
    # Their middle lines run as that of the whole.
    parts[across] = np.roll(parts[across], 1, axis=2)
    count = len(shares) - 1
    return (
        np.concatenate([corners[~where], parts.reshape(-1, 4, 3)]),
        np.concatenate([piece[~where], np.repeat(piece[where], count)]),
    )


def no_larger(corners: Floats, *, most: Floats) -> tuple[Floats, Integers]:
    """Patches cut in four until none is larger than allowed, and which each is of. [m]"""
    piece = np.arange(len(corners))
    while True:
        large = sizes(corners) > most[piece]
        if not large.any():
            return corners, piece
        corners = np.concatenate([corners[~large], quarters(corners[large])])
        piece = np.concatenate([piece[~large], np.repeat(piece[large], 4)])


def quarters(corners: Floats) -> Floats:
    """Each patch in four, one after another, shape (4 n, 4, 3). [m]"""
    middle = corners.mean(axis=1)
    sides = 0.5 * (corners + np.roll(corners, -1, axis=1))
    parts = np.stack(
        [
            np.stack([corners[:, k], sides[:, k], middle, sides[:, k - 1]], axis=1)
            for k in range(4)
        ],
        axis=1,
    )
    return np.asarray(parts.reshape(-1, 4, 3))
