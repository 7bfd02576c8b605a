r"""Panels of plates, each of even current: what they do at points, at wires, to one another.

A flat panel of area S has the mean inverse distance from a point

.. math:: \frac{1}{S} \Big( \sum_e t_e \ln \frac{r_1 + r_2 + l}{r_1 + r_2 - l} - d \,
          \Omega \Big)

over its edges of length l, with t the distance of the point's foot in its plane from the line
of an edge, inwards, r those of the point from the ends, d its distance from the plane, and
:math:`\Omega` the solid angle under which it sees the panel, that of its two triangles
(A. van Oosterom, J. Strackee, IEEE Trans. Biomed. Eng. 30, 1983, 125-126; from memory). The
potential of a layer of charge and that of a double layer are joined so by Gauss's theorem in
the plane. Over a second panel, or along a wire, the mean is taken by Gauss points on whichever
of the two is the smaller, on which the other one's potential varies less.
"""

from collections.abc import Callable

import numpy as np

from ..model import Floats, Integers
from ..pairs import distance_to_segment
from ..patches import areas, gauss_points, normals, sizes
from ..wire_distances import point_to_wire

# Points each way in a panel, or along a wire: where the two nearly touch, and farther apart.
_near, _plain = 5, 2
_touching = 0.75  # middles so near, in sums of both sizes, nearly touch
_apart = 2.0  # in sizes of the larger; from there on its own points stand for it
_batch = 5_000  # pairs at once
_nodes, _weights = np.polynomial.legendre.leggauss(6)
_shares = 0.5 + 0.5 * _nodes


def at_points(points: Floats, *, corners: Floats) -> Floats:
    """Mean inverse distance of points from one panel each, shape (n,). [1/m]

    Parameters
    ----------
    points : ndarray of float, shape (n, 3)
        [m]
    corners : ndarray of float, shape (n, 4, 3)
        In order round each panel, in one plane; two may be one. [m]
    """
    return _inverse(points[:, None], corners)[:, 0]


def between(one: Floats, other: Floats) -> Floats:
    """Mean inverse distance between two panels each, corners (n, 4, 3) of both, (n,). [1/m]"""
    larger = (sizes(one) > sizes(other))[:, None, None]
    small, large = np.where(larger, other, one), np.where(larger, one, other)
    gap = np.linalg.norm(small.mean(axis=1) - large.mean(axis=1), axis=1)
    size = sizes(large)
    touching = gap < _touching * (sizes(small) + size)
    far = ~touching & (gap > _apart * size)
    found = np.empty(len(one))

    def exact(count: int) -> Callable[[Integers], Floats]:
        def mean(some: Integers) -> Floats:
            places, weights = gauss_points(small[some], count)
            return np.asarray((weights * _inverse(places, large[some])).sum(axis=1))

        return mean

    def by_points(some: Integers) -> Floats:
        places, weights = gauss_points(small[some], _plain)
        others, other_weights = gauss_points(large[some], _plain)
        distance = np.linalg.norm(places[:, :, None] - others[:, None], axis=3)
        return np.asarray(np.einsum("np,nq,npq->n", weights, other_weights, 1.0 / distance))

    ways = ((touching, exact(_near)), (far, by_points), (~touching & ~far, exact(_plain)))
    for chosen, mean in ways:
        _in_turn(np.flatnonzero(chosen), mean=mean, found=found)
    return found


def and_wires(corners: Floats, *, start: Floats, end: Floats, face: Floats) -> Floats:
    """Mean inverse distance between a panel and a wire each, shape (n,). [1/m]

    Parameters
    ----------
    corners : ndarray of float, shape (n, 4, 3)
        [m]
    start, end : ndarray of float, shape (n, 3)
        Ends of the axis, on which the current of a wire is. [m]
    face : ndarray of float, shape (n,)
        Radius, within which the potential of a wire is that of its face. [m]
    """
    shorter = np.linalg.norm(end - start, axis=1) < sizes(corners)
    found = np.empty(len(corners))

    def along(some: Integers) -> Floats:
        whole = (end - start)[some]
        places = start[some][:, None] + _shares[:, None] * whole[:, None]
        return np.asarray(0.5 * _inverse(places, corners[some]) @ _weights)

    def over(some: Integers) -> Floats:
        places, weights = gauss_points(corners[some], _near)
        a, b = start[some][:, None], end[some][:, None]
        off = distance_to_segment(places, start=a, end=b)
        offset = np.sqrt(np.maximum(face[some, None] ** 2 - off**2, 0.0))
        return np.asarray(
            (weights * point_to_wire(places, start=a, end=b, offset=offset)).sum(axis=1)
        )

    for chosen, mean in ((shorter, along), (~shorter, over)):
        _in_turn(np.flatnonzero(chosen), mean=mean, found=found)
    return found


def middles(corners: Floats) -> Floats:
    """Centres of area of panels, shape (n, 3). [m]"""
    places, weights = gauss_points(corners, 2)
    return np.asarray(np.einsum("nq,nqi->ni", weights, places))


def _in_turn(chosen: Integers, *, mean: Callable[[Integers], Floats], found: Floats) -> None:
    """Put the means of some pairs where they belong, a batch at a time."""
    for first in range(0, len(chosen), _batch):
        some = chosen[first : first + _batch]
        found[some] = mean(some)


def _inverse(points: Floats, corners: Floats) -> Floats:
    """Mean inverse distance of points (n, q, 3) from panels (n, 4, 3), shape (n, q). [1/m]"""
    normal = normals(corners)
    normal /= np.linalg.norm(normal, axis=1)[:, None]
    off = corners[:, None] - points[:, :, None]  # (n, q, 4, 3)
    away = np.sqrt(np.einsum("nqki,nqki->nqk", off, off))
    total = np.zeros(away.shape[:2])
    for k in range(4):
        ahead = (k + 1) % 4
        edge = corners[:, ahead] - corners[:, k]
        length = np.linalg.norm(edge, axis=1)
        outwards = np.cross(edge, normal) / np.where(length > 0, length, 1.0)[:, None]
        inside = np.einsum("nqi,ni->nq", off[:, :, k], outwards)
        both, span = away[:, :, k] + away[:, :, ahead], length[:, None]
        # On the line of an edge t ln(…) is nought, on the edge itself as a limit.
        total += inside * np.log((both + span) / np.maximum(both - span, 1e-15 * both))
    height = np.abs(np.einsum("nqi,ni->nq", off[:, :, 0], normal))
    angle = _solid_angle(off[:, :, [0, 1, 2]], away[:, :, [0, 1, 2]])
    angle += _solid_angle(off[:, :, [0, 2, 3]], away[:, :, [0, 2, 3]])
    return np.asarray((total - height * np.abs(angle)) / areas(corners)[:, None])


def _solid_angle(off: Floats, away: Floats) -> Floats:
    """Solid angle of triangles, with sign, by ways to their corners (n, q, 3, 3)."""
    a, b, c = (off[:, :, k] for k in range(3))
    p, q, r = (away[:, :, k] for k in range(3))

    def dot(one: Floats, other: Floats) -> Floats:
        return np.asarray(np.einsum("nqi,nqi->nq", one, other))

    spat = dot(a, np.cross(b, c))
    rest = p * q * r + dot(a, b) * r + dot(a, c) * q + dot(b, c) * p
    return np.asarray(2.0 * np.arctan2(spat, rest))
