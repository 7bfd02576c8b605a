"""Mean inverse distance of wires from points, and of patches of plates from wires."""

import numpy as np

from ..model import Floats, Integers
from ..patches import gauss_points
from .elements import LineElements
from .images import Ray
from .patches import between, inverse_distance

_along, _in_patch = 10, 4  # points of the quadrature along a wire, each way in a patch


def line_at(points: Floats, *, start: Floats, end: Floats, radius: Floats) -> Floats:
    r"""Mean inverse distance of points from a straight element each, shape (n,). [1/m]

    Parameters
    ----------
    points : ndarray of float, shape (n, 3)
        Places. [m]
    start, end : ndarray of float, shape (n, 3)
        The element for each point. [m]
    radius : ndarray of float, shape (n,)
        Distance added in square to that from the axis. [m]

    Notes
    -----
    ln((r₁ + r₂ + L) / (r₁ + r₂ - L)) / L with the distances to the ends (Kellogg 1929,
    *Foundations of Potential Theory*, ch. III; from memory).
    """
    axis = end - start
    length = np.linalg.norm(axis, axis=1)
    offset = points - start
    along = np.einsum("ni,ni->n", offset, axis) / length
    across = np.maximum(np.einsum("ni,ni->n", offset, offset) - along**2, 0.0)
    face = across + radius**2
    to_ends = np.sqrt(face + along**2) + np.sqrt(face + (along - length) ** 2)
    return np.asarray(np.log1p(2 * length / (to_ends - length)) / length)


def with_patches(
    elements: LineElements, *, target: Integers, source: Integers, ray: Ray
) -> Floats:
    """Mean inverse distance for pairs of which one at least is a patch, shape (n,). [1/m]

    A wire that meets a patch has its current on its axis, as among wires.
    """
    assert elements.corners is not None
    corners, flat = elements.corners, elements.flat
    mean = np.zeros(len(target))
    both = flat[target] & flat[source]
    mean[both] = between(corners[target[both]], source=ray.image(corners[source[both]]))
    on_wire = ~flat[target]
    i, j = target[on_wire], source[on_wire]
    mean[on_wire] = _patch_over_wire(elements, wire=i, corners=ray.image(corners[j]))
    on_patch = ~flat[source]
    i, j = target[on_patch], source[on_patch]
    places, weights = gauss_points(corners[i], _in_patch)
    each = np.repeat(j, places.shape[1])
    value = line_at(
        places.reshape(-1, 3),
        start=ray.image(elements.start[each]),
        end=ray.image(elements.end[each]),
        radius=np.sqrt(0.5) * elements.radius[each],
    )
    mean[on_patch] = (weights * value.reshape(weights.shape)).sum(axis=1)
    return mean


def _patch_over_wire(elements: LineElements, *, wire: Integers, corners: Floats) -> Floats:
    """Mean over wires of the inverse distance from a patch each. [1/m]"""
    mean = np.zeros(len(wire))
    start, end = elements.start[wire], elements.end[wire]
    nodes, weights = np.polynomial.legendre.leggauss(_along)
    for node, weight in zip(0.5 * (nodes + 1), 0.5 * weights, strict=True):
        mean += weight * inverse_distance(
            start + node * (end - start),
            corners=corners,
            off=np.sqrt(0.5) * elements.radius[wire],
        )
    return mean
