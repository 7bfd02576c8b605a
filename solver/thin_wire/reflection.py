r"""Point source in horizontal layers: amplitude of its waves at each wavenumber.

With depth d of the source in layer s and depth z of the point in layer f (both positive
down), the potential of a current I is a Hankel integral

.. math:: \phi = \frac{\rho_s I}{4 \pi} \int_0^\infty J_0(\lambda r) \, g(\lambda) \, d\lambda

in which g is a sum of at most five waves, :math:`C(\lambda) \, e^{-\lambda (\alpha z +
\beta d + \gamma)}` with :math:`\alpha, \beta = \pm 1`: the direct one, with C = 1 and
:math:`|z - d|`, and those reflected or let through by surface and planes.

Reflection by everything below the bottom of layer i, as seen there, follows from that of
layer i + 1,

.. math:: D_i = \frac{k_i + D_{i+1} E_{i+1}}{1 + k_i D_{i+1} E_{i+1}}, \quad
          E_i = e^{-2 \lambda h_i}, \quad k_i = \frac{\rho_{i+1} - \rho_i}{\rho_{i+1} + \rho_i}

and likewise upwards, with 1 at the surface, which insulates. The recursion is that of layered
media in general (E. D. Sunde, *Earth Conduction Effects in Transmission Systems*, 1949, ch. 2;
O. Koefoed, *Geosounding Principles 1*, 1979; both from memory); the sums over reflections
between the two ends of a layer are derived here.
"""

from dataclasses import dataclass

import numpy as np

from ..model import Floats, Soil


@dataclass(frozen=True)
class Wave:
    """One kind of wave from sources in one layer to points in another."""

    up_to_point: int  # signs α and β: 1 where the path grows with the depth of point or source
    up_to_source: int
    detour: float  # shortest path γ beside the two depths [m]
    amplitude: Floats  # (k,): C at each wavenumber, a smooth function


@dataclass(frozen=True)
class Reflections:
    """Reflections of all layers at given wavenumbers."""

    # (n,): depth of the top and bottom of each layer; infinity for the last bottom. [m]
    top: Floats
    bottom: Floats
    # (n, k): reflection by all that is above the top, and below the bottom, of each layer
    above: Floats
    below: Floats
    fading: Floats  # (n, k): what a wave keeps on the way through each layer and back


def reflections(soil: Soil, *, wavenumber: Floats) -> Reflections:
    """Reflections in every layer for wavenumbers, zero and infinity included. [1/m]"""
    rho = np.array(soil.resistivity, dtype=float)
    count = len(rho)
    contrast = (rho[1:] - rho[:-1]) / (rho[1:] + rho[:-1])
    fading = np.zeros((count, len(wavenumber)))
    for layer, thickness in enumerate(soil.thickness):
        fading[layer] = np.exp(-2.0 * thickness * wavenumber)
    above, below = np.ones_like(fading), np.zeros_like(fading)
    for layer in range(count - 2, -1, -1):
        deeper = below[layer + 1] * fading[layer + 1]
        below[layer] = (contrast[layer] + deeper) / (1.0 + contrast[layer] * deeper)
    for layer in range(1, count):
        higher = above[layer - 1] * fading[layer - 1]
        k = -contrast[layer - 1]
        above[layer] = (k + higher) / (1.0 + k * higher)
    planes = soil.interface_depth
    return Reflections(
        top=np.array([0.0, *planes]),
        bottom=np.array([*planes, np.inf]),
        above=above,
        below=below,
        fading=fading,
    )


def waves_within(layer: int, *, found: Reflections) -> tuple[Wave, ...]:
    """Waves between two depths of one layer, without the direct one."""
    above, below = found.above[layer], found.below[layer]
    echo = 1.0 / (1.0 - above * below * found.fading[layer])
    top, bottom = float(found.top[layer]), float(found.bottom[layer])
    from_above = Wave(1, 1, -2.0 * top, above * echo)
    if np.isinf(bottom):
        return (from_above,)
    both = above * below * echo
    there_and_back = 2.0 * (bottom - top)
    return (
        from_above,
        Wave(-1, -1, 2.0 * bottom, below * echo),
        Wave(1, -1, there_and_back, both),
        Wave(-1, 1, there_and_back, both),
    )


def waves_down(source: int, *, point: int, found: Reflections) -> tuple[Wave, ...]:
    """All waves from a source to a point in a lower layer."""
    above = found.above[source]
    passed = 1.0 / (1.0 - above * found.below[source] * found.fading[source])
    for layer in range(source, point):
        # The potential is continuous: what arrives and is reflected equals what goes on and
        # comes back from below.
        back = found.below[layer + 1] * found.fading[layer + 1]
        passed = passed * (1.0 + found.below[layer]) / (1.0 + back)
    top, bottom = float(found.top[source]), float(found.bottom[point])
    straight = (Wave(1, -1, 0.0, passed), Wave(1, 1, -2.0 * top, passed * above))
    if np.isinf(bottom):
        return straight
    below = found.below[point]
    return (
        *straight,
        Wave(-1, -1, 2.0 * bottom, passed * below),
        Wave(-1, 1, 2.0 * (bottom - top), passed * below * above),
    )
