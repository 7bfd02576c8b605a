"""What the near field of metal runs in: the layers as they lie, or a body without an end.

Metal in a body has the half-space of that body as its background, all other metal the layers
without any body. Where the soil is not what the background says, the mesh makes up for it
(`across_faces`). Media have the numbers of `Soil.material_at`: layers, then bodies.
"""

import numpy as np

from ..model import Floats, Integers, Soil

# A void has so many times the resistivity of the poorest layer, of the best the latter: with
# more the errors of quadrature in it are multiplied, with less it carries current.
_void, _most = 1e4, 1e6


def resistivities(soil: Soil) -> Floats:
    """Resistivity of each medium, finite in voids and what is as good as one. [Ω·m]"""
    layers = soil.resistivity
    most = min(_void * max(layers), _most * min(layers))
    return np.array([*layers, *(min(body.resistivity, most) for body in soil.bodies)])


def conductivities(soil: Soil) -> Floats:
    """Conductivity of each medium. [S/m]"""
    return np.asarray(1.0 / resistivities(soil))


def conductivity_beyond(soil: Soil, *, body: int, here: Integers) -> Floats:
    """Conductivity beyond the faces of a body, seen from media, shape (n,). [S/m]

    Of the layers beside it the best.
    """
    sigma, count = conductivities(soil), len(soil.resistivity)
    outer = soil.bodies[body].within
    if outer is not None:
        outside = float(sigma[count + [one.name for one in soil.bodies].index(outer)])
    else:
        low, high = soil.bodies[body].shape.bounds()
        top, bottom = (int(soil.layer_at(-z)) for z in (high[2], low[2]))
        outside = float(sigma[top : bottom + 1].max())
    return np.where(here == count + body, outside, sigma[count + body])
