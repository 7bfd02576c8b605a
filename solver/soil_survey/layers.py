"""Horizontal layers in the wavenumber domain, many soils at once.

Soils come in batches: one row of resistivities and one of thicknesses each. `SoilBatch` is
made from either a `Soil` or a table of logarithms, which is what the fit varies.
"""

from dataclasses import dataclass
from typing import Self

import numpy as np

from ..model import Floats, Soil, require_isotropic


@dataclass(frozen=True)
class SoilBatch:
    """Soils with the same number of layers."""

    resistivity: Floats  # (m, layers): resistivity of each layer, top first [Ω·m]
    thickness: Floats  # (m, layers - 1): thickness of each layer but the last [m]

    @classmethod
    def of(cls, soil: Soil) -> Self:
        """A batch of one soil; `LayersOnlyError` if it conducts otherwise upright."""
        require_isotropic(soil, method="models of a survey")
        return cls(
            resistivity=np.array([soil.resistivity], dtype=float),
            thickness=np.array(soil.thickness, dtype=float).reshape(1, -1),
        )

    @classmethod
    def from_logarithms(cls, table: Floats) -> Self:
        """Soils, one a row, from ln(resistivity) of each layer followed by ln(thickness)."""
        layers = (table.shape[1] + 1) // 2
        values = np.exp(table)
        return cls(resistivity=values[:, :layers], thickness=values[:, layers:])

    @property
    def layers(self) -> int:
        """Number of layers."""
        return self.resistivity.shape[1]

    @property
    def tops(self) -> Floats:
        """Depth of the top of each layer, shape (m, layers). [m]"""
        edge = np.zeros((len(self.resistivity), 1))
        return np.hstack([edge, np.cumsum(self.thickness, axis=1)])


def reflections_below(soils: SoilBatch, *, wavenumber: Floats) -> list[Floats]:
    r"""Reflection of all that lies below each layer, seen at the layer's bottom.

    One of shape (m, k) for each layer; 0 for the last.

    Notes
    -----
    With :math:`K_i = (\rho_{i+1} - \rho_i) / (\rho_{i+1} + \rho_i)`, from the bottom up:

    .. math:: \beta_i = \frac{K_i + \beta_{i+1} e^{-2 \lambda h_{i+1}}}
                             {1 + K_i \beta_{i+1} e^{-2 \lambda h_{i+1}}}

    the same recursion as that of the resistivity transform
    :math:`T_i = \rho_i (1 + \beta_i e^{-2 \lambda h_i}) / (1 - \beta_i e^{-2 \lambda h_i})`
    (O. Koefoed, *Geosounding Principles 1*, Elsevier, 1979; from memory).
    """
    nothing = np.zeros((len(soils.resistivity), len(wavenumber)))
    found = [nothing]
    for i in range(soils.layers - 2, -1, -1):
        K = _contrast(soils.resistivity[:, i + 1], soils.resistivity[:, i])
        if i == soils.layers - 2:
            found.append(nothing + K)
            continue
        deeper = found[-1] * np.exp(-2 * soils.thickness[:, i + 1, None] * wavenumber)
        found.append((K + deeper) / (1 + K * deeper))
    return found[::-1]


def reflections_above(soils: SoilBatch, *, wavenumber: Floats) -> list[Floats]:
    """Reflection of all that lies above each layer, seen at the layer's top.

    One of shape (m, k) for each layer; 1 for the first, whose top is the insulating surface.
    """
    found = [np.ones((len(soils.resistivity), len(wavenumber)))]
    for i in range(1, soils.layers):
        K = _contrast(soils.resistivity[:, i - 1], soils.resistivity[:, i])
        higher = found[-1] * np.exp(-2 * soils.thickness[:, i - 1, None] * wavenumber)
        found.append((K + higher) / (1 + K * higher))
    return found


def point_kernel(soils: SoilBatch, *, depth: float, wavenumber: Floats) -> Floats:
    r"""Kernel of the potential of a point source at one depth, taken at that same depth. [Ω·m]

    What layers add to uniform soil of the resistivity at the source, shape (m, k); the depth
    may be in any layer.

    Notes
    -----
    In a layer with resistivity ρ the source is t below the top and b above the bottom. With
    the echoes :math:`A = \alpha e^{-2 \lambda t}` and :math:`B = \beta e^{-2 \lambda b}`

    .. math:: \phi(r) = \frac{\rho I}{4 \pi} \int_0^\infty
              \frac{(1 + A)(1 + B)}{1 - A B} \, J_0(\lambda r) \, d\lambda

    Returned is ρ times the fraction less :math:`1 + e^{-2 \lambda d}`, which is uniform soil.
    For d = 0 in the first layer it is :math:`4 \rho B / (1 - B)`.
    """
    if soils.layers == 1:
        return np.zeros((len(soils.resistivity), len(wavenumber)))
    below = reflections_below(soils, wavenumber=wavenumber)
    if depth == 0:
        B = below[0] * np.exp(-2 * soils.thickness[:, :1] * wavenumber)
        return soils.resistivity[:, :1] * 4 * B / (1 - B)
    above = reflections_above(soils, wavenumber=wavenumber)
    tops = soils.tops
    kernel = np.zeros_like(below[0])
    image = np.exp(-2 * depth * wavenumber)
    for i in range(soils.layers):
        here = tops[:, i] <= depth
        if i < soils.layers - 1:
            here &= depth < tops[:, i + 1]
        if not here.any():
            continue
        A = above[i][here] * np.exp(-2 * (depth - tops[here, i, None]) * wavenumber)
        if i == soils.layers - 1:
            B = np.zeros_like(A)
        else:
            B = below[i][here] * np.exp(-2 * (tops[here, i + 1, None] - depth) * wavenumber)
        # The same as the fraction less (1 + image), without cancellation.
        excess = (A - image) + (1 + A) ** 2 * B / (1 - A * B)
        kernel[here] = soils.resistivity[here, i, None] * excess
    return kernel


def resistivity_at(soils: SoilBatch, *, depth: float) -> Floats:
    """Resistivity at one depth in each soil; a plane is of the layer below. [Ω·m]"""
    if depth == 0:
        return soils.resistivity[:, 0]
    layer = (soils.tops <= depth).sum(axis=1) - 1
    return np.take_along_axis(soils.resistivity, layer[:, None], axis=1)[:, 0]


def _contrast(far: Floats, near: Floats) -> Floats:
    """Reflection coefficient of one plane, shape (m, 1)."""
    return np.asarray((far - near) / (far + near))[:, None]
