"""How elements that know their face act on one another and on points near them."""

import numpy as np

from ..model import Flags, Floats, Integers, Soil
from .elements import CORE, CYLINDER, DISC, MIDDLE, WIRE, LineElements
from .faces import disc_at, edge_order, mean_inverse_distance, ring_at
from .media import conductivities

_reach = 10.0  # radii; beyond, a face is as good as its axis
_point_reach = 14.0
_core_order = 7.0


def near_on_one_axis(
    elements: LineElements, *, target: Integers, source: Integers, gap: Floats
) -> Flags:
    """Whether pairs are faces of one piece, near one another with `gap` between middles."""
    gap = gap - 0.5 * (elements.length[target] + elements.length[source])
    near = gap < _reach * elements.radius[source]
    near &= elements.piece[target] == elements.piece[source]
    return np.asarray(near & (elements.face[target] != WIRE))


def edge_orders(elements: LineElements, *, soil: Soil) -> Floats:
    """Of flat ends the order of their density, of all else -1, shape (n,).

    It is (1 - r²/a²) to the `edge_order` less 1 towards the rim, and to `edge_order` towards
    the middle: together what a plane or the surface near the end asks for. On flat ends of
    sheaths a third has its current within some third of the radius.
    """
    behind = elements.start - 1e-6 * (elements.end - elements.start)
    sigma = conductivities(soil)
    beside = sigma[soil.material_at(behind)]
    order = edge_order(ahead=sigma[elements.layer], beside=beside)
    order += np.where(elements.face == CORE, _core_order, elements.face == MIDDLE)
    return np.where(elements.face >= DISC, order, -1.0)


def between_faces(
    elements: LineElements,
    *,
    target: Integers,
    source: Integers,
    heights: tuple[Floats, Floats],
    order: Floats,
) -> Floats:
    """Mean inverse distance of faces, the sources between these heights. [1/m]"""
    mean = np.zeros(len(target))
    orders = np.stack([order[target], order[source]], axis=1)
    for pair in np.unique(orders, axis=0):
        chosen = (orders == pair).all(axis=1)
        i = target[chosen]
        here = elements.start[i, 2], elements.end[i, 2]
        there = heights[0][chosen], heights[1][chosen]
        of_target, of_source = (None if value < 0 else float(value) for value in pair)
        mean[chosen] = mean_inverse_distance(
            _sorted(*here) if of_target is None else here,
            source=_sorted(*there) if of_source is None else there,
            radius=elements.radius[i],
            target_order=of_target,
            source_order=of_source,
        )
    return mean


def faces_near_points(elements: LineElements, *, index: Integers, gap: Floats) -> Flags:
    """Whether the element of each point acts on it as a face, at a distance from its axis."""
    near = gap < _point_reach * elements.radius[index]
    return np.asarray(near & (elements.face[index] != WIRE))


def from_faces(
    elements: LineElements,
    *,
    points: Floats,
    index: Integers,
    heights: tuple[Floats, Floats],
    order: Floats,
) -> Floats:
    """Mean inverse distance of points from faces between these heights. [1/m]

    A point inside the metal is taken at its side.
    """
    a, z = elements.radius[index], points[:, 2]
    across = np.hypot(*(points[:, :2] - elements.start[index, :2]).T)
    low, high = _spans(elements)
    beside = (low[index] <= z) & (z <= high[index])
    across = np.where(beside, np.maximum(across, a), across)
    mean = np.zeros(len(points))
    tube = elements.face[index] == CYLINDER
    mean[tube] = ring_at(
        across[tube],
        height=z[tube],
        span=_sorted(heights[0][tube], heights[1][tube]),
        radius=a[tube],
    )
    for one in np.unique(order[index[~tube]]):
        disc = ~tube & (order[index] == one)
        mean[disc] = disc_at(
            across[disc], height=z[disc] - heights[0][disc], radius=a[disc], order=float(one)
        )
    return mean


def _spans(elements: LineElements) -> tuple[Floats, Floats]:
    """Lowest and highest place of the piece that each element belongs to, shape (n,). [m]"""
    tube, piece = elements.face == CYLINDER, elements.piece
    low, high = (np.full(piece.max() + 1, sign * np.inf) for sign in (1, -1))
    for end in (elements.start[tube, 2], elements.end[tube, 2]):
        np.minimum.at(low, piece[tube], end)
        np.maximum.at(high, piece[tube], end)
    return low[piece], high[piece]


def _sorted(one: Floats, other: Floats) -> tuple[Floats, Floats]:
    return np.minimum(one, other), np.maximum(one, other)
