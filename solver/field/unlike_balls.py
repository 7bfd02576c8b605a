r"""What balls in different media are to one another beside the mesh.

With n a narrow ball, w a wide one, :math:`V_k` the potential in the background of metal k, and
:math:`u_k = V_k n_k - V_k w_k`, what two balls are to one another is, exactly,

.. math:: F_{ij} = \langle V_j n_j - V_j w_j, w_i \rangle + \langle V_i n_i - V_i w_i, n_j
          \rangle - \int (\sigma - \sigma^0_i) \nabla u_i \cdot \nabla u_j

In one background it is narrow ones less wide ones (`near_field`). Across a face it is not: a
wide ball is felt as its own ground has it, since what the mesh feels of it is made so too
(`across_faces`). With i the narrower one, the integral is over what its field reaches beyond
its background. Balls that reach into a face themselves are what they are in ground of the mean
conductivity of both sides, and so is what wires are more than balls.

With the mean for all of them, two pins 1.5 m and 4.9 m from ground ten times better or poorer,
their clouds 0.4 m and 2.5 m wide, had a mutual resistance 12 % too low.
"""

import numpy as np
import scipy.sparse as sparse
from scipy.special import erf

from ..model import Flags, Floats, Integers, Soil
from .clouds import Clouds
from .images import Ray
from .media import conductivities
from .windows import ball_pairs

_reach = 2 * 2.6  # spreads; as in `near_field`

Way = tuple[Ray, float]
"""Images of the sources of a medium, and their volt metres per ampere."""


def without_film(soil: Soil) -> Flags:
    """Whether nothing but soil is between two media, shape (media, media).

    Through the film of a body only the mesh couples (`through_films`).
    """
    bare = np.ones(len(soil.resistivity) + len(soil.bodies), dtype=bool)
    bare[len(soil.resistivity) :] = [body.film is None for body in soil.bodies]
    return np.asarray(bare[:, None] & bare)


def narrower(clouds: Clouds, one: Integers, other: Integers) -> Flags:
    """Whether one ball is narrower than the other; of two as wide, the first."""
    a, b = clouds.spread[one], clouds.spread[other]
    return (a < b) | ((a == b) & (one < other))


def between_unlike(
    balls: sparse.csr_matrix,
    *,
    clouds: Clouds,
    soil: Soil,
    ways: list[Way],
    clear: Flags,
) -> sparse.csr_matrix:
    """What is to be added to the matrix of balls for pairs with a face between them. [Ω]

    Parameters
    ----------
    balls : csr_matrix, shape (k, k)
        Narrow balls less wide ones, in ground of the mean conductivity across faces.
    ways : list of (Ray, float)
        From all media, as they act in each layer.
    clear : ndarray of bool, shape (k,)
        Whether a narrow ball does not reach a face.
    """
    one, other = ball_pairs(clouds, reach=_reach * float(clouds.spread.max()))
    unlike = clouds.layer[one] != clouds.layer[other]
    unlike &= np.maximum(clouds.layer[one], clouds.layer[other]) >= len(soil.resistivity)
    unlike &= without_film(soil)[clouds.layer[one], clouds.layer[other]]
    one, other = one[unlike], other[unlike]
    swap = ~narrower(clouds, one, other)
    i, j = np.where(swap, other, one), np.where(swap, one, other)
    i, j = i[clear[j]], j[clear[j]]
    if not len(i):
        return sparse.csr_matrix(balls.shape)
    narrow = 0.5 * (clouds.gap[i] ** 2 + clouds.gap[j] ** 2)
    mixed = 2 * clouds.spread[i] ** 2 + 0.5 * clouds.gap[j] ** 2
    wide = 2 * (clouds.spread[i] ** 2 + clouds.spread[j] ** 2)
    layer = soil.layer_at(-clouds.place[:, 2])
    felt = _less(clouds, source=j, target=i, widths=(mixed, wide), ways=ways, layer=layer)
    own = _less(clouds, source=i, target=j, widths=(narrow, mixed), ways=ways, layer=layer)
    sigma = conductivities(soil)[clouds.layer]
    own *= np.where(clear[i], 1.0, 2 * sigma[i] / (sigma[i] + sigma[j]))
    change = felt + own - np.asarray(balls[i, j]).ravel()
    half = sparse.csr_matrix((change, (i, j)), shape=balls.shape)
    return sparse.csr_matrix(half + half.T)


def _less(
    clouds: Clouds,
    *,
    source: Integers,
    target: Integers,
    widths: tuple[Floats, Floats],
    ways: list[Way],
    layer: Integers,
) -> Floats:
    """Potential per current with the first squared width less that with the other, (n,). [Ω]"""
    first, second = (np.sqrt(each) for each in widths)
    found = np.zeros(len(source))
    for ray, factor in ways:
        acts = np.flatnonzero(
            (clouds.layer[source] == ray.source_layer) & (layer[target] == ray.target_layer)
        )
        image = ray.image(clouds.place[source[acts]])
        r = np.linalg.norm(image - clouds.place[target[acts]], axis=1)
        found[acts] += factor * (erf(r / first[acts]) - erf(r / second[acts])) / r
    return found
