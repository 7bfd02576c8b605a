"""The conduction problem: stiffness of the soil and the open boundary.

div(σ grad φ) = 0 in the soil, no current through the surface z = 0, and far away the
potential of the total current in a half-space, φ ~ 1/r (method of the asymptotic boundary
condition, Bayliss, Gunzburger & Turkel 1982, first order; from memory).
"""

import numpy as np
import scipy.sparse as sparse
from skfem import BilinearForm, FacetBasis
from skfem.helpers import dot
from skfem.quadrature import get_quadrature
from skfem.refdom import RefTet

from ..model import Floats, Integers
from .conductivity import LayeredElements
from .space import Space

# The six independent entries of a symmetric 3 x 3 matrix.
_pairs = [(0, 0), (1, 1), (2, 2), (0, 1), (0, 2), (1, 2)]
_batch = 250_000  # elements of which the matrices are held at once, 200 MB


def element_matrices(
    space: Space, *, conductivity: LayeredElements, elements: Integers
) -> Floats:
    """Stiffness of single elements.

    Parameters
    ----------
    space : Space
        The space, m elements of k unknowns.
    elements : ndarray of int, shape (n,)
        Which elements.

    Returns
    -------
    matrices : ndarray of float, shape (n, k, k)
        [S]

    Notes
    -----
    With constant conductivity an element matrix is a sum of six fixed reference matrices,
    weighted by the six entries of its metric, so all of them are one matrix product. Where
    an element crosses layers that is so across them only; along them the products of the
    gradients, linear in the element, are integrated layer by layer.
    """
    along, across = conductivity.horizontal.copy(), conductivity.vertical
    along[conductivity.crossing] = 0.0
    values = np.column_stack([along, along, across])[elements]
    inverse = space.inverse[elements]
    metric = np.einsum("tki,ti,tli->tkl", inverse, values, inverse, optimize=True)
    metric *= space.volume_factor[elements][:, None, None]
    local, weights = get_quadrature(RefTet, 2 * (space.order - 1))
    slopes = space.gradients(local)
    full = np.einsum("ikq,jlq,q->klij", slopes, slopes, weights)
    reference = np.stack([full[k, k] if k == j else full[k, j] + full[j, k] for k, j in _pairs])
    entries = np.column_stack([metric[:, k, j] for k, j in _pairs])
    count = slopes.shape[0]
    matrices: Floats = (entries @ reference.reshape(6, -1)).reshape(-1, count, count)
    row = np.full(len(space.origin), -1)
    row[conductivity.crossing] = np.arange(len(conductivity.crossing))
    hit = np.flatnonzero(row[elements] >= 0)
    matrices[hit] += _along_layers(
        space, elements=elements[hit], moments=conductivity.moments[row[elements[hit]]]
    )
    return matrices


def _along_layers(space: Space, *, elements: Integers, moments: Floats) -> Floats:
    """Horizontal part of the stiffness of elements that cross layers, shape (n, k, k). [S]"""
    corners = np.eye(4)[:, 1:].T  # the reference element's, where gradients are taken
    slopes = np.einsum(
        "kdq,tdi->tikq",
        space.gradients(corners),
        space.inverse[elements][:, :, :2],
        optimize=True,
    )
    parts = slopes @ moments[:, None] @ np.swapaxes(slopes, 2, 3)
    volume = space.volume_factor[elements] / 6
    return np.asarray(volume[:, None, None] * parts.sum(axis=1))


def stiffness(space: Space, *, conductivity: LayeredElements) -> sparse.csr_matrix:
    """Stiffness matrix of the soil.

    Returns
    -------
    matrix : csr_matrix, shape (size, size)
        Symmetric, positive semidefinite, rows sum to zero. [S]
    """
    matrix = sparse.csr_matrix((space.size, space.size))
    for first in range(0, len(space.origin), _batch):
        some = np.arange(first, min(first + _batch, len(space.origin)))
        values = element_matrices(space, conductivity=conductivity, elements=some)
        # Rows of elements stay whole: products of rows are quicker than to sort entries.
        unknowns, count = space.element_unknowns[some].astype(np.int32), values.shape[1]
        columns = np.repeat(unknowns, count, axis=0).ravel()
        ends = np.arange(0, values.size + 1, count)
        shape = (unknowns.size, space.size)
        rows = sparse.csr_matrix((values.ravel(), columns, ends), shape)
        single = np.arange(unknowns.size + 1)
        gathering = sparse.csr_matrix((np.ones(unknowns.size), unknowns.ravel(), single), shape)
        part = sparse.csr_matrix(gathering.T.tocsr() @ rows)
        part.sort_indices()
        matrix = part if not first else matrix + part
    return sparse.csr_matrix(matrix)


def boundary_effect(
    space: Space,
    *,
    conductivity: LayeredElements,
    boundary: sparse.csr_matrix,
    potential: Floats,
) -> float:
    r"""Change of conductance when the outer boundary is brought in to half its distance.

    Parameters
    ----------
    potential : ndarray of float, shape (size,)
        Potential with the electrode at 1 V.

    Returns
    -------
    change : float
        [S]

    Notes
    -----
    Conductance is the least power at one volt, so to first order its change is the change of
    power for the same potential: the outer elements and the old boundary go, the open
    boundary on the faces they leave comes, :math:`\phi^T (B' - B - K_o) \phi`. What is
    neglected is of second order in it.
    """
    distance = np.linalg.norm(space.centroids - [*space.mesh.centre, 0.0], axis=1)
    outer = distance >= 0.5 * space.mesh.outer_radius
    matrices = element_matrices(
        space, conductivity=conductivity, elements=np.flatnonzero(outer)
    )
    local = potential[space.element_unknowns[outer]]
    gone = np.einsum("ti,tij,tj->", local, matrices, local, optimize=True)
    near = open_boundary(
        space, conductivity=conductivity.horizontal, elements=np.flatnonzero(~outer)
    )
    return float(potential @ (near @ potential) - potential @ (boundary @ potential) - gone)


def buried_boundary(space: Space, *, elements: Integers | None = None) -> Integers:
    """Facets of the outer boundary below the surface.

    Parameters
    ----------
    elements : ndarray of int, optional
        Use only these elements and take the boundary of their union.

    Returns
    -------
    facets : ndarray of int
        Facet numbers of `space.topology`.
    """
    topology = space.topology
    if elements is None:
        facets = topology.boundary_facets()
    else:
        faces, times = np.unique(topology.t2f[:, elements], return_counts=True)
        facets = faces[times == 1]
    heights = topology.p[2, topology.facets[:, facets]]
    return facets[heights.min(axis=0) < -1e-9 * space.mesh.outer_radius]


def open_boundary(
    space: Space, *, conductivity: Floats, elements: Integers | None = None
) -> sparse.csr_matrix:
    r"""Matrix of the open boundary: current that leaves through it, per potential.

    Parameters
    ----------
    conductivity : ndarray of float, shape (m,)
        Conductivity of each element. [S/m]
    elements : ndarray of int, optional
        Take the boundary of the union of these elements instead of the whole mesh.

    Returns
    -------
    matrix : csr_matrix, shape (size, size)
        Symmetric. [S]

    Notes
    -----
    For :math:`\phi \sim 1/r` about the centre the current density through a face of any
    shape is :math:`\sigma \phi\, (n \cdot x) / r^2`.
    """
    facets = buried_boundary(space, elements=elements)
    topology = space.topology
    inside = topology.f2t[0, facets]
    if elements is not None:
        member = np.zeros(topology.t.shape[1], dtype=bool)
        member[elements] = True
        inside = np.where(member[inside], inside, topology.f2t[1, facets])
    basis = FacetBasis(topology, space.element, facets=facets, dofs=space.unknowns)
    # scikit-fem's normal points out of f2t[0]; flip it where our side is f2t[1].
    outward = np.where(topology.f2t[0, facets] == inside, 1.0, -1.0)
    factor = (conductivity[inside] * outward)[:, None]
    centre = np.array([*space.mesh.centre, 0.0])[:, None, None]

    @BilinearForm
    def leaving(u, v, w):  # type: ignore[no-untyped-def]
        position = w.x - centre
        return w.factor * dot(w.n, position) / dot(position, position) * u * v

    factor = np.broadcast_to(factor, (len(facets), basis.X.shape[-1]))
    return leaving.assemble(basis, factor=factor).tocsr()
