r"""What the soil adds to the inductance of metal at its surface: the return path of currents.

The electric field along a short current element at the surface is that of the static potential
of its two ends, and what the kernel

.. math:: P(r) = \frac{j \omega \mu_0}{2 \pi}
                 \int_0^\infty \frac{\lambda}{\lambda + U} J_0(\lambda r) \, d\lambda

gives; of uniform soil, :math:`U = \sqrt{\lambda^2 + \gamma^2}`, :math:`\gamma^2 = j \omega
\mu_0 / \rho`, that is Foster's (1931; Sunde 1949, *Earth Conduction Effects*; from memory)

.. math:: P(r) = \frac{j \omega \mu_0}{2 \pi} \frac{1 - (1 + \gamma r) e^{-\gamma r}}
                 {\gamma^2 r^3}.

Its singular part is half of 1/r, the mutual inductance in free space (Neumann); this module
has the smooth rest. Layers enter by the recursion of U from the lowest up. It holds where
depths are far below the skin depth of the soil, 503 sqrt(ρ/f) m. The currents that come back
are level: where layers conduct otherwise upright, it is their resistivity sideways that counts.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.constants import mu_0

from ..model import Floats, Soil
from ..soil_survey.hankel import SINGLE, lattice_for
from .internal import Complexes

_few = 0.3  # below, the series: the closed form loses figures
_series = (-1 / 3, 1 / 8, -1 / 30, 1 / 144, -1 / 840, 1 / 5760)
# Distances at which layers are tabled, a decade and from where to where. [m]
_a_decade, _nearest, _farthest = 20, 0.1, 1e5


@dataclass(frozen=True)
class EarthReturn:
    """The smooth part of the kernel in some soil at some frequency above 0."""

    soil: Soil
    frequency: float  # [Hz]

    @property
    def reach(self) -> float:
        """Distance over which the kernel changes: 1/|γ|, of the best layer. [m]"""
        return float(1.0 / np.abs(self._gammas).max())

    @property
    def _gammas(self) -> Complexes:
        """Propagation constant of each layer. [1/m]"""
        return np.sqrt(2j * np.pi * self.frequency * mu_0 / np.array(self.soil.resistivity))

    def smooth(self, distance: Floats) -> Complexes:
        """The integral of the kernel less its 1/2r, of the same shape. [1/m]"""
        gammas = self._gammas
        if len(gammas) == 1:
            return np.asarray(gammas[0] * _uniform(gammas[0] * distance))
        at, values = self._table
        where = np.log(np.clip(distance, _nearest, _farthest))
        return np.asarray(
            np.interp(where, at, values.real) + 1j * np.interp(where, at, values.imag)
        )

    @cached_property
    def _table(self) -> tuple[Floats, Complexes]:
        """Logarithms of distances, and the smooth part there."""
        count = round(_a_decade * np.log10(_farthest / _nearest)) + 1
        at = np.linspace(np.log(_nearest), np.log(_farthest), count)
        lattice = lattice_for(np.exp(at), design=SINGLE)
        wave = lattice.wavenumber
        vertical = np.sqrt(wave**2 + self._gammas[:, None] ** 2)
        total = vertical[-1]
        for u, thickness in zip(vertical[-2::-1], reversed(self.soil.thickness), strict=True):
            t = np.tanh(u * thickness)
            total = u * (total + u * t) / (u + total * t)
        # λ/(λ+U) - 1/2 loses figures where U is nearly λ.
        excess = (total**2 - wave**2) / (total + wave)
        return at, np.asarray(lattice.weight @ (-0.5 * excess / (wave + total)))


def _uniform(x: Complexes) -> Complexes:
    """[1 - (1+x) exp(-x)]/x³ - 1/(2x)."""
    small = np.abs(x) < _few
    large = np.where(small, 1.0, x)
    exact = (1.0 - (1.0 + large) * np.exp(-large)) / large**3 - 0.5 / large
    series = np.polynomial.polynomial.polyval(np.where(small, x, 0.0), _series)
    return np.asarray(np.where(small, series, exact))
