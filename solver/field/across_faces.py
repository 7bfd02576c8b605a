r"""What bodies change of the field that metal has beside the mesh.

The field of narrow balls less wide ones, u, is exact in the background of its metal (`media`).
Where the soil conducts otherwise, the smooth rest on the mesh must make up for it: with
:math:`\sigma` of the soil and :math:`\sigma^0` of the background,

.. math::
    a_k(v) = \int w_k v - \int (\sigma - \sigma^0) \nabla u_k \cdot \nabla v, \qquad
    F_{kl} \leftarrow F_{kl} - \int (\sigma - \sigma^0) \nabla u_k \cdot \nabla u_l

take the place of the average of v under ball k and of the short-range matrix of balls. It is
the removal of the singular part of direct-current modelling (Lowry, Allen & Shive 1989,
Geophysics 54, 766-774; from memory), made short by the wide ball. Balls that reach into
a face themselves, where metal goes through it, stay as they are: what they are narrower than
the mesh cannot make up for. Wires less narrow balls do not reach the faces.
"""

from collections.abc import Sequence
from dataclasses import replace
from functools import partial

import numpy as np
import scipy.sparse as sparse
from scipy.special import erfc
from skfem.quadrature import get_quadrature
from skfem.refdom import RefTet

from ..model import Flags, Floats, Integers, Soil
from ..threads import in_threads
from .clouds import Clouds
from .conductivity import LayeredElements
from .films import has_films
from .images import rays_into_layers
from .media import conductivities, conductivity_beyond
from .near_pairs import most_splits, near_pairs
from .near_slopes import NearSlopes
from .short_range import ShortRange
from .space import Space
from .through_films import balanced, through_films

_cut = 3.6  # standard deviations; erfc(3.6 / √2) = 3e-4 of the potential is left there
# Of a narrow ball in another material, times the contrast: more of it would gain power.
_most_beyond = 0.01
_most_tail = 10.0  # the same of the square of a wide one, at its height; meshes keep to less
_order = 5  # of the quadrature; the first with weights above zero
_at_once = 16  # batches of which the answers are held


def across_faces(
    average: sparse.csr_matrix,
    near: ShortRange,
    *,
    space: Space,
    clouds: Clouds,
    soil: Soil,
    conductivity: LayeredElements,
) -> tuple[sparse.csr_matrix, ShortRange]:
    """Averages under balls and short-range matrix as they are with bodies in the soil.

    Parameters
    ----------
    average : csr_matrix, shape (k, size of space)
        Averages under the k balls in their backgrounds.
    near : ShortRange
        Short-range matrix in the backgrounds.
    conductivity : LayeredElements
        That of the m elements of the mesh.

    Returns
    -------
    average : csr_matrix, shape (k, size of space)
        Rows sum to 1.
    near : ShortRange
        Symmetric.
    """
    seen = reaches_faces(clouds, soil=soil)
    reach = _cut * float(clouds.spread.max())
    paths = list(rays_into_layers(clouds, soil=soil, reach=reach))
    layer = soil.layer_at(-space.centroids[:, 2])
    balls = near.balls
    for medium in np.unique(clouds.layer[seen]).tolist():
        differs = _less_background(conductivity, medium=medium, layer=layer, soil=soil)
        elements = np.flatnonzero(np.abs(differs) > 1e-12 * conductivity.horizontal)
        own = np.flatnonzero(seen & (clouds.layer == medium))
        slopes = NearSlopes(clouds, medium=medium, soil=soil, paths=paths)
        integrals = partial(
            _of_pairs,
            space=space,
            differs=differs,
            slopes=slopes,
            layer=layer,
            count=len(clouds.place),
        )
        batches = near_pairs(
            space.mesh.points[space.mesh.tetrahedra[elements]],
            places=clouds.place[own],
            reach=_cut * clouds.spread[own],
            points=[len(split_quadrature(split)[1]) for split in range(most_splits + 1)],
        )
        batches = [(split, own[i], elements[t]) for split, i, t in batches]
        for first in range(0, len(batches), _at_once):
            found = in_threads(integrals, batches[first : first + _at_once])
            of_mesh, of_balls = (_sum(parts) for parts in zip(*found, strict=True))
            average, balls = (average + of_mesh).tocsr(), (balls + of_balls).tocsr()
    if not has_films(soil):
        average = _none_in_voids(average, space=space, soil=soil, conductivity=conductivity)
        return average, replace(near, balls=balls)
    average, near = through_films(
        average,
        replace(near, balls=balls),
        space=space,
        clouds=clouds,
        soil=soil,
        paths=paths,
        seen=seen,
        reach=_cut * clouds.spread,
    )
    average = _none_in_voids(average, space=space, soil=soil, conductivity=conductivity)
    return balanced(average, space=space, clouds=clouds, soil=soil), near


def reaches_faces(clouds: Clouds, *, soil: Soil) -> Flags:
    """Whether the field of each ball, but not a narrow one in its place, reaches a face."""
    near, clear = np.zeros((2, len(clouds.place)), dtype=bool)
    clear[:] = True
    own = conductivities(soil)[clouds.layer]
    for k, body in enumerate(soil.bodies):
        contrast = conductivity_beyond(soil, body=k, here=clouds.layer) / own
        gap = body.shape.distance(clouds.place)
        near |= gap < _cut * clouds.spread
        beyond = 0.5 * erfc(np.sqrt(2.0) * gap / clouds.gap)
        clear &= beyond * np.maximum(contrast, 1.0) < _most_beyond
        tail = np.exp(-((gap / clouds.spread) ** 2))
        clear &= (contrast <= 1.0) | (contrast * tail < _most_tail)
    return near & clear


def _none_in_voids(
    average: sparse.csr_matrix, *, space: Space, soil: Soil, conductivity: LayeredElements
) -> sparse.csr_matrix:
    """The averages without what round-off of the quadrature leaves inside of voids."""
    fed = fed_by_mesh(space, soil=soil, conductivity=conductivity)
    if fed.all():
        return average
    average = sparse.csr_matrix(average @ sparse.diags_array(fed))
    total = np.asarray(average.sum(axis=1)).ravel()
    return sparse.csr_matrix(sparse.diags_array(1.0 / total) @ average)


def fed_by_mesh(space: Space, *, soil: Soil, conductivity: LayeredElements) -> Floats:
    """1 for unknowns that current may be fed into, 0 inside of voids, which lead it nowhere."""
    fed = np.ones(space.size)
    if conductivity.body is None:
        return fed
    void = np.array([body.void for body in soil.bodies])
    leads = (conductivity.body < 0) | ~void[conductivity.body]
    if not leads.all():
        fed[:] = 0.0
        fed[space.element_unknowns[leads]] = 1.0
    return fed


def _less_background(
    conductivity: LayeredElements, *, medium: int, layer: Integers, soil: Soil
) -> Floats:
    """Conductivity of each element less that of the background of metal in a medium. [S/m]"""
    sigma = conductivities(soil)
    if medium >= len(soil.resistivity):
        return conductivity.horizontal - sigma[medium]
    assert conductivity.body is not None
    return np.where(conductivity.body >= 0, conductivity.horizontal - sigma[layer], 0.0)


def _of_pairs(
    pairs: tuple[int, Integers, Integers],
    *,
    space: Space,
    differs: Floats,
    slopes: NearSlopes,
    layer: Integers,
    count: int,
) -> tuple[sparse.csr_matrix, sparse.csr_matrix]:
    """The two integrals over the elements of pairs with balls, less than zero where more."""
    split, ball, tetrahedron = pairs
    local, weights = split_quadrature(split)
    own, row = np.unique(tetrahedron, return_inverse=True)
    places = space.jacobian[own] @ local + space.origin[own][:, :, None]
    slope = slopes(places[row], ball=ball, layer=layer[tetrahedron])
    scale = differs[own] * space.volume_factor[own]
    # Gradients of the basis are those of the reference element through the inverse.
    turned = (space.inverse[tetrahedron] @ slope) * weights
    gradients = space.gradients(local)
    moments = -scale[row, None] * (
        turned.reshape(len(ball), -1) @ gradients.transpose(1, 2, 0).reshape(-1, len(gradients))
    )
    unknowns = space.element_unknowns[tetrahedron]
    average = sparse.csr_matrix(
        (moments.ravel(), (np.repeat(ball, unknowns.shape[1]), unknowns.ravel())),
        shape=(count, space.size),
    )
    return average, _products(
        slope * np.sqrt(weights), ball=ball, row=row, scale=scale, clouds=count
    )


def _products(
    slope: Floats, *, ball: Integers, row: Integers, scale: Floats, clouds: int
) -> sparse.csr_matrix:
    """Sums over elements, less than zero, of the products of all balls near each of them.

    Pairs stand together by element, `row`; elements near as many balls are worked out at once.
    """
    slope = slope.reshape(len(ball), -1)
    many = np.bincount(row)
    first = np.cumsum(many) - many
    values, ends = [], []
    for count in np.unique(many):
        own = np.flatnonzero(many == count)
        pairs = first[own, None] + np.arange(count)
        some = slope[pairs]
        values.append(-scale[own, None, None] * (some @ np.swapaxes(some, 1, 2)))
        one = np.broadcast_to(ball[pairs][:, :, None], values[-1].shape)
        ends.append(np.stack([one, np.swapaxes(one, 1, 2)]).reshape(2, -1))
    every = np.concatenate([part.ravel() for part in values])
    shape = (clouds, clouds)
    return sparse.csr_matrix((every, np.concatenate(ends, axis=1)), shape=shape)


def _sum(parts: Sequence[sparse.csr_matrix]) -> sparse.csr_matrix:
    """Sum by halves: small ones are joined before they are added to a large one."""
    found = list(parts)
    while len(found) > 1:
        odd = found[len(found) // 2 * 2 :]
        found = [a + b for a, b in zip(found[::2], found[1::2], strict=False)] + odd
    return found[0].tocsr()


def split_quadrature(split: int) -> tuple[Floats, Floats]:
    """Quadrature over the reference element split into eight so many times."""
    local, weights = get_quadrature(RefTet, _order)
    corners = np.array([[[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]]])
    for _ in range(split):
        corners = np.concatenate([_eighths(one) for one in corners])
    origin = corners[:, 0]
    edges = corners[:, 1:] - corners[:, :1]
    places = origin[:, :, None] + np.swapaxes(edges, 1, 2) @ local
    share = np.abs(np.linalg.det(edges))
    return np.concatenate(list(places), axis=1), (share[:, None] * weights).ravel()


def _eighths(corners: Floats) -> Floats:
    """Tetrahedra between corners and middles of edges of one, shape (8, 4, 3)."""
    a, b, c, d = corners
    ab, ac, ad, bc, bd, cd = (
        0.5 * (p + q) for p, q in ((a, b), (a, c), (a, d), (b, c), (b, d), (c, d))
    )
    return np.array(
        [
            [a, ab, ac, ad],
            [ab, b, bc, bd],
            [ac, bc, c, cd],
            [ad, bd, cd, d],
            [ab, ac, ad, bd],
            [ab, ac, bc, bd],
            [ac, ad, bd, cd],
            [ac, bc, bd, cd],
        ]
    )
