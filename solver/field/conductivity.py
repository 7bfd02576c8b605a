"""Conductivity of each element from the soil layers in it, or the body it is in.

An element inside one layer has that layer's conductivity. One that crosses interfaces, as
happens on purpose far from the electrodes, conducts across the layers as a laminate does, and
along them in each layer at its own height. (As a laminate along them too, the elements over a
thin good layer would pass current from one to the next through what little of the layer is in
their corners: with 0.3 m of 1 over 1000 ohm m a grid came out 22 % high.)
"""

from dataclasses import dataclass

import numpy as np

from ..model import Floats, Integers, Mesh, Soil, require_isotropic
from .media import conductivities

# Of linear functions on a volume of 1: the mean of their products.
linear_moments = (np.ones((4, 4)) + np.eye(4)) / 20


@dataclass(frozen=True)
class LayeredElements:
    """Conductivity of the m elements of a mesh.

    Attributes
    ----------
    horizontal, vertical : ndarray of float, shape (m,)
        Along and across the layers, each element as a laminate. [S/m]
    crossing : ndarray of int, shape (c,)
        Elements that hold more than one layer.
    body : ndarray of int, shape (m,), or None
        Body that each is in, -1 where it is in none; None where there are no bodies.
    moments : ndarray of float, shape (c, 4, 4)
        Mean over each of them of conductivity times two barycentric coordinates. [S/m]
    """

    horizontal: Floats
    vertical: Floats
    crossing: Integers
    moments: Floats
    body: Integers | None = None

    @property
    def pure(self) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
        """Whether each element is all in one layer, shape (m,)."""
        inside = np.ones(len(self.horizontal), dtype=bool)
        inside[self.crossing] = False
        return inside


def moments_above(heights: Floats, *, plane: float) -> Floats:
    """Mean over each tetrahedron of two barycentric coordinates, counted above a plane only.

    Parameters
    ----------
    heights : ndarray of float, shape (m, 4)
        Height z of the four vertices. [m]
    plane : float
        Height z of the plane. [m]

    Returns
    -------
    moments : ndarray of float, shape (m, 4, 4)
        Sums to the share of the volume above the plane.

    Notes
    -----
    What lies above is a small tetrahedron, all but a small one, or a prism of three, by the
    number of vertices there; over each the products of linear functions are exact.
    """
    order = np.argsort(-heights, axis=1)
    z = np.take_along_axis(heights, order, axis=1) - plane
    count = (z > 0).sum(axis=1)
    moments = np.zeros((len(z), 4, 4))
    moments[count == 4] = linear_moments
    one, two, three = (np.flatnonzero(count == number) for number in (1, 2, 3))
    moments[one] = _over(z[one], [(0, 0), (0, 1), (0, 2), (0, 3)])
    moments[three] = linear_moments - _over(z[three], [(3, 3), (3, 0), (3, 1), (3, 2)])
    for corners in (
        [(0, 0), (0, 2), (0, 3), (1, 3)],
        [(0, 0), (0, 2), (1, 2), (1, 3)],
        [(0, 0), (1, 1), (1, 2), (1, 3)],
    ):
        moments[two] += _over(z[two], corners)
    back = np.argsort(order, axis=1)
    across = np.take_along_axis(moments, back[:, :, None], axis=1)
    return np.take_along_axis(across, back[:, None, :], axis=2)


def _over(z: Floats, corners: list[tuple[int, int]]) -> Floats:
    """Moments over the tetrahedron of vertices, (i, i), and of edges i j cut at height 0."""
    place = np.zeros((len(z), 4, 4))
    for row, (i, j) in enumerate(corners):
        if i == j:
            place[:, row, i] = 1.0
        else:
            share = z[:, j] / (z[:, j] - z[:, i])
            place[:, row, i], place[:, row, j] = share, 1.0 - share
    volume = np.abs(np.linalg.det(place))
    inside = np.swapaxes(place, 1, 2) @ linear_moments @ place
    return np.asarray(volume[:, None, None] * inside)


def layered_elements(mesh: Mesh, *, soil: Soil) -> LayeredElements:
    r"""Conductivity of the elements of a mesh in soil of layers and bodies.

    An element is in the body that holds its centroid: faces of bodies are faces of the mesh.

    Notes
    -----
    As a laminate, layers conduct in parallel along themselves and in series across:
    :math:`\sigma_h = \sum f_i \sigma_i`, :math:`1/\sigma_v = \sum f_i / \sigma_i`
    (Maxwell 1873, *Treatise on Electricity and Magnetism*, art. 319; from memory).
    """
    require_isotropic(soil, method="elements of a mesh")
    heights = mesh.points[mesh.tetrahedra, 2]
    planes = -soil.interface_depth
    # A vertex that gmsh put on a plane may miss it by round-off: that is not a crossing.
    for plane in planes:
        near = np.abs(heights - plane) < 1e-9 * (1.0 + abs(plane))
        heights = np.where(near, plane, heights)
    bottom, top = heights.min(axis=1), heights.max(axis=1)
    layer = soil.layer_at(-0.5 * (bottom + top))
    horizontal = np.asarray(soil.conductivity)[layer]
    vertical = horizontal.copy()
    material = soil.material_at(mesh.points[mesh.tetrahedra].mean(axis=1))
    in_body = material >= len(soil.resistivity)
    crossing = np.flatnonzero(
        ((bottom[:, None] < planes) & (planes < top[:, None])).any(axis=1) & ~in_body
    )
    below = np.broadcast_to(linear_moments, (len(crossing), 4, 4))
    moments, resistance = np.zeros((len(crossing), 4, 4)), np.zeros(len(crossing))
    for k, conductivity in enumerate(soil.conductivity):
        above = moments_above(heights[crossing], plane=planes[k]) if k < len(planes) else None
        # What of the rest is above the next plane is in this layer.
        part = below if above is None else above - (linear_moments - below)
        moments += conductivity * part
        resistance += part.sum(axis=(1, 2)) / conductivity
        below = below - part
    horizontal[crossing] = moments.sum(axis=(1, 2))
    vertical[crossing] = 1.0 / resistance
    if not soil.bodies:
        return LayeredElements(horizontal, vertical, crossing, moments)
    horizontal[in_body] = vertical[in_body] = conductivities(soil)[material[in_body]]
    body = np.where(in_body, material - len(soil.resistivity), -1)
    return LayeredElements(horizontal, vertical, crossing, moments, body)
