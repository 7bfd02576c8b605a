"""Integrals of the near field of balls over elements that are not as its background is.

An element near balls is split where they are; those farther from it take it as a whole, and
act through it on one another and on the near ones.
"""

from dataclasses import dataclass
from functools import partial

import numpy as np
import scipy.sparse as sparse
from scipy.spatial import cKDTree

from ..model import Flags, Floats, Integers
from ..threads import in_threads
from .clouds import Clouds
from .element_fields import Images, cut, linear_gradients, products
from .near_pairs import near_elements, with_others
from .space import Space
from .split_elements import points_of_part, split_near
from .unlike_balls import Way, narrower

# Elements split, pairs told near from far and pairs of a ball and a point integrated in one go;
# chunks of these in a batch, and batches of which the answers are held at once.
_block, _pairs, _chunk, _batch, _held = 2_000, 50_000, 100_000, 24, 8
_least = 8  # balls that an element takes as much work as without any


@dataclass(frozen=True)
class _Chunk:
    """Elements split into equally many parts, and the balls near each.

    Attributes
    ----------
    elements : ndarray of int, shape (n,)
        The elements.
    parts : ndarray of int, shape (n, p)
        Which of `all_parts` they are split into.
    balls : ndarray of int, shape (n, k)
        Those within reach of each; where there are fewer the first of them again.
    many : ndarray of int, shape (n,)
        How many there are.
    near : int
        So many of them at most, the first, are so near that an element is split for them.
    """

    elements: Integers
    parts: Integers
    balls: Integers
    many: Integers
    near: int


def face_integrals(
    space: Space,
    *,
    clouds: Clouds,
    balls: Integers,
    medium: int,
    joined: Flags,
    differs: Floats,
    ways: list[Way],
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
    ball, element = _pairs_of(
        space,
        clouds=clouds,
        balls=balls[mine],
        others=balls[~mine & joined[clouds.layer[balls]]],
        elements=np.flatnonzero(differs),
    )
    if not len(ball):
        return of_mesh, of_balls
    chunks = _chunks(
        ball,
        element,
        space=space,
        clouds=clouds,
        places=cKDTree(clouds.place[balls[mine]]),
        ways=ways,
        layer=layer,
    )
    batches = [chunks[k : k + _batch] for k in range(0, len(chunks), _batch)]
    for first in range(0, len(batches), _held):
        for more, other in in_threads(integrals, batches[first : first + _held]):
            of_mesh, of_balls = (of_mesh + more).tocsr(), (of_balls + other).tocsr()
    return of_mesh, of_balls


def _pairs_of(
    space: Space, *, clouds: Clouds, balls: Integers, others: Integers, elements: Integers
) -> tuple[Integers, Integers]:
    """Balls and elements within their reach, those of one element together."""
    if not len(elements) or not len(balls):
        return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
    reach = cut * clouds.spread[balls]
    ball, element = near_elements(
        space, clouds=clouds, balls=balls, elements=elements, reach=reach
    )
    return with_others(ball, element, space=space, clouds=clouds, others=others)


def _chunks(
    ball: Integers,
    element: Integers,
    *,
    space: Space,
    clouds: Clouds,
    places: cKDTree,
    ways: list[Way],
    layer: Integers,
) -> list[_Chunk]:
    """What is to be integrated; elements are split near the places alone."""
    own, first, many = np.unique(element, return_index=True, return_counts=True)

    def split(begin: int) -> tuple[Integers, Integers]:
        some = own[begin : begin + _block]
        corners = space.mesh.points[space.mesh.tetrahedra[some]]
        whole, part = split_near(corners, places=places)
        return whole + begin, part

    def is_near(begin: int) -> Flags:
        some = slice(begin, begin + _pairs)
        images = Images.of(
            ball[some, None],
            many=np.ones(len(ball[some]), dtype=np.int64),
            elements=element[some],
            space=space,
            clouds=clouds,
            ways=ways,
            layer=layer,
        )
        return np.asarray((images.acts & ~images.far).any(axis=(0, 2)))

    found = in_threads(split, range(0, len(own), _block))
    whole, part = (np.concatenate(each) for each in zip(*found, strict=True))
    count = np.bincount(whole)
    begin = np.cumsum(count) - count
    near = np.concatenate(in_threads(is_near, range(0, len(ball), _pairs)))
    near |= np.repeat(count == 1, many)
    ball = ball[np.lexsort([~near, element])]
    nearest = np.add.reduceat(near, first, dtype=np.int64)
    order = np.lexsort([many, nearest, count])
    # Elements stay whole: balls act on one another through all of theirs.
    work = count * points_of_part * np.maximum(nearest, _least) + 2 * many**2
    work = np.cumsum(work[order])
    ends = np.diff(count[order], prepend=0) != 0
    ends |= np.diff(work // _chunk, prepend=0) != 0
    chunks = []
    for some in np.split(order, np.flatnonzero(ends)[1:]):
        number = np.arange(many[some].max())
        at = first[some, None] + np.where(number < many[some, None], number, 0)
        inner = part[begin[some, None] + np.arange(count[some[0]])]
        near_them = int(nearest[some].max())
        chunks.append(_Chunk(own[some], inner, ball[at], many[some], near_them))
    return chunks


def _of_batch(
    chunks: list[_Chunk],
    *,
    medium: int,
    space: Space,
    clouds: Clouds,
    differs: Floats,
    ways: list[Way],
    layer: Integers,
) -> tuple[sparse.csr_matrix, sparse.csr_matrix]:
    """The two integrals over elements of some chunks, less than zero where more."""
    found = [
        _of_chunk(chunk, space=space, clouds=clouds, differs=differs, ways=ways, layer=layer)
        for chunk in chunks
    ]
    balls = [chunk.balls for chunk in chunks]
    mine = [clouds.layer[each][:, :, None] == medium for each in balls]
    to_mesh = [moments * acts for (moments, _), acts in zip(found, mine, strict=True)]
    to_balls = [felt * acts for (_, felt), acts in zip(found, mine, strict=True)]
    unknowns = [space.element_unknowns[chunk.elements] for chunk in chunks]
    count = len(clouds.place)
    of_mesh = _by_ball(to_mesh, balls=balls, columns=unknowns, shape=(count, space.size))
    if all(each.all() for each in mine):
        of_balls = _by_ball(to_balls, balls=balls, columns=balls, shape=(count, count))
        return of_mesh, of_balls
    # Of unlike balls the narrower has its field made up for.
    alike = [felt * np.swapaxes(own, 1, 2) for felt, own in zip(to_balls, mine, strict=True)]
    wider = [narrower(clouds, each[:, :, None], each[:, None]) for each in balls]
    unlike = [
        (felt - own) * acts for felt, own, acts in zip(to_balls, alike, wider, strict=True)
    ]
    of_balls, of_unlike = (
        _by_ball(each, balls=balls, columns=balls, shape=(count, count))
        for each in (alike, unlike)
    )
    return of_mesh, sparse.csr_matrix(of_balls + of_unlike + of_unlike.T)


def _of_chunk(
    chunk: _Chunk,
    *,
    space: Space,
    clouds: Clouds,
    differs: Floats,
    ways: list[Way],
    layer: Integers,
) -> tuple[Floats, Floats]:
    """What each ball is to the unknowns of its element, (n, k, c), and to others, (n, k, k)."""
    own, ball = chunk.elements, chunk.balls
    images = Images.of(
        ball, many=chunk.many, elements=own, space=space, clouds=clouds, ways=ways, layer=layer
    )
    moments, felt = products(
        images, elements=own, parts=chunk.parts, near=chunk.near, space=space
    )
    scale = -(differs[own] * space.volume_factor[own])[:, None, None]
    # In the reference element, where gradients of basis functions are linear functions.
    moments = (space.inverse[own][:, None] @ moments).reshape(*ball.shape, -1)
    return scale * (moments @ linear_gradients(space)), scale * felt


def _by_ball(
    values: list[Floats],
    *,
    balls: list[Integers],
    columns: list[Integers],
    shape: tuple[int, int],
) -> sparse.csr_matrix:
    """Sums of rows of values, (n, k, c) in columns (n, c), over those that are of one ball."""
    ball = np.concatenate([each.ravel() for each in balls])
    many = np.concatenate(
        [np.full(each.shape[0] * each.shape[1], each.shape[2]) for each in values]
    )
    data = np.concatenate([each.ravel() for each in values])
    column = [
        np.repeat(each[:, None], own.shape[1], axis=1).ravel()
        for each, own in zip(columns, balls, strict=True)
    ]
    ends = np.append(0, np.cumsum(many))
    rows = sparse.csr_matrix((data, np.concatenate(column), ends), (len(ball), shape[1]))
    # Products of rows are quicker than to sort entries.
    one = np.ones(len(ball))
    gathered = sparse.csr_matrix((one, (ball, np.arange(len(ball)))), (shape[0], len(ball)))
    found = sparse.csr_matrix(gathered @ rows)
    found.eliminate_zeros()
    return found
