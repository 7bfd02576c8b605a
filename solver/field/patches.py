r"""Flat quadrilaterals of even current: what they do at points, and what they do to others.

.. math:: \int \frac{dS}{r} = \sum_e \Big( t_e \ln \frac{r_1 + r_2 + l}{r_1 + r_2 - l} - |d|
          \Big( \arctan \frac{t_e l_2}{r_0^2 + |d| r_2} - \arctan \frac{t_e l_1}{r_0^2 + |d|
          r_1} \Big) \Big)

over the edges, with d the distance of the point from the plane, t and l those of its foot from
the line of an edge and along it to the ends, :math:`r_0^2 = t^2 + d^2` (Wilton et al. 1984,
IEEE Trans. Antennas Propag. 32, 276-281; from memory).
"""

import numpy as np

from ..model import Floats
from ..patches import gauss_points, normals, sizes

_near, far_points = 4, 2  # points along each side of the outer quadrature
# In diagonals of the source between centres; beyond, its own points do.
apart = 2.0
_close = 1.0  # in the sum of the diagonals of both: from there on two points do
_batch, _pairs = 20_000, 5_000  # pairs of a point, or patch, and a patch worked out at once


def inverse_distance(points: Floats, *, corners: Floats, off: Floats | float = 0.0) -> Floats:
    """Mean inverse distance of points from one patch each, shape (n,). [1/m]

    Parameters
    ----------
    points : ndarray of float, shape (n, 3)
        [m]
    corners : ndarray of float, shape (n, 4, 3)
        In order round each patch; two may be one. [m]
    off : float or ndarray of float, shape (n,)
        Distance added in square to that from the plane. [m]
    """
    off = np.broadcast_to(np.asarray(off, dtype=float), (len(points),))
    found = np.zeros(len(points))
    gap = np.linalg.norm(points - corners.mean(axis=1), axis=1)
    far = gap > apart * sizes(corners)
    places, weights = gauss_points(corners[far], far_points)
    distance = np.linalg.norm(points[far, None] - places, axis=2)
    found[far] = (weights / np.hypot(distance, off[far, None])).sum(axis=1)
    near = np.flatnonzero(~far)
    for first in range(0, len(near), _batch):
        some = near[first : first + _batch]
        found[some] = _exact(points[some], corners=corners[some], off=off[some])
    return found


def _exact(points: Floats, *, corners: Floats, off: Floats) -> Floats:
    """The same by the closed form."""
    double = normals(corners)  # twice the area in length
    twice = np.linalg.norm(double, axis=1)
    normal = double / twice[:, None]
    height = np.einsum("ni,ni->n", points - corners[:, 0], normal)
    d = np.hypot(height, off)
    total = np.zeros(len(points))
    for k in range(4):
        a, b = corners[:, k], corners[:, (k + 1) % 4]
        edge = b - a
        length = np.linalg.norm(edge, axis=1)
        there = length > 1e-9 * np.sqrt(twice)
        along = edge / np.where(there, length, 1.0)[:, None]
        begin = -np.einsum("ni,ni->n", points - a, along)
        stop = begin + length
        # Outwards: the corners go round the normal to the left.
        t = np.einsum("ni,ni->n", a - points, np.cross(along, normal))
        to_line = t**2 + d**2
        first, last = np.sqrt(to_line + begin**2), np.sqrt(to_line + stop**2)
        # On the line of an edge t is zero and the logarithm is not looked at.
        ahead = np.maximum(first + last - length, 1e-300)
        bend = np.arctan2(t * stop, to_line + d * last)
        bend -= np.arctan2(t * begin, to_line + d * first)
        part = np.where(t == 0, 0.0, t * np.log1p(2 * length / ahead)) - d * bend
        total += np.where(there, part, 0.0)
    return np.asarray(2 * total / twice)


def between(target: Floats, *, source: Floats) -> Floats:
    """Mean inverse distance of patches from others, corners of shape (n, 4, 3). [1/m]"""
    gap = np.linalg.norm(target.mean(axis=1) - source.mean(axis=1), axis=1)
    near = gap < _close * (sizes(target) + sizes(source))
    found = np.zeros(len(target))
    for chosen, count in ((near, _near), (~near, far_points)):
        some = np.flatnonzero(chosen)
        for first in range(0, len(some), _pairs):
            batch = some[first : first + _pairs]
            places, weights = gauss_points(target[batch], count)
            each = np.repeat(source[batch], places.shape[1], axis=0)
            value = inverse_distance(places.reshape(-1, 3), corners=each)
            found[batch] = (weights * value.reshape(weights.shape)).sum(axis=1)
    return found
