"""Stiffness and face matrices of quadratic triangles in the half-plane (r, depth).

All integrals go round the full circle: the weight is 2 π r, so currents are in amperes.
Triangles and faces may be curved (isoparametric).
"""

import numpy as np
import scipy.sparse as sparse
from skfem.quadrature import get_quadrature
from skfem.refdom import RefLine, RefTri

from ..errors import MeshError
from ..model import Floats, Integers

_order = 4  # gradients squared times r: exact on straight triangles
_face_order = 6


def triangle_slopes(local: Floats) -> Floats:
    """Local gradients of the six basis functions, shape (6, 2, q)."""
    x, y = local
    a = 1 - x - y  # the three area coordinates are a, x, y
    zero = np.zeros_like(x)
    return np.array(
        [
            [1 - 4 * a, 1 - 4 * a],
            [4 * x - 1, zero],
            [zero, 4 * y - 1],
            [4 * (a - x), -4 * x],
            [4 * y, 4 * x],
            [-4 * y, 4 * (a - y)],
        ]
    )


def triangle_values(local: Floats) -> Floats:
    """Values of the six basis functions, shape (6, q)."""
    x, y = local
    a = 1 - x - y
    return np.array(
        [a * (2 * a - 1), x * (2 * x - 1), y * (2 * y - 1), 4 * a * x, 4 * x * y, 4 * y * a]
    )


def stiffness(nodes: Floats, *, triangles: Integers, conductivity: Floats) -> sparse.csc_matrix:
    """Stiffness matrix of conductivity that is constant in each triangle; symmetric. [S]

    Nodes (n, 2) are radius and depth, triangles (m, 6) corners, then middles of sides 0-1,
    1-2, 2-0. `MeshError` if one is folded over.
    """
    local, weights = get_quadrature(RefTri, _order)
    slopes = triangle_slopes(local)
    corners = nodes[triangles]
    jacobian = np.einsum("tni,njq->tqij", corners, slopes, optimize=True)
    radius = np.einsum("tn,nq->tq", corners[:, :, 0], triangle_values(local))
    (a, b), (c, d) = (np.moveaxis(jacobian[:, :, k, :], -1, 0) for k in (0, 1))
    determinant = a * d - b * c
    if not (determinant > 0).all():
        where = corners[np.argmin(determinant.min(axis=1)), 0]
        msg = (
            f"a triangle at radius {where[0]:.4g} m, depth {where[1]:.4g} m is folded over: "
            "metal, fill and layer planes are too close to each other for this mesh"
        )
        raise MeshError(msg)
    # Rows of the inverse transpose times the determinant.
    in_r = d[:, None] * slopes[:, 0] - c[:, None] * slopes[:, 1]
    in_depth = a[:, None] * slopes[:, 1] - b[:, None] * slopes[:, 0]
    factor = 2 * np.pi * radius * weights / determinant * conductivity[:, None]
    values = np.einsum("tq,tnq,tmq->tnm", factor, in_r, in_r, optimize=True)
    values += np.einsum("tq,tnq,tmq->tnm", factor, in_depth, in_depth, optimize=True)
    return _summed(values, triangles, count=len(nodes))


def face_matrix(nodes: Floats, *, faces: Integers, factor: Floats) -> sparse.csc_matrix:
    """Matrix of a current density through faces that is proportional to the potential. [S]

    Faces (m, 3) are ends, then middle; the factor is current density per potential. [S/m²]
    """
    values, radius, speed, _ = _along_faces(nodes, faces)
    scale = 2 * np.pi * radius * speed * factor[:, None]
    moments = np.einsum("fq,nq,mq->fnm", scale, values, values, optimize=True)
    return _summed(moments, faces, count=len(nodes))


def open_boundary(nodes: Floats, *, faces: Integers, conductivity: Floats) -> sparse.csc_matrix:
    r"""Matrix of the open boundary, where the potential falls as one over the distance. [S]

    The conductivity is that of the soil behind each face.

    Notes
    -----
    Current density :math:`\sigma \phi\, (n \cdot x) / |x|^2`, as in three dimensions.
    """
    values, radius, speed, places = _along_faces(nodes, faces)
    chord = nodes[faces[:, 1]] - nodes[faces[:, 0]]
    normal = np.column_stack([chord[:, 1], -chord[:, 0]])
    normal /= np.linalg.norm(chord, axis=1)[:, None]
    toward = np.abs(np.einsum("fqi,fi->fq", places, normal))
    falling = toward / np.einsum("fqi,fqi->fq", places, places)
    scale = 2 * np.pi * radius * speed * falling * conductivity[:, None]
    moments = np.einsum("fq,nq,mq->fnm", scale, values, values, optimize=True)
    return _summed(moments, faces, count=len(nodes))


def _along_faces(nodes: Floats, faces: Integers) -> tuple[Floats, Floats, Floats, Floats]:
    """Basis values (3, q), radius and weight times length (m, q), places (m, q, 2)."""
    local, weights = get_quadrature(RefLine, _face_order)
    t = local[0]
    values = np.array([(1 - t) * (1 - 2 * t), t * (2 * t - 1), 4 * t * (1 - t)])
    slopes = np.array([4 * t - 3, 4 * t - 1, 4 - 8 * t])
    places = np.einsum("fni,nq->fqi", nodes[faces], values)
    tangent = np.einsum("fni,nq->fqi", nodes[faces], slopes)
    speed = np.linalg.norm(tangent, axis=2) * weights
    return values, places[:, :, 0], speed, places


def _summed(values: Floats, unknowns: Integers, *, count: int) -> sparse.csc_matrix:
    """Element matrices summed into one sparse matrix."""
    width = unknowns.shape[1]
    rows = np.repeat(unknowns, width, axis=1).ravel()
    columns = np.tile(unknowns, (1, width)).ravel()
    return sparse.csc_matrix((values.ravel(), (rows, columns)), shape=(count, count))
