r"""What the mesh does not see: the exact thin wire minus its smeared cloud.

Outside its cloud a smeared source has the potential of the exact one (Newton's theorem for
ball-symmetric weights), so the difference is short-ranged. For a point source and Gaussian
clouds of total variance S² it is :math:`\operatorname{erfc}(r / \sqrt 2 S) / r`, the split of
Ewald 1921 (Ann. Phys. 369, 253-287; from memory). Here it is summed over nearby pairs of
line elements and over their images in nearby planes. The exact part is the thin-wire kernel:
current on the axis, potential on the face, distance :math:`\sqrt{r^2 + a^2}`.
"""

import numpy as np
import scipy.sparse as sparse
from scipy.spatial import cKDTree
from scipy.special import erf

from ..model import Flags, Floats, Integers, Soil
from ..pairs import distance_to_segment, pairs_within
from ..threads import in_threads
from .elements import LineElements
from .faced_elements import (
    between_faces,
    edge_orders,
    faces_near_points,
    from_faces,
    near_on_one_axis,
)
from .images import Ray, rays, seen_from_surface

_cut = 2.6  # erfc(2.6) = 2e-4 of what is left at that distance, itself little
_near_points, _far_points = 10, 3  # of the outer quadrature
_batch = 50_000  # pairs of elements worked out at once


def line_minus_cloud(
    points: Floats,
    *,
    start: Floats,
    end: Floats,
    radius: Floats,
    width: Floats,
    cloud_only: Flags | None = None,
) -> Floats:
    r"""Mean over a straight element of exact minus smeared inverse distance.

    Parameters
    ----------
    points : ndarray of float, shape (n, 3)
        Places. [m]
    start, end : ndarray of float, shape (n, 3)
        The element for each point. [m]
    radius : ndarray of float, shape (n,)
        Distance added in square to that from the axis. [m]
    width : ndarray of float, shape (n,)
        :math:`\sqrt 2 S`. [m]
    cloud_only : ndarray of bool, shape (n,), optional
        Where the exact part is left out, since it is that of a face.

    Returns
    -------
    mean : ndarray of float, shape (n,)
        [1/m]

    Notes
    -----
    The exact part is in closed form, ln((r₁ + r₂ + L) / (r₁ + r₂ - L)) / L with the distances
    to the ends (Kellogg 1929, *Foundations of Potential Theory*, ch. III; from memory); the
    smooth smeared part is taken at three points.
    """
    axis = end - start
    length = np.linalg.norm(axis, axis=1)
    offset = points - start
    along = np.einsum("ni,ni->n", offset, axis) / length
    across = np.maximum(np.einsum("ni,ni->n", offset, offset) - along**2, 0.0)
    face = across + radius**2
    to_ends = np.sqrt(face + along**2) + np.sqrt(face + (along - length) ** 2)
    exact = np.log1p(2 * length / (to_ends - length)) / length
    if cloud_only is not None:
        exact[cloud_only] = 0.0
    return np.asarray(exact - _smeared(across, along=along, length=length, width=width))


def _smeared(across: Floats, *, along: Floats, length: Floats, width: Floats) -> Floats:
    """Mean over an element of the smeared inverse distance; `across` is squared. [1/m]"""
    mean = np.zeros(len(across))
    nodes, weights = np.polynomial.legendre.leggauss(3)
    for node, weight in zip(0.5 * (nodes + 1), 0.5 * weights, strict=True):
        r = np.sqrt(across + (along - node * length) ** 2)
        limit = 2 / np.sqrt(np.pi) / width
        tiny = r < 1e-7 * width
        mean += weight * np.where(tiny, limit, erf(r / width) / np.where(tiny, 1.0, r))
    return mean


def _mean_over(
    elements: LineElements,
    *,
    target: Integers,
    source: Integers,
    start: Floats,
    end: Floats,
    order: Floats,
) -> Floats:
    """Mean over target elements of (imaged) source elements: exact minus smeared."""
    width = np.sqrt(2 * (elements.spread[target] ** 2 + elements.spread[source] ** 2))
    # The root mean square keeps the matrix symmetric and is exact where radii are equal.
    radius = np.sqrt(0.5 * (elements.radius[target] ** 2 + elements.radius[source] ** 2))
    length = elements.length
    gap = np.linalg.norm(elements.middle[target] - 0.5 * (start + end), axis=1)
    near = gap < 1.5 * (length[target] + length[source])
    faced = near_on_one_axis(elements, target=target, source=source, gap=gap)
    mean = np.zeros(len(target))
    for chosen, count in ((near, _near_points), (~near, _far_points)):
        a, b = elements.start[target[chosen]], elements.end[target[chosen]]
        nodes, weights = np.polynomial.legendre.leggauss(count)
        for node, weight in zip(0.5 * (nodes + 1), 0.5 * weights, strict=True):
            mean[chosen] += weight * line_minus_cloud(
                a + node * (b - a),
                start=start[chosen],
                end=end[chosen],
                radius=radius[chosen],
                width=width[chosen],
                cloud_only=faced[chosen],
            )
    i, j = target[faced], source[faced]
    mean[faced] += between_faces(
        elements,
        target=i,
        source=j,
        heights=(start[faced, 2], end[faced, 2]),
        order=order,
    )
    return mean


def _close_pairs(elements: LineElements) -> tuple[Integers, Integers]:
    """Pairs (target, source) whose clouds overlap, each from its more widely smeared side.

    Pairs that are smeared alike come in both orders; `_symmetric` averages those. Images
    are never nearer than the source itself, so no other pairs are needed.
    """
    spread, length = elements.spread, elements.length
    reach = 2 * _cut * spread + 0.5 * length + 0.5 * length.max()
    tree = cKDTree(elements.middle)
    source, target = pairs_within(tree, centres=elements.middle, radius=reach)
    width = np.sqrt(2 * (spread[target] ** 2 + spread[source] ** 2))
    gap = np.linalg.norm(elements.middle[target] - elements.middle[source], axis=1)
    close = gap - 0.5 * (length[target] + length[source]) < _cut * width
    keep = close & (spread[target] <= spread[source])
    return target[keep], source[keep]


def element_matrix(elements: LineElements, *, soil: Soil) -> sparse.csc_matrix:
    """Short-range part of the potential of each element per current of each, and its film.

    Returns
    -------
    matrix : csc_matrix, shape (n, n)
        Symmetric. [Ω]
    """
    spread, length, layer = elements.spread, elements.length, elements.layer
    target, source = _close_pairs(elements)
    width = np.sqrt(2 * (spread[target] ** 2 + spread[source] ** 2))
    values = np.zeros(len(target))
    order = edge_orders(elements, soil=soil)
    reach = 2 * _cut * float(spread.max())
    for ray in rays(elements, soil=soil, reach=reach):
        acts = (layer[source] == ray.source_layer) & (layer[target] == ray.target_layer)
        image = ray.image(elements.middle)
        gap = np.linalg.norm(elements.middle[target] - image[source], axis=1)
        acts &= gap - 0.5 * (length[target] + length[source]) < _cut * width
        acting = np.flatnonzero(acts)
        batches = [acting[k : k + _batch] for k in range(0, len(acting), _batch)]

        def of_batch(batch: Integers, ray: Ray = ray) -> Floats:
            i, j = target[batch], source[batch]
            return _mean_over(
                elements,
                target=i,
                source=j,
                start=ray.image(elements.start[j]),
                end=ray.image(elements.end[j]),
                order=order,
            )

        factor = ray.strength / (4 * np.pi * soil.conductivity[ray.source_layer])
        for batch, mean in zip(batches, in_threads(of_batch, batches), strict=True):
            values[batch] += factor * mean
    film = sparse.diags_array(elements.series / length)
    return (_symmetric(values, target, source, elements) + film).tocsc()


def _symmetric(
    values: Floats, target: Integers, source: Integers, elements: LineElements
) -> sparse.csr_matrix:
    """Matrix of pair values: mirrored where only one order was found, averaged where both."""
    count = len(elements)
    both = elements.spread[target] == elements.spread[source]
    share = np.where(both, 0.5, 1.0)
    half = sparse.csr_matrix((share * values, (target, source)), shape=(count, count))
    return half + half.T


def point_matrix(points: Floats, *, elements: LineElements, soil: Soil) -> sparse.csr_matrix:
    """Short-range part of the potential at points per current of each element.

    Parameters
    ----------
    points : ndarray of float, shape (n, 3)
        Places in the soil or on its surface. [m]

    Returns
    -------
    matrix : csr_matrix, shape (n, m)
        To be added to the finite-element potential; inside the metal the value at its face
        is given. [Ω]
    """
    layer = soil.layer_at(-points[:, 2])
    width = np.sqrt(2.0) * elements.spread
    reach = _cut * width + 0.5 * elements.length
    source, point = pairs_within(cKDTree(points), centres=elements.middle, radius=reach)
    values = np.zeros(len(point))
    order = edge_orders(elements, soil=soil)
    paths = rays(elements, soil=soil, reach=float(_cut * width.max()))
    if not points[:, 2].any():
        paths = seen_from_surface(paths)
    for ray in paths:
        acts = elements.layer[source] == ray.source_layer
        acts &= layer[point] == ray.target_layer
        i, j = point[acts], source[acts]
        image = ray.image(elements.middle)[j]
        gap = sum((points[i, k] - image[:, k]) ** 2 for k in range(3))
        close = gap < reach[j] ** 2
        acts[acts] = close
        i, j = i[close], j[close]
        start, end = ray.image(elements.start[j]), ray.image(elements.end[j])
        across = distance_to_segment(points[i], start=start, end=end)
        faced = faces_near_points(elements, index=j, gap=across)
        mean = line_minus_cloud(
            points[i],
            start=start,
            end=end,
            # So that a point inside the metal is taken at its face.
            radius=np.sqrt(np.maximum(elements.radius[j] ** 2 - across**2, 0.0)),
            width=width[j],
            cloud_only=faced,
        )
        mean[faced] += from_faces(
            elements,
            points=points[i[faced]],
            index=j[faced],
            heights=(start[faced, 2], end[faced, 2]),
            order=order,
        )
        factor = ray.strength / (4 * np.pi * soil.conductivity[ray.source_layer])
        values[acts] += factor * mean
    shape = (len(points), len(elements))
    return sparse.csr_matrix((values, (point, source)), shape=shape)
