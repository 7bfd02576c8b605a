r"""Coupling of line elements to the mesh: each element as a Gaussian cloud of source.

Row i of the matrix holds :math:`\int w_i N_k`, the average of every basis function under
the unit cloud :math:`w_i` of element i: the element convolved with a Gaussian of standard
deviation s in all three directions. Read along a row it averages the potential for the
element; its transpose spreads the element's current into the soil. The cloud is integrated
over the mesh elements by quadrature, so the finite-element solution is the true Galerkin
solution for the cloud and approaches it from below in energy.
"""

import numpy as np
import scipy.sparse as sparse
from scipy.special import ndtr
from skfem.quadrature import get_quadrature
from skfem.refdom import RefTet

from ..errors import MeshError
from ..model import Floats, Integers, Soil
from ..pairs import distance_to_segment, pairs_within
from ..threads import in_threads
from .elements import LineElements
from .images import Ray, rays
from .space import Space

_cut = 3.4  # standard deviations; 0.3 % of the cloud lies beyond and is scaled back in
_worst_cloud = 0.3  # quadrature on a proper mesh misses at most 0.1 of a cloud
_batch = 64  # line elements at once, of some thousand quadrature points each


def cloud_density(points: Floats, *, elements: LineElements, index: Integers) -> Floats:
    """Density of the unit cloud of one element for each row of points.

    Parameters
    ----------
    points : ndarray of float, shape (n, q, 3)
        Places. [m]
    index : ndarray of int, shape (n,)
        Element for each row.

    Returns
    -------
    density : ndarray of float, shape (n, q)
        [1/m³]
    """
    s = elements.spread[index]
    length = elements.length[index] / s
    axis = ((elements.end - elements.start) / elements.length[:, None])[index]
    # In spreads from the start. Single precision from here on: rows are scaled to 1 later.
    x, y, z = (
        ((points[..., k] - elements.start[index, k, None]) / s[:, None]).astype(np.float32)
        for k in range(3)
    )
    a, b, c = (axis[:, k, None].astype(np.float32) for k in range(3))
    along = a * x + b * y + c * z
    across = x * x + y * y + z * z - along * along
    line = ndtr(along) - ndtr(along - length[:, None].astype(np.float32))
    scale = 1.0 / (2 * np.pi * s**2 * elements.length[index])
    return scale[:, None] * (np.exp(-0.5 * across) * line)


def _near(
    space: Space, *, elements: LineElements, index: Integers, radius: Floats, local: Floats
) -> tuple[Integers, Integers]:
    """Pairs of a line element, of those of an index, and a mesh element its cloud reaches.

    `radius` is that of each mesh element about its centroid, `local` that of the one at the
    middle of each line element. Ordered by line element.
    """
    reach = _cut * elements.spread
    # Elements grow away from the metal, so those at the rim are larger than the one inside.
    search = reach[index] + 0.5 * elements.length[index] + 2.0 * local[index]
    found, tetrahedron = pairs_within(space.tree, centres=elements.middle[index], radius=search)
    line = index[found]
    distance = distance_to_segment(
        space.centroids[tetrahedron], start=elements.start[line], end=elements.end[line]
    )
    close = distance < reach[line] + radius[tetrahedron]
    return line[close], tetrahedron[close]


def _density(
    points: Floats,
    *,
    elements: LineElements,
    line: Integers,
    layer: Integers,
    soil: Soil,
    paths: list[Ray],
) -> Floats:
    """Density of the clouds and of their images in each row of points."""
    density = np.zeros(points.shape[:2])
    source_layer = elements.layer[line]
    # The first quadrature point stands for its small element, with some room.
    reach = (_cut + 1.0) * elements.spread + 0.5 * elements.length
    for ray in paths:
        acts = (source_layer == ray.source_layer) & (layer == ray.target_layer)
        acting = np.flatnonzero(acts)
        image = ray.image(elements.middle)[line[acting]]
        gap = sum((points[acting, 0, k] - image[:, k]) ** 2 for k in range(3))
        chosen = acting[gap < reach[line[acting]] ** 2]
        ratio = soil.conductivity[ray.target_layer] / soil.conductivity[ray.source_layer]
        density[chosen] += (ray.strength * ratio) * cloud_density(
            ray.origin(points[chosen]), elements=elements, index=line[chosen]
        )
    return density


def coupling(space: Space, *, elements: LineElements, soil: Soil) -> sparse.csr_matrix:
    """Average of each basis function under the cloud of each line element.

    Returns
    -------
    matrix : csr_matrix, shape (n, size of space)
        Rows sum to 1: a constant potential is averaged exactly, and all of the current
        enters the soil.

    Raises
    ------
    MeshError
        If the mesh near an element is too coarse to hold its cloud.
    """
    local, weights = get_quadrature(RefTet, 2)
    values = space.basis(local) * weights
    layer = soil.layer_at(-space.centroids[:, 2])
    reach = _cut * float(elements.spread.max())
    paths = list(rays(elements, soil=soil, reach=reach))
    corners = space.mesh.points[space.mesh.tetrahedra]
    radius = np.linalg.norm(corners - space.centroids[:, None], axis=2).max(axis=1)
    inside = radius[space.tree.query(elements.middle)[1]]

    def of_batch(first: int) -> sparse.csr_matrix:
        index = np.arange(first, min(first + _batch, len(elements)))
        i, t = _near(space, elements=elements, index=index, radius=radius, local=inside)
        places = space.jacobian[t] @ local
        points = space.origin[t][:, None, :] + np.swapaxes(places, 1, 2)
        density = _density(
            points, elements=elements, line=i, layer=layer[t], soil=soil, paths=paths
        )
        moments = (density * space.volume_factor[t][:, None]) @ values.T
        rows = np.repeat((i - first).astype(np.int32), len(values))
        columns = space.element_unknowns[t].astype(np.int32).ravel()
        shape = (len(index), space.size)
        return sparse.csr_matrix((moments.ravel(), (rows, columns)), shape=shape)

    matrix: sparse.csr_matrix = sparse.vstack(
        in_threads(of_batch, range(0, len(elements), _batch)), format="csr"
    )
    total = np.asarray(matrix.sum(axis=1)).ravel()
    lost = np.abs(total - 1) > _worst_cloud
    if lost.any():
        where = ", ".join(f"{value:.4g}" for value in elements.middle[lost][0])
        msg = (
            f"the mesh is too coarse for the metal at ({where}) m and {int(lost.sum()) - 1} "
            "more places: its elements there are larger than asked for; "
            "ask for a finer mesh (numerics.accuracy or numerics.fineness)"
        )
        raise MeshError(msg)
    return sparse.csr_matrix(sparse.diags_array(1.0 / total) @ matrix)
