"""Integrals of the near field of balls over elements that are not as its background is.

An element near balls is split where they are; those farther from it are taken at the same
points, since balls act on one another through it.
"""

from dataclasses import dataclass
from functools import partial

import numpy as np
import scipy.sparse as sparse
from scipy.spatial import cKDTree

from ..model import Flags, Floats, Integers
from ..threads import in_threads
from .clouds import Clouds
from .images import Ray
from .near_pairs import pairs_within
from .near_slopes import slope_of_balls
from .space import Space
from .split_elements import points_of_part, quadrature_of, split_near
from .unlike_balls import narrower

cut = 3.6  # standard deviations; erfc(3.6 / √2) = 3e-4 of the potential is left there
_cut_of_others = 2.6  # where fields of two media meet, both are little
_narrow = 3.0  # gaps from a narrow ball it is as good as a point: erfc(3 √2) = 2e-9
# Pairs of a ball and a point of which the arrays stay in the cache of a core, parts of so many
# pairs in a batch, and batches of which the answers are held at once.
_chunk, _batch, _at_once = 16_000, 64, 8


@dataclass(frozen=True)
class _Chunk:
    """Elements split into equally many parts, and the balls near each.

    Attributes
    ----------
    elements : ndarray of int, shape (n,)
        The elements.
    parts : ndarray of float, shape (n, p, 4, 3)
        Corners of the parts in the reference element.
    many : ndarray of int, shape (n,)
        Balls near each.
    balls : ndarray of int, shape (sum of many,)
        Those of the first element, the second, and so on.
    """

    elements: Integers
    parts: Floats
    many: Integers
    balls: Integers


def face_integrals(
    space: Space,
    *,
    clouds: Clouds,
    balls: Integers,
    medium: int,
    joined: Flags,
    differs: Floats,
    ways: list[tuple[Ray, float]],
    layer: Integers,
) -> tuple[sparse.csr_matrix, sparse.csr_matrix]:
    """What is to be added to the averages under k balls and to what they do to each other.

    Parameters
    ----------
    balls : ndarray of int
        Those that act, of all media.
    medium : int
        Balls of it act on the mesh, on one another, and on wider balls of other media.
    joined : ndarray of bool, shape (number of media,)
        Those whose balls they act on.
    differs : ndarray of float, shape (m,)
        Conductivity of each element less that of their background. [S/m]
    ways : list of (Ray, float)
        From all media, each with its potential at a distance of 1 m, per ampere. [V m/A]
    layer : ndarray of int, shape (m,)
        Of each element.

    Returns
    -------
    of_mesh : csr_matrix, shape (k, size of space)
    of_balls : csr_matrix, shape (k, k)
        In Ω.
    """
    count = len(clouds.place)
    of_mesh = sparse.csr_matrix((count, space.size))
    of_balls = sparse.csr_matrix((count, count))
    integrals = partial(
        _of_batch,
        medium=medium,
        space=space,
        clouds=clouds,
        differs=differs,
        ways=ways,
        layer=layer,
    )
    mine = clouds.layer[balls] == medium
    others = balls[~mine & joined[clouds.layer[balls]]]
    chunks = _chunks(
        space,
        clouds=clouds,
        balls=balls[mine],
        others=others,
        elements=np.flatnonzero(differs),
    )
    batches = [chunks[k : k + _batch] for k in range(0, len(chunks), _batch)]
    for first in range(0, len(batches), _at_once):
        for more, other in in_threads(integrals, batches[first : first + _at_once]):
            of_mesh, of_balls = (of_mesh + more).tocsr(), (of_balls + other).tocsr()
    return of_mesh, of_balls


def _chunks(
    space: Space, *, clouds: Clouds, balls: Integers, others: Integers, elements: Integers
) -> list[_Chunk]:
    """What is to be integrated; elements are split for balls of the medium, not for others."""
    if not len(elements) or not len(balls):
        return []
    reach = cut * clouds.spread[balls]
    ball, element = _near(space, clouds=clouds, balls=balls, elements=elements, reach=reach)
    ball, element = _with_others(ball, element, space=space, clouds=clouds, others=others)
    own, first, many = np.unique(element, return_index=True, return_counts=True)
    whole, parts = split_near(
        space.mesh.points[space.mesh.tetrahedra[own]], places=cKDTree(clouds.place[balls])
    )
    _, begin, number = np.unique(whole, return_index=True, return_counts=True)
    chunks = []
    for count in np.unique(number).tolist():
        alike = np.flatnonzero(number == count)
        work = np.cumsum(many[alike]) * count * points_of_part
        # Elements stay whole: balls act on one another through all of theirs.
        for some in np.split(alike, np.flatnonzero(np.diff(work // _chunk)) + 1):
            near = np.concatenate([ball[first[k] : first[k] + many[k]] for k in some])
            inner = parts[begin[some][:, None] + np.arange(count)]
            chunks.append(_Chunk(own[some], inner, many[some], near))
    return chunks


def _with_others(
    ball: Integers, element: Integers, *, space: Space, clouds: Clouds, others: Integers
) -> tuple[Integers, Integers]:
    """Pairs with those of wider balls of other media, where their fields meet."""
    if not len(others) or not len(ball):
        return ball, element
    least = np.full(len(space.centroids), np.inf)
    np.minimum.at(least, element, clouds.spread[ball])
    met = np.unique(element)
    reach = _cut_of_others * clouds.spread[others]
    other, met = _near(space, clouds=clouds, balls=others, elements=met, reach=reach)
    wider = clouds.spread[other] >= least[met]
    ball = np.concatenate([ball, other[wider]])
    element = np.concatenate([element, met[wider]])
    order = np.argsort(element, kind="stable")
    return ball[order], element[order]


def _near(
    space: Space, *, clouds: Clouds, balls: Integers, elements: Integers, reach: Floats
) -> tuple[Integers, Integers]:
    """Pairs of balls and elements within reach, those of one element together."""
    middle, radius = space.centroids[elements], _radius(space, elements=elements)
    i, t, _ = pairs_within(middle, radius=radius, places=clouds.place[balls], reach=reach)
    order = np.lexsort([i, t])
    return balls[i[order]], elements[t[order]]


def _radius(space: Space, *, elements: Integers) -> Floats:
    """Distance of the farthest corner of elements from their centre. [m]"""
    corners = space.mesh.points[space.mesh.tetrahedra[elements]]
    off = corners - space.centroids[elements][:, None]
    return np.asarray(np.linalg.norm(off, axis=2).max(axis=1))


def _of_batch(
    chunks: list[_Chunk],
    *,
    medium: int,
    space: Space,
    clouds: Clouds,
    differs: Floats,
    ways: list[tuple[Ray, float]],
    layer: Integers,
) -> tuple[sparse.csr_matrix, sparse.csr_matrix]:
    """The two integrals over elements of some chunks, less than zero where more."""
    moments, felt = [], []
    for chunk in chunks:
        own, last = chunk.elements, np.cumsum(chunk.many)
        local, weights = quadrature_of(chunk.parts)
        places = space.jacobian[own] @ local + space.origin[own][:, :, None]
        slope = _slopes(
            chunk, places=places, space=space, clouds=clouds, ways=ways, layer=layer
        )
        weights *= -(differs[own] * space.volume_factor[own])[:, None]
        each = np.tile(weights, 3)
        basis = _gradients(space, elements=own, local=local) * each[:, None]
        for k, (end, count) in enumerate(zip(last, chunk.many, strict=True)):
            field = slope[end - count : end].reshape(count, -1)
            moments.append(field @ basis[k].T)
            felt.append((field * each[k]) @ field.T)
    many = np.concatenate([chunk.many for chunk in chunks])
    ball = np.concatenate([chunk.balls for chunk in chunks])
    unknowns = space.element_unknowns[np.concatenate([chunk.elements for chunk in chunks])]
    first, count = np.repeat(np.cumsum(many) - many, many), np.repeat(many, many)
    other = ball[np.repeat(first, count) + _numbers(count)]
    kept, mine = len(clouds.place), clouds.layer[ball] == medium
    of_mesh = sparse.csr_matrix(
        (
            np.concatenate(moments)[mine].ravel(),
            (
                np.repeat(ball[mine], unknowns.shape[1]),
                np.repeat(unknowns, many, axis=0)[mine].ravel(),
            ),
        ),
        shape=(kept, space.size),
    )
    values = np.concatenate([one.ravel() for one in felt])
    return of_mesh, _between(
        values, acting=np.repeat(ball, count), other=other, medium=medium, clouds=clouds
    )


def _between(
    values: Floats, *, acting: Integers, other: Integers, medium: int, clouds: Clouds
) -> sparse.csr_matrix:
    """Products of balls as a matrix: of unlike ones the narrower has its field made up for."""
    alike = clouds.layer[other] == medium
    held = (clouds.layer[acting] == medium) & (alike | narrower(clouds, acting, other))
    values, acting, other, alike = values[held], acting[held], other[held], alike[held]
    return sparse.csr_matrix(
        (
            np.concatenate([values, values[~alike]]),
            (
                np.concatenate([acting, other[~alike]]),
                np.concatenate([other, acting[~alike]]),
            ),
        ),
        shape=(len(clouds.place), len(clouds.place)),
    )


def _numbers(many: Integers) -> Integers:
    """0, 1, ... up to each of some numbers, one after the other."""
    return np.asarray(np.arange(many.sum()) - np.repeat(np.cumsum(many) - many, many))


def _gradients(space: Space, *, elements: Integers, local: Floats) -> Floats:
    """Gradients of the basis functions of elements at points of theirs, (n, k, 3 q). [1/m]"""
    count, _, points = local.shape
    there = space.gradients(np.swapaxes(local, 0, 1).reshape(3, -1))
    there = there.reshape(-1, 3, count, points).transpose(2, 0, 1, 3)
    turned = np.swapaxes(space.inverse[elements], 1, 2)[:, None] @ there
    return turned.reshape(count, -1, 3 * points)


def _slopes(
    chunk: _Chunk,
    *,
    places: Floats,
    space: Space,
    clouds: Clouds,
    ways: list[tuple[Ray, float]],
    layer: Integers,
) -> Floats:
    """Gradients of the field of each ball at the points of its element. [1/(S m²)]"""
    row = np.repeat(np.arange(len(chunk.elements)), chunk.many)
    middle, radius = space.centroids[chunk.elements], _radius(space, elements=chunk.elements)
    place, spread, gap = (
        each[chunk.balls] for each in (clouds.place, clouds.spread, clouds.gap)
    )
    sign, shift, source, target, factor = (
        np.array(each)
        for each in zip(
            *(
                (ray.sign, ray.shift, ray.source_layer, ray.target_layer, factor)
                for ray, factor in ways
            ),
            strict=True,
        )
    )
    height = sign[:, None] * place[:, 2] + shift[:, None]  # of images: ways, pairs
    plan = ((middle[row, :2] - place[:, :2]) ** 2).sum(axis=1)
    off = np.sqrt(plan + (middle[row, 2] - height) ** 2) - radius[row]
    here = (layer[chunk.elements][row] == target[:, None]) & (off < cut * spread)
    here &= clouds.layer[chunk.balls] == source[:, None]
    slope = np.zeros((len(row), *places.shape[1:]))
    most = max(1, _chunk // places.shape[2])
    for narrow in (False, True):
        pair, way = np.nonzero((here & ((off < _narrow * gap) == narrow)).T)
        for begin in range(0, len(pair), most):
            i, k = pair[begin : begin + most], way[begin : begin + most]
            found = factor[k, None, None] * slope_of_balls(
                places[row[i]],
                centre=np.column_stack([place[i, :2], height[k, i]]),
                gap=gap[i] if narrow else None,
                spread=spread[i],
            )
            first = np.flatnonzero(np.diff(i, prepend=-1))
            slope[i[first]] += np.add.reduceat(found, first, axis=0)
    return slope
