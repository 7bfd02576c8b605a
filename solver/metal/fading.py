r"""How fast current along metal in the soil fades: how finely it has to be cut.

A long wire in the soil has :math:`\Gamma = \sqrt{z y}` with what its internal and external
impedance and its leakage per metre take,

.. math:: z = z_i + \frac{j \omega \mu_0}{2 \pi} \ln \frac{1.85}{\gamma a}, \qquad
          \frac{1}{y} = \frac{\rho}{\pi} \Bigl(\ln \frac{2 l}{\sqrt{2 a d}} - 1\Bigr) + c,

at the depth d with a coating c and l the length that leaks (Sunde 1949, *Earth Conduction
Effects*; from memory).
"""

from collections.abc import Sequence

import numpy as np
from scipy.constants import mu_0

from ..model import Conductors, Soil
from .internal import Bar, Complexes

_rounds = 4  # by which l and Γ agree to a few percent
_least_log = 1.0


def propagation(
    conductors: Conductors, *, bars: Sequence[Bar], soil: Soil, frequency: float
) -> Complexes:
    """Γ of each piece as a part of a long wire, in the best of all soil, shape (n,). [1/m]

    Parameters
    ----------
    bars : sequence of Bar
        One for each part.
    frequency : float
        [Hz], 0 for direct current
    """
    along = np.empty(len(conductors.radius), dtype=complex)
    for number, bar in enumerate(bars):
        mine = conductors.part == number
        along[mine] = bar.impedance(conductors.radius[mine], frequency=frequency)
    best, a = min(soil.leading), conductors.sheath_radius
    if frequency > 0:
        gamma = np.sqrt(2j * np.pi * frequency * mu_0 / best)
        along += 1j * frequency * mu_0 * np.log(1.85 / (gamma * a))
    depth = np.maximum(-0.5 * (conductors.start + conductors.end)[:, 2], a)
    film = conductors.contact / (2 * np.pi * conductors.radius)
    sheath = conductors.sheath_resistivity / (2 * np.pi) * np.log(a / conductors.radius)
    total = np.full(len(a), float(conductors.length.sum()))
    leaking, found = total, np.zeros(len(a), dtype=complex)
    for _ in range(_rounds):
        log = np.log(2 * leaking / np.sqrt(2 * a * depth)) - 1.0
        across = best / np.pi * np.maximum(log, _least_log) + film + sheath
        found = np.sqrt(along / across)
        leaking = np.minimum(total, 1.0 / np.abs(found))
    return found
