r"""Mirror images of line elements in the surface and the planes between layers.

The potential of a point source in horizontal layers is a sum over rays. A ray leaves the
source upwards or downwards; at a plane between conductivities :math:`\sigma_i` (where it
is) and :math:`\sigma_j` (beyond) it splits into one reflected by :math:`K = (\sigma_i -
\sigma_j) / (\sigma_i + \sigma_j)` and one transmitted by :math:`1 + K`; at the surface
K = 1 (Maxwell 1873, art. 318; from memory). In the layer where a ray runs it adds
:math:`k / (4 \pi \sigma_s r)`, with k the product of its factors, :math:`\sigma_s` the
conductivity at the source and r the distance from an image as far away as the ray is long.
Since K does not depend on the wavelength, the sum over all rays is exact.

The same rays carry a source smeared by a ball-symmetric weight w, whatever planes run
through the ball: in each layer the source density is :math:`k \sigma / \sigma_s` times w
about the image. Exact and smeared potential then differ only near the source. Only rays
shorter than that range are needed, so the list is short.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from .elements import LineElements
from .model import Floats, Soil

_weakest = 1e-4  # rays weaker than this are dropped
_most = 2000  # a bound that no sensible layering reaches


@dataclass(frozen=True)
class Ray:
    """Images of all sources of one layer as they act in one layer.

    Attributes
    ----------
    source_layer, target_layer : int
        Where the sources are, and where the images act.
    sign, shift : float
        Height of the image: sign · z + shift, with z that of the source. [1], [m]
    strength : float
        Product of the factors of reflection and transmission.
    """

    source_layer: int
    target_layer: int
    sign: float
    shift: float
    strength: float

    def image(self, points: Floats) -> Floats:
        """Images of source points, shape (..., 3). [m]"""
        moved = points.copy()
        moved[..., 2] = self.sign * points[..., 2] + self.shift
        return moved

    def origin(self, points: Floats) -> Floats:
        """Points as the source sees them: the inverse of `image`, shape (..., 3). [m]"""
        moved = points.copy()
        moved[..., 2] = self.sign * (points[..., 2] - self.shift)
        return moved


def rays(elements: LineElements, *, soil: Soil, reach: float) -> Iterator[Ray]:
    """Rays from the layers that hold elements, up to a length.

    Parameters
    ----------
    elements : LineElements
        The sources.
    soil : Soil
        The layers.
    reach : float
        Longest distance of interest between an image and a point it acts on. [m]

    Yields
    ------
    Ray
        The direct ray of each layer first.
    """
    for layer in np.unique(elements.layer):
        members = elements.layer == layer
        heights = np.array([elements.start[members, 2], elements.end[members, 2]])
        span = (float(heights.min()), float(heights.max()))
        yield from _from_layer(int(layer), soil=soil, span=span, reach=reach)


def _from_layer(
    layer: int, *, soil: Soil, span: tuple[float, float], reach: float
) -> Iterator[Ray]:
    """Rays from sources between two heights of one layer, shortest first."""
    conductivity = soil.conductivity
    top = [0.0, *(-soil.interface_depth)]
    last = len(conductivity) - 1
    direct = Ray(layer, layer, 1.0, 0.0, 1.0)
    yield direct
    waiting = [(direct, True), (direct, False)]
    for _ in range(_most):
        if not waiting:
            return
        ray, upwards = waiting.pop(0)
        here = ray.target_layer
        if not upwards and here == last:
            continue
        plane = top[here] if upwards else top[here + 1]
        nearest = min(abs(ray.sign * z + ray.shift - plane) for z in span)
        if nearest > reach or abs(ray.strength) < _weakest:
            continue
        beyond = here - 1 if upwards else here + 1
        across = conductivity[beyond] if beyond >= 0 else 0.0
        k = (conductivity[here] - across) / (conductivity[here] + across)
        if k != 0:
            shift = 2 * plane - ray.shift
            reflected = Ray(layer, here, -ray.sign, shift, ray.strength * k)
            yield reflected
            waiting.append((reflected, not upwards))
        if beyond >= 0:
            passed = Ray(layer, beyond, ray.sign, ray.shift, ray.strength * (1 + k))
            yield passed
            waiting.append((passed, upwards))
