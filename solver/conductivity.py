"""Conductivity of each element from the share of each soil layer in it.

An element inside one layer has that layer's conductivity. One that crosses interfaces,
as happens on purpose far from the electrodes, has that of a laminate.
"""

from itertools import pairwise

import numpy as np

from .model import Floats, Mesh, Soil


def share_above(heights: Floats, *, plane: float) -> Floats:
    r"""Share of the volume of each tetrahedron above a horizontal plane.

    Parameters
    ----------
    heights : ndarray of float, shape (m, 4)
        Height z of the four vertices. [m]
    plane : float
        Height z of the plane. [m]

    Returns
    -------
    share : ndarray of float, shape (m,)
        Between 0 and 1.

    Notes
    -----
    The volume above is a cubic spline of the plane's height whose knots are the vertices, so

    .. math:: f = \sum_i \frac{\max(z_i - c, 0)^3}{\prod_{j \ne i} (z_i - z_j)},

    the B-spline (divided difference) form of Curry & Schoenberg 1966. Equal heights would
    divide by zero; they are nudged apart by 1e-5 of the element's height, which moves the
    share by as much. Checked against exact sub-volumes in tests/solver/test_conductivity.py.
    """
    low, high = heights.min(axis=1), heights.max(axis=1)
    share = (low >= plane).astype(float)
    cut = np.flatnonzero((low < plane) & (high > plane))
    z = np.sort(heights[cut], axis=1)
    extent = z[:, 3] - z[:, 0]
    z = (z - plane) / extent[:, None]
    for k in range(1, 4):
        z[:, k] = np.maximum(z[:, k], z[:, k - 1] + 1e-5)
    total = np.zeros(len(cut))
    for i in range(4):
        others = np.prod([z[:, i] - z[:, j] for j in range(4) if j != i], axis=0)
        total += np.maximum(z[:, i], 0.0) ** 3 / others
    share[cut] = np.clip(total, 0.0, 1.0)
    return share


def layer_shares(mesh: Mesh, *, soil: Soil) -> Floats:
    """Share of each layer in each element.

    Parameters
    ----------
    mesh : Mesh
        The mesh, m elements.
    soil : Soil
        Layers, n of them.

    Returns
    -------
    shares : ndarray of float, shape (n, m)
        Each column sums to 1.
    """
    heights = mesh.points[mesh.tetrahedra, 2]
    # A vertex that gmsh put on a plane may miss it by round-off: that is not a crossing.
    planes = -soil.interface_depth
    for plane in planes:
        near = np.abs(heights - plane) < 1e-9 * (1.0 + abs(plane))
        heights = np.where(near, plane, heights)
    above = [
        np.zeros(len(heights)),
        *(share_above(heights, plane=plane) for plane in planes),
        np.ones(len(heights)),
    ]
    return np.array([upper - lower for lower, upper in pairwise(above)])


def laminate_conductivity(shares: Floats, *, soil: Soil) -> tuple[Floats, Floats]:
    r"""Horizontal and vertical conductivity of elements that hold several layers.

    Parameters
    ----------
    shares : ndarray of float, shape (n, m)
        Share of each layer in each element.
    soil : Soil
        The n layers.

    Returns
    -------
    horizontal, vertical : ndarray of float, shape (m,)
        [S/m]

    Notes
    -----
    Layers conduct in parallel along themselves and in series across:
    :math:`\sigma_h = \sum f_i \sigma_i`, :math:`1/\sigma_v = \sum f_i / \sigma_i`
    (Maxwell 1873, *Treatise on Electricity and Magnetism*, art. 319; from memory).
    """
    return shares.T @ soil.conductivity, 1.0 / (shares.T @ np.array(soil.resistivity))
