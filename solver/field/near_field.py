r"""What the mesh does not see: the exact thin wire minus its smeared cloud.

Outside its cloud a smeared source has the potential of the exact one (Newton's theorem for
ball-symmetric weights), so the difference is short-ranged. For a point source and Gaussian
clouds of total variance S² it is :math:`\operatorname{erfc}(r / \sqrt 2 S) / r`, the split of
Ewald 1921 (Ann. Phys. 369, 253-287; from memory). Here it is summed over nearby pairs of
line elements and over their images in nearby planes. The exact part is the thin-wire kernel:
current on the axis, potential on the face, distance :math:`\sqrt{r^2 + a^2}`.
"""

from collections.abc import Sequence
from functools import cache

import numpy as np
import scipy.sparse as sparse
from scipy.spatial import cKDTree
from scipy.special import erf, erfc

from ..model import Flags, Floats, Integers, Soil
from ..pairs import pairs_within
from ..threads import in_threads
from .clouds import Clouds
from .elements import LineElements
from .faced_elements import between_faces, edge_orders, near_on_one_axis
from .images import Ray, rays

_cut = 2.6  # erfc(2.6) = 2e-4 of what is left at that distance, itself little
_near_points, _far_points = 10, 2  # of the outer quadrature
# Gaps between its balls from a row; from there on they stand for wires. The fourth moment of a
# short element is 1 % of its potential there.
rows_apart = 2.6
_batch = 50_000  # pairs of elements worked out at once


_gauss = cache(np.polynomial.legendre.leggauss)


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
    nodes, weights = _gauss(3)
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
        nodes, weights = _gauss(count)
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
    """Pairs (target, source) whose clouds overlap, once each, the target the shorter.

    Images are never nearer than the source itself, so no other pairs are needed.
    """
    spread, length = elements.spread, elements.length
    reach = 2 * _cut * spread + 0.5 * length + 0.5 * length.max()
    tree = cKDTree(elements.middle)
    source, target = pairs_within(tree, centres=elements.middle, radius=reach)
    # From the more widely smeared side, which finds all of its pairs; of alike ones from both.
    once = spread[target] < spread[source]
    once |= (spread[target] == spread[source]) & (target <= source)
    source, target = source[once], target[once]
    width = np.sqrt(2 * (spread[target] ** 2 + spread[source] ** 2))
    gap = np.linalg.norm(elements.middle[target] - elements.middle[source], axis=1)
    close = gap - 0.5 * (length[target] + length[source]) < _cut * width
    source, target = source[close], target[close]
    swapped = length[target] > length[source]
    return np.where(swapped, source, target), np.where(swapped, target, source)


def element_matrix(elements: LineElements, *, clouds: Clouds, soil: Soil) -> sparse.csc_matrix:
    """Short-range part of the potential of each element per current of each, and its film.

    Wires some gaps of their rows of balls apart, or images as far away, act on one another as
    these balls.

    Returns
    -------
    matrix : csc_matrix, shape (n, n)
        Symmetric. [Ω]
    """
    length = elements.length
    shape = (len(length), len(length))
    target, source = _close_pairs(elements)
    close = sparse.csr_matrix((np.ones(len(target)), (target, source)), shape=shape)
    as_wires = close.multiply(_touching(clouds)).tocoo()
    as_balls = (close - as_wires).tocsr()
    as_balls.eliminate_zeros()
    near: list[Ray] = []
    far: list[Ray] = []
    for ray in rays(elements, soil=soil, reach=2 * _cut * float(elements.spread.max())):
        (far if rows_of_balls_do(ray, clouds=clouds) else near).append(ray)
    # By reciprocity the other half is the same.
    half = _of_balls(close, clouds=clouds, soil=soil, paths=far)
    half = half + _of_balls(as_balls, clouds=clouds, soil=soil, paths=near)
    target, source = as_wires.row.astype(np.int64), as_wires.col.astype(np.int64)
    values = _of_wires(target, source, elements=elements, soil=soil, paths=near)
    half = half + sparse.csr_matrix((values, (target, source)), shape=shape)
    half = half - 0.5 * sparse.diags_array(half.diagonal())
    film = sparse.diags_array(elements.series / length)
    return (half + half.T + film).tocsc()


def _of_wires(
    target: Integers,
    source: Integers,
    *,
    elements: LineElements,
    soil: Soil,
    paths: Sequence[Ray],
) -> Floats:
    """Short-range part of the potential of targets per current of sources, shape (n,). [Ω]"""
    spread, length, layer = elements.spread, elements.length, elements.layer
    width = np.sqrt(2 * (spread[target] ** 2 + spread[source] ** 2))
    values = np.zeros(len(target))
    order = edge_orders(elements, soil=soil)
    for ray in paths:
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
    return values


def rows_of_balls_do(
    ray: Ray, *, clouds: Clouds, between: tuple[float, float] | None = None
) -> bool:
    """Whether images are so far above or below that rows of balls are as good as wires.

    Parameters
    ----------
    between : tuple of float, length 2, optional
        Heights between which they act; without it, those of the balls of the layer. [m]
    """
    gap, heights = clouds.gap[clouds.layer == ray.source_layer].max(), clouds.place[:, 2]
    if between is None:
        there = clouds.layer == ray.target_layer
        if not there.any():
            return True
        gap = max(gap, clouds.gap[there].max())
        between = (float(heights[there].min()), float(heights[there].max()))
    images = ray.sign * heights[clouds.layer == ray.source_layer] + ray.shift
    apart = max(between[0] - images.max(), images.min() - between[1])
    return bool(apart > rows_apart * gap)


def _touching(clouds: Clouds) -> sparse.csr_matrix:
    """Which elements have balls so near one another that they must act as wires, (m, m)."""
    reach = rows_apart * clouds.gap
    one, other = _ball_pairs(clouds, reach=float(reach.max()))
    gap = np.linalg.norm(clouds.place[one] - clouds.place[other], axis=1)
    near = gap <= np.maximum(reach[one], reach[other])
    count = len(clouds.place)
    pairs = sparse.csr_matrix(
        (np.ones(int(near.sum())), (one[near], other[near])), shape=(count, count)
    )
    held = abs(clouds.shares).sign()
    touching = (held @ (pairs + pairs.T) @ held.T.tocsr()).tocsr()
    touching.data[:] = 1.0
    return touching


def _ball_pairs(clouds: Clouds, *, reach: float) -> tuple[Integers, Integers]:
    """Pairs of balls no farther apart, once each, and each with itself."""
    one, other = cKDTree(clouds.place).query_pairs(reach, output_type="ndarray").T
    alone = np.arange(len(clouds.place))
    return np.concatenate([one, alone]), np.concatenate([other, alone])


def _of_balls(
    chosen: sparse.csr_matrix, *, clouds: Clouds, soil: Soil, paths: Sequence[Ray]
) -> sparse.csr_matrix:
    """Short-range part between chosen elements that act as their balls. [Ω]"""
    if not chosen.nnz or not paths:
        return 0.0 * chosen
    balls = _between_balls(clouds, soil=soil, paths=paths)
    return (clouds.shares @ balls @ clouds.shares.T.tocsr()).multiply(chosen).tocsr()


def _between_balls(clouds: Clouds, *, soil: Soil, paths: Sequence[Ray]) -> sparse.csr_matrix:
    """Potential of balls as points less as balls, shape (k, k). [Ω]"""
    # No image is nearer than the ball itself; and a pair of elements needs all of its balls.
    reach = 2 * _cut * float(clouds.spread.max()) + 6 * float(clouds.gap.max())
    one, other = _ball_pairs(clouds, reach=reach)
    width = np.sqrt(2 * (clouds.spread[one] ** 2 + clouds.spread[other] ** 2))
    plan = ((clouds.place[one, :2] - clouds.place[other, :2]) ** 2).sum(axis=1)
    values = np.zeros(len(one))
    for ray in paths:
        acts = (clouds.layer[one] == ray.source_layer) & (
            clouds.layer[other] == ray.target_layer
        )
        height = ray.image(clouds.place[one[acts]])[:, 2] - clouds.place[other[acts], 2]
        # Where they touch nobody asks.
        r = np.maximum(np.sqrt(plan[acts] + height**2), 1e-3 * width[acts])
        factor = ray.strength / (4 * np.pi * soil.conductivity[ray.source_layer])
        values[acts] += factor * erfc(r / width[acts]) / r
    values[one == other] *= 0.5
    shape = (len(clouds.place), len(clouds.place))
    half = sparse.csr_matrix((values, (one, other)), shape=shape)
    return half + half.T
