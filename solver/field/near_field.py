r"""What the mesh does not see: exact thin wires less the balls of source in their place.

Outside its balls a smeared source has the potential of the exact one (Newton's theorem for
ball-symmetric weights), so the difference is short-ranged. It is split once more, as Ewald 1921
split lattice sums (Ann. Phys. 369, 253-287; from memory):

- from narrow balls, as wide as they stand apart, to the wide ones of the mesh. That depends on
  balls alone, of which there are few: :math:`(\operatorname{erf}(r / v) - \operatorname{erf}(r
  / w)) / r` with widths v and w of each pair;
- from wires to narrow balls. Some gaps of its row away a wire is as good as they are, so only
  pairs nearer than that are left. The exact part is the thin-wire kernel: current on the axis,
  potential on the face, distance :math:`\sqrt{r^2 + a^2}`.

Both are summed over images in nearby planes too.
"""

from collections.abc import Iterator, Sequence
from functools import cache
from typing import TypeVar

import numpy as np
import scipy.sparse as sparse
from scipy.special import erf

from ..model import Floats, Integers, Soil
from ..threads import in_threads
from .clouds import Clouds
from .elements import LineElements
from .faced_elements import between_faces, edge_orders, near_on_one_axis
from .images import Ray, rays_between
from .media import conductivities
from .short_range import ShortRange
from .thin_lines import line_at, with_patches
from .windows import Windows, ball_pairs

_cut = 2.6  # erfc(2.6) = 2e-4 of what is left at that distance, itself little
_near_points, _far_points = 10, 2  # of the outer quadrature
# Gaps between its balls from a row; from there on they stand for wires. The fourth moment of a
# short element is 1 % of its potential there.
rows_apart = 2.6
# Pairs of elements, of windows and of balls worked out at once.
_batch, _blocks, _balls = 50_000, 10_000, 100_000


F = TypeVar("F", float, Floats)

_gauss = cache(np.polynomial.legendre.leggauss)


def reach_of_pairs(spread: F) -> F:
    """How far apart sources of one spread may be to act on one another beside the mesh. [m]"""
    return 2 * _cut * spread


def short_range(elements: LineElements, *, clouds: Clouds, soil: Soil) -> ShortRange:
    """Short-range part of the potential of each element per current of each, and its film."""
    reach = reach_of_pairs(float(elements.spread.max()))
    paths = list(rays_between(elements, soil=soil, reach=reach))
    near = [ray for ray in paths if not rows_of_balls_do(ray, clouds=clouds)]
    wires = _wires_less_narrow(elements, clouds=clouds, soil=soil, paths=near)
    film = sparse.diags_array(elements.series / elements.length)
    balls = _narrow_less_wide(clouds, soil=soil, paths=paths)
    return ShortRange(wires=(wires + film).tocsr(), balls=balls, shares=clouds.shares)


def _wires_less_narrow(
    elements: LineElements, *, clouds: Clouds, soil: Soil, paths: Sequence[Ray]
) -> sparse.csr_matrix:
    """Potential of wires per current of wires near them, less as narrow balls. [Ω]"""
    windows = Windows.of(clouds)
    one, other = windows.touching(clouds, reach=rows_apart * clouds.gap)
    pair, first, second = windows.elements_of(one, other)
    values = _of_wires(first, second, elements=elements, soil=soil, paths=paths)

    def of_block(begin: int) -> Floats:
        alike = slice(begin, begin + _blocks)
        mine = slice(*np.searchsorted(pair, [begin, begin + _blocks]))
        narrow = _narrow(
            clouds,
            windows.balls[one[alike]][:, :, None],
            windows.balls[other[alike]][:, None],
            soil=soil,
            paths=paths,
        )
        return _shared(
            narrow, pair[mine] - begin, windows.share[first[mine]], windows.share[second[mine]]
        )

    # Pairs of elements come in the order of their pairs of windows.
    values -= np.concatenate(in_threads(of_block, range(0, len(one), _blocks)))
    return _symmetric(values, first, second, count=len(elements))


def _shared(blocks: Floats, block: Integers, one: Floats, other: Floats) -> Floats:
    """Values of blocks by these shares of their rows and columns, shape (n,)."""
    values = np.zeros(len(block))
    for begin in range(0, len(block), _batch):
        some = slice(begin, begin + _batch)
        there = (blocks[block[some]] @ other[some][..., None])[..., 0]
        values[some] = np.einsum("na,na->n", one[some], there)
    return values


def _symmetric(
    values: Floats, one: Integers, other: Integers, *, count: int
) -> sparse.csr_matrix:
    """Matrix of values for pairs, once each."""
    half = sparse.csr_matrix((values, (one, other)), shape=(count, count))
    return half + half.T - sparse.diags_array(half.diagonal())


def _of_wires(
    one: Integers,
    other: Integers,
    *,
    elements: LineElements,
    soil: Soil,
    paths: Sequence[Ray],
) -> Floats:
    """Potential of wires per current of wires for pairs of them, shape (n,). [Ω]"""
    layer, shorter = elements.layer, elements.extent[one] <= elements.extent[other]
    target, source = np.where(shorter, one, other), np.where(shorter, other, one)
    values = np.zeros(len(target))
    order, sigma = edge_orders(elements, soil=soil), conductivities(soil)
    for ray in paths:
        acting = np.flatnonzero(
            (layer[source] == ray.source_layer) & (layer[target] == ray.target_layer)
        )
        batches = [acting[k : k + _batch] for k in range(0, len(acting), _batch)]

        def of_batch(batch: Integers, ray: Ray = ray) -> Floats:
            i, j = target[batch], source[batch]
            return _mean_over(elements, target=i, source=j, ray=ray, order=order)

        factor = ray.strength / (4 * np.pi * sigma[ray.source_layer])
        for batch, mean in zip(batches, in_threads(of_batch, batches), strict=True):
            values[batch] += factor * mean
    return values


def _mean_over(
    elements: LineElements,
    *,
    target: Integers,
    source: Integers,
    ray: Ray,
    order: Floats,
) -> Floats:
    """Mean inverse distance of target elements from images of source elements. [1/m]"""
    mean, flat = np.zeros(len(target)), elements.flat
    patched = flat[target] | flat[source]
    if patched.any():
        some = np.flatnonzero(patched)
        mean[some] = with_patches(elements, target=target[some], source=source[some], ray=ray)
        target, source = target[~patched], source[~patched]
    start, end = ray.image(elements.start[source]), ray.image(elements.end[source])
    mean[~patched] = _mean_over_wires(
        elements, target=target, source=source, start=start, end=end, order=order
    )
    return mean


def _mean_over_wires(
    elements: LineElements,
    *,
    target: Integers,
    source: Integers,
    start: Floats,
    end: Floats,
    order: Floats,
) -> Floats:
    """The same of round metal, between these ends of the images. [1/m]"""
    # The root mean square keeps the matrix symmetric and is exact where radii are equal.
    radius = np.sqrt(0.5 * (elements.radius[target] ** 2 + elements.radius[source] ** 2))
    length = elements.length
    gap = np.linalg.norm(elements.middle[target] - 0.5 * (start + end), axis=1)
    near = gap < 1.5 * (length[target] + length[source])
    faced = near_on_one_axis(elements, target=target, source=source, gap=gap)
    mean = np.zeros(len(target))
    for chosen, count in ((near & ~faced, _near_points), (~near & ~faced, _far_points)):
        a, b = elements.start[target[chosen]], elements.end[target[chosen]]
        nodes, weights = _gauss(count)
        for node, weight in zip(0.5 * (nodes + 1), 0.5 * weights, strict=True):
            mean[chosen] += weight * line_at(
                a + node * (b - a), start=start[chosen], end=end[chosen], radius=radius[chosen]
            )
    i, j = target[faced], source[faced]
    mean[faced] = between_faces(
        elements,
        target=i,
        source=j,
        heights=(start[faced, 2], end[faced, 2]),
        order=order,
    )
    return mean


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


def _narrow(
    clouds: Clouds, one: Integers, other: Integers, *, soil: Soil, paths: Sequence[Ray]
) -> Floats:
    """Potential of narrow balls per current of narrow balls, for pairs of any shape. [Ω]"""
    values = np.zeros(np.broadcast_shapes(one.shape, other.shape))
    width = np.sqrt(0.5 * (clouds.gap[one] ** 2 + clouds.gap[other] ** 2))
    for acts, factor, r in _ways(clouds, one, other, soil=soil, paths=paths):
        values[acts] += factor * erf(r / width[acts]) / r
    return values


def _narrow_less_wide(clouds: Clouds, *, soil: Soil, paths: Sequence[Ray]) -> sparse.csr_matrix:
    """The same less that of the balls of the mesh, for all pairs, shape (k, k). [Ω]"""
    # No image is nearer than the ball itself.
    one, other = ball_pairs(clouds, reach=reach_of_pairs(float(clouds.spread.max())))

    def of_batch(begin: int) -> Floats:
        some = slice(begin, begin + _balls)
        i, j = one[some], other[some]
        narrow = np.sqrt(0.5 * (clouds.gap[i] ** 2 + clouds.gap[j] ** 2))
        wide = np.sqrt(2 * (clouds.spread[i] ** 2 + clouds.spread[j] ** 2))
        found = np.zeros(len(i))
        for acts, factor, r in _ways(clouds, i, j, soil=soil, paths=paths):
            found[acts] += factor * (erf(r / narrow[acts]) - erf(r / wide[acts])) / r
        return found

    values = np.concatenate(in_threads(of_batch, range(0, len(one), _balls)))
    return _symmetric(values, one, other, count=len(clouds.place))


def _ways(
    clouds: Clouds, one: Integers, other: Integers, *, soil: Soil, paths: Sequence[Ray]
) -> Iterator[tuple[tuple[Integers, ...], float, Floats]]:
    """For each ray: which pairs it joins, its volt metres per ampere, their distance in it."""
    sigma, height = conductivities(soil), clouds.place[:, 2]
    target, source = np.broadcast_arrays(one, other)
    joined: dict[tuple[int, int], tuple[tuple[Integers, ...], Floats, Integers, Integers]] = {}
    for ray in paths:
        ends = (ray.source_layer, ray.target_layer)
        if ends not in joined:
            acts = np.nonzero(
                (clouds.layer[source] == ends[0]) & (clouds.layer[target] == ends[1])
            )
            i, j = target[acts], source[acts]
            plan = ((clouds.place[i, :2] - clouds.place[j, :2]) ** 2).sum(axis=-1)
            joined[ends] = acts, plan, i, j
        acts, plan, i, j = joined[ends]
        if len(i):
            apart = ray.image(clouds.place)[j, 2] - height[i]
            r = np.maximum(np.sqrt(plan + apart**2), 1e-7 * clouds.spread[i])
            yield acts, ray.strength / (4 * np.pi * sigma[ray.source_layer]), r
