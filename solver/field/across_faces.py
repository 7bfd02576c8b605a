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
the mesh cannot make up for. Wires less narrow balls do not reach the faces. Pairs of balls in
unlike media are those of `unlike_balls`.
"""

from dataclasses import replace

import numpy as np
import scipy.sparse as sparse
from scipy.special import erfc

from ..model import Flags, Floats, Integers, Soil
from .clouds import Clouds
from .conductivity import LayeredElements
from .element_fields import cut
from .face_integrals import face_integrals
from .films import has_films
from .images import rays_into_layers
from .media import conductivities, conductivity_beyond
from .short_range import ShortRange
from .space import Space
from .through_films import balanced, through_films
from .unlike_balls import between_unlike, without_film

# Of a narrow ball in another material, times the contrast: more of it would gain power.
_most_beyond = 0.01
_most_tail = 10.0  # the same of the square of a wide one, at its height; meshes keep to less


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
    reach = cut * float(clouds.spread.max())
    paths = list(rays_into_layers(clouds, soil=soil, reach=reach))
    layer, sigma = soil.layer_at(-space.centroids[:, 2]), conductivities(soil)
    ways = [(ray, ray.strength / (4 * np.pi * sigma[ray.source_layer])) for ray in paths]
    balls = near.balls + between_unlike(
        near.balls,
        clouds=clouds,
        soil=soil,
        ways=ways,
        clear=near_and_clear(clouds, soil=soil)[1],
    )
    joined = without_film(soil)
    for medium in np.unique(clouds.layer[seen]).tolist():
        differs = _less_background(conductivity, medium=medium, layer=layer, soil=soil)
        of_mesh, of_balls = face_integrals(
            space,
            clouds=clouds,
            balls=np.flatnonzero(seen),
            medium=medium,
            joined=joined[medium],
            differs=np.where(np.abs(differs) > 1e-12 * conductivity.horizontal, differs, 0.0),
            ways=ways,
            layer=layer,
        )
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
        reach=cut * clouds.spread,
    )
    average = _none_in_voids(average, space=space, soil=soil, conductivity=conductivity)
    return balanced(average, space=space, clouds=clouds, soil=soil), near


def reaches_faces(clouds: Clouds, *, soil: Soil) -> Flags:
    """Whether the field of each ball, but not a narrow one in its place, reaches a face."""
    near, clear = near_and_clear(clouds, soil=soil)
    return near & clear


def near_and_clear(clouds: Clouds, *, soil: Soil) -> tuple[Flags, Flags]:
    """Whether each ball reaches a face, and whether a narrow one in its place does not."""
    near, clear = np.zeros((2, len(clouds.place)), dtype=bool)
    clear[:] = True
    own = conductivities(soil)[clouds.layer]
    for k, body in enumerate(soil.bodies):
        contrast = conductivity_beyond(soil, body=k, here=clouds.layer) / own
        gap = body.shape.distance(clouds.place)
        near |= gap < cut * clouds.spread
        beyond = 0.5 * erfc(np.sqrt(2.0) * gap / clouds.gap)
        clear &= beyond * np.maximum(contrast, 1.0) < _most_beyond
        tail = np.exp(-((gap / clouds.spread) ** 2))
        clear &= (contrast <= 1.0) | (contrast * tail < _most_tail)
    return near, clear


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
