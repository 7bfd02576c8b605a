"""Polygons in plan: whether they are simple, what is inside, how far their sides are."""

import numpy as np

from .arrays import Flags, Floats
from .errors import CaseError

_few = 16  # places for which all sides of an outline are looked at together


def signed_area(outline: Floats) -> float:
    """Area of a simple polygon, positive when its corners run counter-clockwise. [m²]"""
    x, y = (outline - outline[0]).T
    return float(0.5 * np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


def fault_of_outline(outline: Floats) -> str:
    """What keeps a polygon from being simple, in words; empty when nothing does."""
    a = outline
    b = np.roll(outline, -1, axis=0)
    sides = np.hypot(*(b - a).T)
    size = float(np.ptp(outline, axis=0).max())
    if (sides <= 1e-9 * size).any():
        place = a[int(np.argmin(sides))]
        return f"two corners in a row stand at ({place[0]:g}, {place[1]:g}) m"
    for i in range(len(a) - 1):
        # Sides that are not neighbours must not meet.
        j = np.arange(i + 1, len(a))
        others = j[((j - i) % len(a) > 1) & ((i - j) % len(a) > 1)]
        meets = others[_meet(a[i], b[i], a[others], b[others])]
        if meets.size:
            k = int(meets[0])
            return (
                f"its side {i + 1} from ({a[i][0]:g}, {a[i][1]:g}) m meets its side {k + 1} "
                f"from ({a[k][0]:g}, {a[k][1]:g}) m"
            )
    # Four corners or more that run back over themselves meet a side that is no neighbour;
    # what is left are flat triangles.
    return "it encloses no area" if abs(signed_area(outline)) <= 1e-9 * size**2 else ""


def inside(places: Floats, *, outline: Floats) -> Flags:
    """Whether each place is inside a simple closed outline (even-odd rule), shape (n,)."""
    start, end = outline, np.roll(outline, -1, axis=0)
    some = start[:, 1] != end[:, 1]
    start, end = start[some], end[some]
    x, y = places[:, 0], places[:, 1]
    if len(places) <= _few:  # of outlines with thousands of corners
        crossed = _crossed(x[:, None], y[:, None], start=start, end=end)
        return np.asarray(crossed.sum(axis=1) % 2 == 1)
    odd = np.zeros(len(places), dtype=bool)
    for a, b in zip(start, end, strict=True):
        odd ^= _crossed(x, y, start=a, end=b)
    return odd


def _crossed(x: Floats, y: Floats, *, start: Floats, end: Floats) -> Flags:
    """Whether the way from places along +x crosses sides."""
    (ax, ay), (bx, by) = start.T, end.T
    spans = (ay > y) != (by > y)
    return np.asarray(spans & (x < ax + (y - ay) / (by - ay) * (bx - ax)))


def on_or_inside(places: Floats, *, outline: Floats) -> Flags:
    """Whether each place is inside a simple closed outline or on it, shape (n,)."""
    # On the outline to a micrometre, whatever the even-odd rule makes of an edge.
    ends = np.roll(outline, -1, axis=0)
    nearest = nearest_on_segments(places, start=outline, end=ends)
    edge = np.linalg.norm(places - nearest, axis=1) < 1e-6
    return np.asarray(edge | inside(places, outline=outline))


def nearest_on_segments(places: Floats, *, start: Floats, end: Floats) -> Floats:
    """Nearest point of segments, or single points, to each place in plan, (n, 2). [m]"""
    best = np.full(len(places), np.inf)
    nearest = np.zeros((len(places), 2))
    for a, b in zip(start, end, strict=True):
        along = b - a
        square = float(along @ along)
        share = np.clip((places - a) @ along / square, 0, 1) if square > 0 else 0.0
        point = a + np.multiply.outer(share, along).reshape(-1, 2)
        gap = np.einsum("ni,ni->n", places - point, places - point)
        closer = gap < best
        best[closer] = gap[closer]
        nearest[closer] = np.broadcast_to(point, places.shape)[closer]
    return nearest


def distance_to_sides(points: Floats, *, outline: Floats) -> Floats:
    """Distance from points to the nearest side of a polygon, shape (m,). [m]"""
    ends = np.roll(outline, -1, axis=0)
    nearest = nearest_on_segments(points, start=outline, end=ends)
    return np.asarray(np.linalg.norm(points - nearest, axis=1))


def _cross(u: Floats, v: Floats) -> Floats:
    return np.asarray(u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0])


def _meet(a: Floats, b: Floats, c: Floats, d: Floats) -> Flags:
    """Whether the segment a-b meets each of the segments c-d, ends included."""
    r, s = b - a, d - c
    scale = np.hypot(*r) * np.hypot(*s.T)
    eps = 1e-12 * scale
    side = [_cross(r, c - a), _cross(r, d - a), _cross(s, a - c), _cross(s, b - c)]
    proper = (side[0] * side[1] <= 0) & (side[2] * side[3] <= 0)
    parallel = np.abs(_cross(r, s)) <= eps
    # Parallel sides meet only where they lie on one line and their boxes overlap.
    low = np.maximum(np.minimum(a, b), np.minimum(c, d))
    high = np.minimum(np.maximum(a, b), np.maximum(c, d))
    boxes = (low <= high).all(axis=1)
    on_one_line = np.abs(side[0]) <= eps
    return np.where(parallel, on_one_line & boxes, proper)


def convex_parts(outline: Floats) -> list[Floats]:
    """Convex polygons that make up a simple one, whole sides in common, shapes (k, 2). [m]

    Cut from corner to corner: into triangles, the ears of the best shape first, which are
    joined again where they stay convex. `CaseError` if round-off leaves no ear.
    """
    count = len(outline)
    ring = list(range(count)) if signed_area(outline) > 0 else list(range(count - 1, -1, -1))
    parts = []
    while len(ring) > 3:
        quality = [_quality(outline, ring, k) for k in range(len(ring))]
        best = int(np.argmax(quality))
        if quality[best] == 0:
            x, y = outline[ring[0]]
            msg = (
                f"the outline cannot be cut into convex parts at ({x:g}, {y:g}) m: its corners "
                "lie too nearly in line; leave out those that hardly turn"
            )
            raise CaseError(msg)
        parts.append([ring[best - 1], ring[best], ring[(best + 1) % len(ring)]])
        del ring[best]
    parts.append(ring)
    while (pair := _joinable(outline, parts)) is not None:
        one, other, made = pair
        parts = [part for k, part in enumerate(parts) if k not in (one, other)] + [made]
    return [outline[part] for part in parts]


def _quality(outline: Floats, ring: list[int], at: int) -> float:
    """Area of the ear at a corner over the square of its longest side; 0 where it is none."""
    own = [ring[at - 1], ring[at], ring[(at + 1) % len(ring)]]
    ear = outline[own]
    twice = float(_cross(ear[1] - ear[0], ear[2] - ear[0]))
    sides = np.roll(ear, -1, axis=0) - ear
    others = outline[[k for k in ring if k not in own]]
    off = _cross(sides, others[:, None] - ear)  # (corners, sides)
    slack = 1e-12 * float((sides**2).sum())
    if twice <= slack or bool((off >= -slack).all(axis=1).any()):
        return 0.0
    return twice / float((sides**2).sum(axis=1).max())


def _joinable(outline: Floats, parts: list[list[int]]) -> tuple[int, int, list[int]] | None:
    """Two parts with a side in common that are convex as one, and that one."""
    for i, one in enumerate(parts):
        for j in range(i):
            for k, a in enumerate(one):
                b = one[(k + 1) % len(one)]
                other = parts[j]
                if b not in other or other[(other.index(b) + 1) % len(other)] != a:
                    continue
                # Round one from b to a, then round the other from a to b.
                at = other.index(a)
                turned = one[k + 1 :] + one[: k + 1]
                made = turned + [other[(at + n) % len(other)] for n in range(1, len(other) - 1)]
                if _convex(outline[made]):
                    return i, j, made
    return None


def _convex(outline: Floats) -> bool:
    """Whether no corner of a polygon turns inwards."""
    ahead = np.roll(outline, -1, axis=0) - outline
    turn = _cross(np.roll(ahead, 1, axis=0), ahead)
    return bool((turn >= -1e-12 * float((ahead**2).sum(axis=1).max())).all())
