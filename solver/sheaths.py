"""Potential within backfill and coatings, between metal and soil."""

import numpy as np
from scipy.spatial import cKDTree

from .model import Conductors, Floats, Phasors
from .pairs import pairs_within


def within_sheaths(
    potential: Phasors, *, points: Floats, conductors: Conductors, voltage: Phasors
) -> Phasors:
    r"""Potentials with those of the sheath at points within sheaths. [V]

    Parameters
    ----------
    potential : ndarray of float or complex, shape (n,)
        Outside sheaths that of the soil, within them that of their outer face. [V]
    points : ndarray of float, shape (n, 3)
        Where. [m]
    voltage : ndarray of float or complex, shape (g,)
        Of each group. [V]

    Notes
    -----
    Current passes straight outwards: :math:`V - \phi = (V - U) (c/a + \rho \ln(r/a)) / (c/a +
    \rho \ln(b/a))` with U at the outer face b and a film c at the metal a. Beyond the ends of
    the metal the value of the outer face is left.
    """
    sheathed = np.flatnonzero(conductors.sheath_radius > conductors.radius)
    if not len(sheathed) or not len(points):
        return potential
    outer = conductors.sheath_radius
    middle = 0.5 * (conductors.start + conductors.end)[sheathed]
    reach = 1.001 * np.hypot(0.5 * conductors.length, outer)[sheathed]
    found, point = pairs_within(cKDTree(points), centres=middle, radius=reach)
    offset, piece = points[point] - middle[found], sheathed[found]
    along = np.einsum("ni,ni->n", offset, conductors.direction[piece])
    across = np.sqrt(np.maximum(np.einsum("ni,ni->n", offset, offset) - along**2, 0.0))
    within = (np.abs(along) <= 0.5 * conductors.length[piece] + 1e-9) & (across < outer[piece])
    point, piece, across = point[within], piece[within], across[within]
    a, film = conductors.radius[piece], conductors.contact[piece] / conductors.radius[piece]
    rho = conductors.sheath_resistivity[piece]
    share = film + rho * np.log(np.maximum(across, a) / a)
    share /= film + rho * np.log(outer[piece] / a)
    # Of sheaths that meet the one whose metal is nearest: the last one counts.
    order = np.argsort(-share)
    point, share, metal = point[order], share[order], voltage[conductors.group[piece[order]]]
    inside = potential.astype(np.result_type(potential, metal))
    inside[point] = metal + (potential[point] - metal) * share
    return inside
