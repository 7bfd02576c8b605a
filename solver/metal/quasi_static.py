r"""How far the solution of alternating current is from the field that it stands for.

In uniform soil the potential of leaking metal at the surface is the static one at any distance.
In layers it is

.. math:: \frac{1}{2 \pi} \int_0^\infty \frac{Z_{TM} - Z_{TE}}{\lambda} J_0(\lambda r) \,
          d\lambda, \qquad Z_{TE} = \frac{j \omega \mu_0}{\lambda + U},

with U of `earth` and :math:`Z_{TM}` by the same recursion of :math:`\rho_k u_k`; at frequency 0
that is the static one (Wait 1982, *Geo-Electromagnetism*; from memory). The solution takes the
static one; the difference is nearly one constant within some tenths of a skin depth, so it
moves rises and transferred voltages and hardly touch, step and drops.
"""

from dataclasses import dataclass

import numpy as np
from scipy.constants import epsilon_0, mu_0

from ..model import Conductors, Soil
from ..soil_survey.hankel import SINGLE, lattice_for
from .internal import Complexes

_permittivity = 20.0  # of soil, relative; it matters where soil is dry, and is less there


@dataclass(frozen=True)
class QuasiStatic:
    """What lies beyond the method, each a share that should be small.

    Attributes
    ----------
    potential : float
        Of the potential at the distance of the electrode's size, what it is more or less than
        that of direct current.
    depth : float
        Depth of the deepest metal in skin depths of the best soil.
    displacement : float
        Current of the electric field in the worst soil over that by conduction.
    """

    potential: float
    depth: float
    displacement: float


def quasi_static(soil: Soil, *, conductors: Conductors, frequency: float) -> QuasiStatic:
    """How far from quasi-static metal in layers is; bodies are left out.

    Parameters
    ----------
    frequency : float
        [Hz], 0 for direct current
    """
    if frequency == 0:
        return QuasiStatic(0.0, 0.0, 0.0)
    ends = np.concatenate([conductors.start, conductors.end])
    size = float(np.linalg.norm(np.ptp(ends[:, :2], axis=0)))
    omega, rho = 2 * np.pi * frequency, soil.resistivity
    skin = np.sqrt(2 * min(rho) / (omega * mu_0))
    return QuasiStatic(
        potential=potential_share(soil, frequency=frequency, distance=max(size, 1.0)),
        depth=float(-ends[:, 2].min() / skin),
        displacement=float(omega * epsilon_0 * _permittivity * max(rho)),
    )


def potential_share(soil: Soil, *, frequency: float, distance: float) -> float:
    """Difference of the potential in layers from the static one, as a share of that.

    Parameters
    ----------
    frequency : float
        [Hz], above 0
    distance : float
        From the current. [m]
    """
    if len(soil.resistivity) == 1 and soil.isotropic:
        return 0.0
    lattice = lattice_for(np.array([distance]), design=SINGLE)
    wave = lattice.wavenumber
    rho, omega = np.array(soil.resistivity), 2 * np.pi * frequency
    gamma, bedded = 1j * omega * mu_0 / rho[:, None], soil.anisotropy[:, None]
    vertical = np.sqrt(wave**2 + gamma)
    magnetic = 1j * omega * mu_0 / (wave + _upwards(vertical, vertical, soil))
    # Currents of this field are upright too: beds count by their ratio of resistivities.
    upright = np.sqrt((bedded * wave) ** 2 + gamma)
    electric = _upwards(upright, rho[:, None] * upright, soil)
    flat = (bedded * wave).astype(complex)
    static = _upwards(flat, rho[:, None] * flat, soil)
    moving = lattice.weight @ ((electric - magnetic - static) / wave)
    return float(abs(moving[0]) / abs((lattice.weight @ (static / wave))[0]))


def _upwards(vertical: Complexes, own: Complexes, soil: Soil) -> Complexes:
    """What layers are together at the surface, from those of each, from the lowest up."""
    total: Complexes = own[-1]
    thicknesses: list[float] = list(reversed(soil.thickness))
    for u, mine, thickness in zip(vertical[-2::-1], own[-2::-1], thicknesses, strict=True):
        t = np.tanh(u * thickness)
        total = mine * (total + mine * t) / (mine + total * t)
    return total
