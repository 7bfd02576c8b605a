r"""What the model of backfill leaves open, which no mesh shows.

Level and inclined fill is a wire with a drop in it. Images in the surface and in planes near by
act on wide fill as a field E across it, and it bends that: each length has the dipole
:math:`\alpha b^2 E`, with :math:`\alpha = (\kappa - 1) / (\kappa + 1)` and :math:`\kappa =
(\sigma_f / \sigma) (b^2 + a^2) / (b^2 - a^2)`. At a depth d, current q per length has the image
field :math:`\rho q / 4 \pi d`, so that the surface above is off by
:math:`\alpha (b / d)^2 \rho q / 2 \pi`, and the metal by a quarter of that. Bare ends of metal
leak through what is left of ρ / 4 a (`shell_ends`).
"""

import numpy as np

from ..model import Conductors, Floats, Soil
from .elements import WIRE, LineElements
from .shell_ends import bare_end_doubt

_nearest = 2.0  # in outer radii: nearer planes act no more than they would there


def fill_doubt(
    elements: LineElements, *, conductors: Conductors, soil: Soil, current: Floats
) -> tuple[float, float]:
    """What fill leaves open of a resistance and of a voltage, as shares of it and of the rise.

    Parameters
    ----------
    current : ndarray of float, shape (g, n)
        Of each element with group k at 1 V. [A/V]

    Returns
    -------
    resistance, voltage : float
        Of the worst group; 0 where no metal is in fill or a coating.
    """
    if not (conductors.sheath_radius > conductors.radius).any():
        return 0.0, 0.0
    total = np.diagonal(elements.by_group(current))
    ends = bare_end_doubt(elements, conductors=conductors, soil=soil, current=current) / total
    bent = _bent(elements, conductors=conductors, soil=soil) * np.abs(current / elements.length)
    lifted = 0.25 * (bent * np.abs(current)).sum(axis=1) / total
    return float(ends.max() + lifted.max()), float(ends.max() + bent.max())


def _bent(elements: LineElements, *, conductors: Conductors, soil: Soil) -> Floats:
    """Volts at the surface or plane near by per leakage of each element, shape (n,). [Ω·m]"""
    piece, outer = elements.piece, elements.radius
    inner, fill = conductors.radius[piece], conductors.sheath_resistivity[piece]
    rho = 1 / soil.conductivity[elements.layer]
    sheathed = (outer > inner) & (elements.face == WIRE)
    square = np.where(sheathed, outer**2 - inner**2, 1.0)
    better = np.where(sheathed, rho / np.where(sheathed, fill, 1.0), 1.0)
    better *= np.where(sheathed, (outer**2 + inner**2) / square, 1.0)
    across = 1 - conductors.direction[piece, 2] ** 2  # a field along it does not bend it
    depth = -elements.middle[:, 2]
    planes = [0.0, *soil.interface_depth.tolist()]
    sigma = soil.conductivity
    mirrors = [1.0, *(np.abs(np.diff(sigma)) / (sigma[1:] + sigma[:-1])).tolist()]
    near = np.zeros(len(depth))
    for plane, mirror in zip(planes, mirrors, strict=True):
        gap = np.maximum(np.abs(depth - plane), _nearest * outer)
        near += mirror * (outer / gap) ** 2
    bends = np.abs(better - 1) / (better + 1)
    return np.asarray(np.where(sheathed, bends * across * near * rho / (2 * np.pi), 0.0))
