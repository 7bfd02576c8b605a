"""What metal drives through films: its averages of functions that jump there (`films`)."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
import scipy.sparse as sparse
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree
from skfem.quadrature import get_quadrature
from skfem.refdom import RefTri

from ..bodies import Body
from ..model import Flags, Floats, Integers, Soil
from ..threads import in_threads
from .clouds import Clouds
from .films import Films, films_of, on_facets
from .images import Ray
from .media import conductivities, conductivity_beyond
from .near_pairs import most_splits, near_pairs
from .near_slopes import NearSlopes
from .short_range import ShortRange
from .space import Space

_order = 6  # of the quadrature over faces


def through_films(
    average: sparse.csr_matrix,
    near: ShortRange,
    *,
    space: Space,
    clouds: Clouds,
    soil: Soil,
    paths: Sequence[Ray],
    seen: Flags,
    reach: Floats,
) -> tuple[sparse.csr_matrix, ShortRange]:
    """Averages under balls and short-range matrix as they are with films.

    Parameters
    ----------
    average : csr_matrix, shape (k, size of space)
        Without films.
    near : ShortRange
        The same.
    paths : sequence of Ray
        Into all layers.
    seen : ndarray of bool, shape (k,)
        Balls of which the near field is integrated; others that reach a film feed nothing
        into what is behind it.
    reach : ndarray of float, shape (k,)
        How far the near field of each ball goes. [m]
    """
    films, layer = films_of(space, soil=soil), soil.layer_at(-space.centroids[:, 2])
    sigma = conductivities(soil)
    corners = space.mesh.points[space.topology.facets[:, films.facets].T]
    for body, through in _through(
        space, clouds=clouds, soil=soil, films=films, near=~seen, reach=reach
    ):
        average = _on_own_side(average, space=space, body=body, through=through)
        wires = through.of_elements(near.shares).between(near.wires)
        near = replace(near, wires=wires, balls=through.between(near.balls))
    for medium in np.unique(clouds.layer[seen]).tolist():
        own = np.flatnonzero(seen & (clouds.layer == medium))
        there = layer[films.inside]
        in_layers = medium < len(soil.resistivity)
        flux = partial(
            _of_pairs,
            space=space,
            films=films,
            slopes=NearSlopes(clouds, medium=medium, soil=soil, paths=paths),
            layer=there,
            background=sigma[there] if in_layers else np.full(len(there), sigma[medium]),
            count=len(clouds.place),
        )
        batches = [
            (split, own[i], face)
            for split, i, face in near_pairs(
                corners,
                places=clouds.place[own],
                reach=reach[own],
                points=[len(_split_quadrature(split)[1]) for split in range(most_splits + 1)],
            )
        ]
        for part in in_threads(flux, batches):
            average = (average + part).tocsr()
    return average, near


def _of_pairs(
    pairs: tuple[int, Integers, Integers],
    *,
    space: Space,
    films: Films,
    slopes: NearSlopes,
    layer: Integers,
    background: Floats,
    count: int,
) -> sparse.csr_matrix:
    """Less the current of balls through faces, times the jump of functions there."""
    split, ball, face = pairs
    local, weights = _split_quadrature(split)
    own, row = np.unique(face, return_inverse=True)
    facets, inside, outside = films.facets[own], films.inside[own], films.outside[own]
    corners = space.mesh.points[space.topology.facets[:, facets].T]
    places = np.swapaxes(corners, 1, 2) @ local
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    inwards = np.einsum("ni,ni->n", normal, space.centroids[inside] - corners[:, 0]) > 0
    normal[inwards] *= -1.0
    slope = slopes(places[row], ball=ball, layer=layer[face])
    flux = np.einsum("niq,ni->nq", slope, normal[row]) * background[face][:, None] * weights
    moments, unknowns = [], []
    for sign, side in ((-1.0, inside), (1.0, outside)):
        values = on_facets(space, facets=facets, elements=side, local=local)
        moments.append(sign * np.einsum("nq,nkq->nk", flux, values[row], optimize=True))
        unknowns.append(space.element_unknowns[side[row]])
    columns = np.concatenate(unknowns, axis=1)
    rows = np.repeat(ball, columns.shape[1])
    values = np.concatenate(moments, axis=1)
    return sparse.csr_matrix((values.ravel(), (rows, columns.ravel())), (count, space.size))


@dataclass(frozen=True)
class _Through:
    """Balls or elements of metal that goes through the film of one body.

    Attributes
    ----------
    inside : ndarray of bool, shape (k,)
        Whether each is in the body.
    cut : ndarray of bool, shape (k,)
        Whether the film cuts it: what it is narrower than the mesh is not made up for.
    passes : ndarray of float, shape (k,)
        Share of what such as are cut drive through a face without a film that they drive
        through this one.
    """

    inside: Flags
    cut: Flags
    passes: Floats

    def of_elements(self, shares: sparse.csr_matrix) -> "_Through":
        """The same of line elements, by the balls that they give most to."""
        most = np.asarray(abs(shares).argmax(axis=1)).ravel()
        return _Through(*(each[most] for each in vars(self).values()))

    def between(self, matrix: sparse.csr_matrix) -> sparse.csr_matrix:
        """What pairs do to one another: of two that the film cuts what it passes."""
        entries = matrix.tocoo()
        one, other = entries.row, entries.col
        both = self.cut[one] & self.cut[other] & (self.inside[one] != self.inside[other])
        entries.data[both] *= np.minimum(self.passes[one], self.passes[other])[both]
        return entries.tocsr()


def _through(
    space: Space, *, clouds: Clouds, soil: Soil, films: Films, near: Flags, reach: Floats
) -> Iterator[tuple[Body, _Through]]:
    """What goes through the film of each body, of balls that are `near` a face."""
    sigma = conductivities(soil)
    points = space.mesh.points[space.topology.facets[:, films.facets].T]
    for number in np.unique(films.body).tolist():
        body = soil.bodies[number]
        assert body.film is not None
        corners = points[films.body == number]
        middle = corners.mean(axis=1)
        size = np.linalg.norm(corners - middle[:, None], axis=2).max(axis=1)
        gap, face = cKDTree(middle).query(clouds.place)
        cut = near & (gap < reach + size[face])
        beyond = conductivity_beyond(soil, body=number, here=clouds.layer)
        across = clouds.spread * (1 / sigma[clouds.layer] + 1 / beyond)
        passes = 1 / (1 + body.film.resistance / across)
        yield body, _Through(_inside(clouds, number=number, soil=soil), cut, passes)


def _on_own_side(
    average: sparse.csr_matrix, *, space: Space, body: Body, through: _Through
) -> sparse.csr_matrix:
    """Averages of balls that a film cuts, with what it passes of them beyond it."""
    kept = sparse.csr_matrix(average, copy=True)
    rows = np.repeat(np.arange(kept.shape[0]), np.diff(kept.indptr))
    held = body.shape.holds(space.centroids)
    for side in (True, False):
        fed = np.zeros(space.size, dtype=bool)
        fed[space.element_unknowns[held == side]] = True
        own = through.cut & (through.inside == side)
        beyond = own[rows] & ~fed[kept.indices]
        kept.data[beyond] *= through.passes[rows[beyond]]
    total = np.asarray(kept.sum(axis=1)).ravel()
    return sparse.csr_matrix(sparse.diags_array(1.0 / total) @ kept)


def _inside(clouds: Clouds, *, number: int, soil: Soil) -> Flags:
    """Whether the metal of each ball is in a body, or in one that lies in that."""
    count, names = len(soil.resistivity), [body.name for body in soil.bodies]
    within = np.zeros(count + len(names), dtype=bool)
    for k in range(len(names)):
        at: int | None = k
        while at is not None:
            within[count + k] |= at == number
            outer = soil.bodies[at].within
            at = None if outer is None else names.index(outer)
    return within[clouds.layer]


def balanced(
    average: sparse.csr_matrix, *, space: Space, clouds: Clouds, soil: Soil
) -> sparse.csr_matrix:
    """Averages that feed all of a ball into the part of the soil that it is in.

    Where films close off a part of the soil, what quadrature leaves there would have to
    leave through them.
    """
    one, other = space.topology.f2t
    passes = other >= 0
    passes[space.slit] = False
    count = len(space.origin)
    graph = sparse.csr_matrix(
        (np.ones(passes.sum()), (one[passes], other[passes])), shape=(count, count)
    )
    parts, part = connected_components(graph, directed=False)
    if parts == 1:
        return average
    of_unknown = np.zeros(space.size, dtype=np.int64)
    of_unknown[space.element_unknowns] = part[:, None]
    wanted = np.zeros((average.shape[0], parts))
    medium = soil.material_at(space.centroids)
    for one_medium in np.unique(clouds.layer):
        mine = np.flatnonzero(clouds.layer == one_medium)
        there = np.flatnonzero(medium == one_medium)
        _, nearest = cKDTree(space.centroids[there]).query(clouds.place[mine])
        wanted[mine, part[there[nearest]]] = 1.0
    rows = np.repeat(np.arange(average.shape[0]), np.diff(average.indptr))
    key = rows * parts + of_unknown[average.indices]
    size = wanted.size
    found = np.bincount(key, average.data, size)
    weight = np.bincount(key, np.abs(average.data), size)
    off = (found - wanted.ravel()) / np.maximum(weight, np.finfo(float).tiny)
    result = average.copy()
    result.data = average.data - off[key] * np.abs(average.data)
    return result


def _split_quadrature(split: int) -> tuple[Floats, Floats]:
    """Barycentric places and weights over a triangle split into four so many times."""
    local, weights = get_quadrature(RefTri, _order)
    local = np.vstack([1.0 - local.sum(axis=0), local])
    halves = [
        np.array(corners) / 2
        for corners in (
            [[2, 1, 1], [0, 1, 0], [0, 0, 1]],
            [[1, 0, 0], [1, 2, 1], [0, 0, 1]],
            [[1, 0, 0], [0, 1, 0], [1, 1, 2]],
            [[1, 1, 0], [1, 0, 1], [0, 1, 1]],
        )
    ]
    for _ in range(split):
        local = np.hstack([half @ local for half in halves])
        weights = np.tile(weights, 4) / 4
    return local, weights
