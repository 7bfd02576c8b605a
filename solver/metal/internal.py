r"""Internal impedance of metal per metre: what its own field and current in it take.

A round wire of radius a has

.. math:: z = \frac{\gamma \rho}{2 \pi a} \frac{I_0(\gamma a)}{I_1(\gamma a)}, \qquad
          \gamma = \sqrt{j \omega \mu_0 \mu_r / \rho},

a tube in :math:`a \le r \le b` with its return outside the same with waves :math:`I` and
:math:`K` that have no field at its inner face (Schelkunoff 1934; from memory), and a shell on a
core that of the core there. Bessel functions are scaled, so that thick metal overflows nothing.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.constants import mu_0
from scipy.special import ive, kve

from ..heating.materials import Material, material
from ..model import Floats

Complexes = npt.NDArray[np.complex128]


@dataclass(frozen=True)
class Bar:
    """What a part is made of, as current along it meets it.

    Attributes
    ----------
    material : Material
        Of all of it.
    permeability : float
        Relative, of the steel in it.
    temperature : float
        [°C]
    area : float or None
        Of the metal of a stranded conductor; None where it is as thick as it looks. [m²]
    strip : tuple of float, length 2, or None
        Width and thickness of a strip; None where it is round. [m]
    wall : float or None
        Thickness of the wall of a tube; None where it is solid. [m]
    """

    material: Material
    permeability: float
    temperature: float = 20.0
    area: float | None = None
    strip: tuple[float, float] | None = None
    wall: float | None = None

    def impedance(self, radius: Floats, *, frequency: float) -> Complexes:
        """Internal impedance per metre, shape of `radius`. [Ω/m]

        Parameters
        ----------
        radius : ndarray of float
            Outer radius of the metal, where neither area nor strip says how thick it is. [m]
        frequency : float
            [Hz], 0 for direct current
        """
        heated = _heated(self.material, self.temperature)
        if self.area is not None:
            radius = np.full_like(radius, np.sqrt(self.area / np.pi))
        if self.strip is not None:
            one = strip(
                *self.strip,
                resistivity=heated,
                permeability=self.permeability,
                frequency=frequency,
            )
            return np.full(radius.shape, one)
        if self.wall is not None:
            return tube(
                radius - self.wall,
                outer=radius,
                resistivity=heated,
                permeability=self.permeability,
                frequency=frequency,
            )
        outer, core = material(self.material.shell), material(self.material.core)
        if outer is None or core is None:
            return round_wire(
                radius,
                resistivity=heated,
                permeability=self.permeability,
                frequency=frequency,
            )
        return clad_wire(
            radius,
            core=radius * np.sqrt(1.0 - _share_of_shell(self.material, outer, core)),
            resistivity=(_heated(outer, self.temperature), _heated(core, self.temperature)),
            permeability=self.permeability,
            frequency=frequency,
        )


def _heated(metal: Material, temperature: float) -> float:
    """Resistivity at a temperature in °C. [Ω·m]"""
    return metal.resistivity * (1.0 + metal.coefficient * (temperature - 20.0))


def _share_of_shell(whole: Material, outer: Material, core: Material) -> float:
    """Share of the section of clad metal that its shell takes, by its conductivities."""
    inside = 1.0 / core.resistivity
    return (1.0 / whole.resistivity - inside) / (1.0 / outer.resistivity - inside)


def round_wire(
    radius: npt.ArrayLike, *, resistivity: float, permeability: float, frequency: float
) -> Complexes:
    """Internal impedance of a round wire per metre, shape of `radius`. [Ω/m]

    Parameters
    ----------
    radius : array_like of float
        [m]
    resistivity : float
        [Ω·m]
    permeability : float
        Relative.
    frequency : float
        [Hz], 0 for direct current
    """
    radius = np.asarray(radius, dtype=float)
    if frequency == 0:
        return np.asarray(resistivity / (np.pi * radius**2), dtype=complex)
    gamma = _gamma(resistivity, permeability, frequency)
    ratio = ive(0, gamma * radius) / ive(1, gamma * radius)
    return np.asarray(gamma * resistivity / (2 * np.pi * radius) * ratio)


def tube(
    inner: npt.ArrayLike,
    *,
    outer: npt.ArrayLike,
    resistivity: float,
    permeability: float,
    frequency: float,
) -> Complexes:
    """Internal impedance of a tube per metre, its return outside; as for `round_wire`."""
    inner, outer = np.asarray(inner, dtype=float), np.asarray(outer, dtype=float)
    if frequency == 0:
        return np.asarray(resistivity / (np.pi * (outer**2 - inner**2)), dtype=complex)
    gamma = _gamma(resistivity, permeability, frequency)
    return _layer(
        inner, outer, gamma=gamma, resistivity=resistivity, field=np.zeros_like(inner)
    )


def clad_wire(
    radius: npt.ArrayLike,
    *,
    core: npt.ArrayLike,
    resistivity: tuple[float, float],
    permeability: float,
    frequency: float,
) -> Complexes:
    """Internal impedance of a wire in a shell per metre, shape of `radius`. [Ω/m]

    Parameters
    ----------
    radius, core : array_like of float
        Of the whole and of its core. [m]
    resistivity : tuple of float
        Of shell and core. [Ω·m]
    permeability : float
        Relative, of the core; that of the shell is 1.
    frequency : float
        [Hz], 0 for direct current
    """
    radius, core = np.asarray(radius, dtype=float), np.asarray(core, dtype=float)
    outer, inside = resistivity
    if frequency == 0:
        led = (radius**2 - core**2) / outer + core**2 / inside
        return np.asarray(1.0 / (np.pi * led), dtype=complex)
    gamma, within = _gamma(outer, 1.0, frequency), _gamma(inside, permeability, frequency)
    # Magnetic over electric field at the core, both scaled as waves in the shell have them.
    ratio = ive(1, within * core) / ive(0, within * core)
    field = gamma * outer / (within * inside) * ratio
    return _layer(core, radius, gamma=gamma, resistivity=outer, field=field)


def strip(
    width: float,
    thickness: float,
    *,
    resistivity: float,
    permeability: float,
    frequency: float,
) -> complex:
    """Internal impedance of a strip per metre. [Ω/m]

    Right for direct current and for thin skins, between them about: by 10 % in resistance and
    30 % in reactance, our judgement.
    """
    around, area = 2.0 * (width + thickness), width * thickness
    if frequency == 0:
        return complex(resistivity / area)
    gamma = _gamma(resistivity, permeability, frequency)
    return complex(gamma * resistivity / around / np.tanh(gamma * area / around))


def _gamma(resistivity: float, permeability: float, frequency: float) -> complex:
    """Propagation constant in metal. [1/m]"""
    return complex(np.sqrt(2j * np.pi * frequency * mu_0 * permeability / resistivity))


def _layer(
    inner: Floats,
    outer: Floats,
    *,
    gamma: complex,
    resistivity: float,
    field: npt.NDArray[np.inexact[Any]],
) -> Complexes:
    """Impedance at the outer face of a round layer, by what is at its inner face.

    `field` is the magnetic field there over the electric one, times γ ρ. Waves are scaled by
    exp(γ r) and exp(-γ r), what both grow by on the way divided out.
    """
    near, far = gamma * inner, gamma * outer
    turn_near, turn_far = np.exp(-1j * near.imag), np.exp(-1j * far.imag)
    out = near * (kve(1, near) + field * kve(0, near))
    back = near * (ive(1, near) - field * ive(0, near)) * turn_near
    decay = np.exp(2.0 * (near - far))
    electric = out * ive(0, far) * turn_far + back * decay * kve(0, far)
    magnetic = out * ive(1, far) * turn_far - back * decay * kve(1, far)
    return np.asarray(gamma * resistivity / (2 * np.pi * outer) * electric / magnetic)
