r"""A foot as a thin metal disc on the surface: its potential, what discs do to one another.

At the surface of uniform ground a disc of radius b at one potential has the density of current
:math:`I / (2 \pi b \sqrt{b^2 - r^2})`, and where there is no surface the potential (classical)

.. math:: \frac{\rho I}{4 \pi b} \arcsin \frac{2 b}{r_1 + r_2}, \qquad
    r_{1, 2} = \sqrt{(r \mp b)^2 + z^2}.

All functions here are per :math:`\rho / 4 \pi`, as inverse distances of points are: images in
the surface and in the planes between layers add up as those of points do.
"""

from collections.abc import Callable, Sequence
from functools import cache

import numpy as np

from ..model import Floats

_nodes = 24  # over the radius: the resistance settles to 1e-9
_rings, _spokes = 6, 12  # of a disc that is averaged over
_panel, _per_panel = 0.5, 8  # of the logarithm of the wavenumber, and points in each


def potential_of_disc(plan: Floats, *, height: Floats, radius: float) -> Floats:
    """Mean inverse distance of places from a disc, any shape. [1/m]

    Parameters
    ----------
    plan : ndarray of float
        Distance of each place from the axis. [m]
    height : ndarray of float
        Distance above or below the disc. [m]
    """
    near, far = np.hypot(plan - radius, height), np.hypot(plan + radius, height)
    return np.asarray(np.arcsin(np.minimum(2 * radius / (near + far), 1.0)) / radius)


def slope_of_disc(off: Floats, *, radius: float) -> Floats:
    """Gradient of that mean, of places off the centre of the disc, shape (3, n). [1/m²]"""
    plan = np.maximum(np.hypot(off[0], off[1]), 1e-9 * radius)
    near, far = np.hypot(plan - radius, off[2]), np.hypot(plan + radius, off[2])
    near = np.maximum(near, 1e-3 * radius)  # the rim itself
    total = near + far
    beyond = np.maximum(total**2 - (2 * radius) ** 2, (1e-3 * radius) ** 2)
    rising = -2 / (total * np.sqrt(beyond))
    outward = rising * ((plan - radius) / near + (plan + radius) / far) / plan
    upward = rising * (1 / near + 1 / far)
    return np.stack([outward * off[0], outward * off[1], upward * off[2]])


def own_mean(height: Floats, *, radius: float) -> Floats:
    r"""Mean inverse distance of a disc from its image so far above or below it. [1/m]

    Notes
    -----
    :math:`\int_0^\infty e^{-\lambda z} (\sin \lambda b / \lambda b)^2 d\lambda`, by parts.
    """
    height = np.maximum(np.abs(height), 1e-12 * radius)
    ratio = 2 * radius / height
    bracket = radius * np.arctan(ratio) - 0.25 * height * np.log1p(ratio**2)
    return np.asarray(bracket / radius**2)


def mean_between(apart: float, *, height: Floats, radius: float) -> Floats:
    """Mean inverse distance of one disc from the image of another, for each height. [1/m]"""
    u, weight = _gauss(_rings)
    ring = radius * np.sqrt(1 - u**2)  # the density makes the height of a half ball even
    angle = 2 * np.pi * (np.arange(_spokes) + 0.5) / _spokes
    plan = np.hypot(apart + np.outer(ring, np.cos(angle)), np.outer(ring, np.sin(angle)))
    means = potential_of_disc(plan, height=np.asarray(height)[..., None, None], radius=radius)
    return np.asarray(means.mean(axis=-1) @ weight)


def density_gain(height: Floats, *, strength: Floats, radius: float) -> float:
    r"""What the true density takes from the resistance of a disc, below 0, per ρ. [1/m]

    In layers a disc at one potential does not have the density that it has on uniform ground.

    Parameters
    ----------
    height, strength : ndarray of float, shape (n,)
        Distance of its images, and how strong each is beside the disc with its mirror. [m], [1]
    """
    if not len(height):
        return 0.0
    even = np.pi / (2 * radius) + float(strength @ own_mean(height, radius=radius))

    def kernel(x: Floats) -> Floats:
        return np.asarray((strength * height / (height**2 + x[..., None] ** 2)).sum(axis=-1))

    return of_density(kernel, radius=radius) - even / (2 * np.pi)


def of_density(kernel: Callable[[Floats], Floats], *, radius: float) -> float:
    r"""Resistance of a disc at one potential on layers, per ρ of the first. [1/m]

    Notes
    -----
    With the density as :math:`A(\lambda) = \int_0^b g(t) \cos \lambda t \, dt` the dual
    integral equations of the disc become

    .. math:: g(t) + \frac{1}{\pi} \int_0^b [M(t - s) + M(t + s)]\, g(s)\, ds = 1,

    with :math:`M(x) = \int_0^\infty k(\lambda) \cos \lambda x \, d\lambda`, k what layers add
    to the kernel 1 of uniform ground; an image of strength k at z adds :math:`k z / (z^2 +
    x^2)`. The resistance is :math:`\rho / (4 \int g)`. Derived here; solved at Gauss points.
    """
    node, weight = _gauss(_nodes)
    t, w = radius * node, radius * weight
    matrix = kernel(t[:, None] - t) + kernel(t[:, None] + t)
    g = np.linalg.solve(np.eye(_nodes) + matrix * w / np.pi, np.ones(_nodes))
    return float(1 / (4 * (w @ g)))


def disc_on_layers(
    resistivity: Sequence[float], *, thickness: Sequence[float], radius: float
) -> float:
    """Resistance of a disc on any horizontal layers without an end. [Ω]

    Parameters
    ----------
    resistivity : sequence of float, length n
        Of each layer from the surface down. [Ω·m]
    thickness : sequence of float, length n - 1
        Of each but the last. [m]
    """
    if not len(thickness):
        return resistivity[0] / (4 * radius)
    # From where all layers but the last are thin to where the first is all.
    low = np.log(1e-7 / sum(thickness))
    high = np.log(20.0 / thickness[0])
    edges = np.linspace(low, high, 1 + int(np.ceil((high - low) / _panel)))
    node, weight = _gauss(_per_panel)
    step = edges[1] - edges[0]
    wavenumber = np.exp((edges[:-1, None] + step * node).ravel())
    weights = wavenumber * np.tile(step * weight, len(edges) - 1)
    below = np.zeros(len(wavenumber))
    for k in range(len(thickness) - 1, -1, -1):
        one, other = resistivity[k + 1], resistivity[k]
        contrast = (one - other) / (one + other)
        below = (contrast + below) / (1 + contrast * below)
        below *= np.exp(-2 * wavenumber * thickness[k])
    weights *= 2 * below / (1 - below)

    def kernel(x: Floats) -> Floats:
        return np.asarray(np.cos(x[..., None] * wavenumber) @ weights)

    return resistivity[0] * of_density(kernel, radius=radius)


@cache
def _gauss(count: int) -> tuple[Floats, Floats]:
    """Gauss points from 0 to 1 and their weights."""
    node, weight = np.polynomial.legendre.leggauss(count)
    return 0.5 * (node + 1), 0.5 * weight
