"""Where points lie on patches of plates, and where segments come near to them."""

import numpy as np
from scipy.spatial import cKDTree

from .arrays import Flags, Floats, Integers
from .pairs import pairs_within
from .patches import normals, sizes

_on = 1e-9  # m


def on_patches(points: Floats, *, corners: Floats) -> tuple[Integers, Integers]:
    """Pairs of points and patches that they lie on, edges included, to round-off."""
    if not len(corners) or not len(points):
        return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
    patch, point = pairs_within(
        cKDTree(points), centres=corners.mean(axis=1), radius=sizes(corners) + _on
    )
    outline, off = corners[patch], points[point][:, None] - corners[patch]
    normal = normals(outline)
    normal /= np.linalg.norm(normal, axis=1)[:, None]
    on = np.abs(np.einsum("ni,ni->n", off[:, 0], normal)) <= _on
    on &= _over(points[point], outline, normal)
    return point[on], patch[on]


def near_patches(
    start: Floats, *, end: Floats, corners: Floats, within: Floats
) -> tuple[Flags, Floats]:
    """Whether segments come as near to a patch each, shape (n,), and where, (n, 3). [m]"""
    normal = normals(corners)
    normal /= np.linalg.norm(normal, axis=1)[:, None]
    off = [np.einsum("ni,ni->n", one - corners[:, 0], normal) for one in (start, end)]
    span = off[0] - off[1]
    crosses = off[0] * off[1] <= 0
    share = np.where(crosses & (span != 0), off[0] / np.where(span == 0, 1.0, span), 0.0)
    through = start + share[:, None] * (end - start)
    near, place = crosses & _over(through, corners, normal), through.copy()
    for tip, gap in ((start, off[0]), (end, off[1])):
        met = (np.abs(gap) <= within) & _over(tip, corners, normal)
        place[met & ~near] = tip[met & ~near]
        near |= met
    for k in range(4):
        a, b = corners[:, k], corners[:, (k + 1) % 4]
        gap, there = _between_segments(start, end, a, b)
        met = gap <= within
        place[met & ~near] = there[met & ~near]
        near |= met
    return near, place


def _over(points: Floats, corners: Floats, normal: Floats) -> Flags:
    """Whether each point is straight over or under its patch."""
    inside = np.ones(len(points), dtype=bool)
    for k in range(4):
        edge = corners[:, (k + 1) % 4] - corners[:, k]
        inwards = np.cross(normal, edge)
        off = np.einsum("ni,ni->n", points - corners[:, k], inwards)
        inside &= off >= -_on * np.linalg.norm(edge, axis=1)
    return inside


def _between_segments(a: Floats, b: Floats, c: Floats, d: Floats) -> tuple[Floats, Floats]:
    """Smallest distance of segments a-b and c-d, shape (n,), and where on the first. [m]"""
    u, v, w = b - a, d - c, a - c
    uu, vv, uv = (np.einsum("ni,ni->n", *pair) for pair in ((u, u), (v, v), (u, v)))
    uw, vw = np.einsum("ni,ni->n", u, w), np.einsum("ni,ni->n", v, w)
    safe = np.maximum(uu * vv - uv**2, 1e-12 * uu * vv + 1e-300)
    s = np.clip((uv * vw - vv * uw) / safe, 0.0, 1.0)
    for _ in range(2):  # each in turn: the second try mends a clipped first
        t = np.clip((uv * s + vw) / np.maximum(vv, 1e-300), 0.0, 1.0)
        s = np.clip((uv * t - uw) / np.maximum(uu, 1e-300), 0.0, 1.0)
    place = a + s[:, None] * u
    return np.linalg.norm(place - c - t[:, None] * v, axis=1), place
