r"""Films on faces of bodies: the potential jumps across them by the current they let pass.

.. math::
    \varphi_1 - \varphi_2 = r j, \qquad
    \int \sigma \nabla \varphi \cdot \nabla v + \int_\Gamma r^{-1} [\varphi] [v]

with r the resistivity of the film times its thickness and [ ] the jump from the inside to the
outside: the unknowns on its faces are there once for each side (`slits`), and the film adds the
second integral to the stiffness. The near field u of metal has no jump, and drives through the
film the current that it drives there without it. In `across_faces` that is one more part of the
average of a function that jumps,

.. math::
    a_k(v) \leftarrow a_k(v) - \int_\Gamma \sigma^0 \frac{\partial u_k}{\partial n} [v]

(Green's theorem on both sides), while the short-range matrix stays as it is.
"""

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sparse
from skfem.quadrature import get_quadrature
from skfem.refdom import RefTri

from ..bodies import Ball, Body, Cylinder, Shape, every_face
from ..model import Flags, Floats, Integers, Mesh, Soil
from .space import Space

# A film has at most as many metres of the poorest soil: with more, what closed films leave of
# currents that should cancel would lift what is in them.
_most = 1e5
_in_plane = 1e-6


@dataclass(frozen=True)
class Films:
    """Faces of elements with a film.

    Attributes
    ----------
    facets : ndarray of int, shape (f,)
        Of the topology of the space.
    inside, outside : ndarray of int, shape (f,)
        Elements on both sides.
    conductance : ndarray of float, shape (f,)
        [S/m²]
    body : ndarray of int, shape (f,)
        Body that is inside, of several the last.
    """

    facets: Integers
    inside: Integers
    outside: Integers
    conductance: Floats
    body: Integers


def has_films(soil: Soil) -> bool:
    """Whether a body has a film."""
    return any(body.film is not None for body in soil.bodies)


def space_in(mesh: Mesh, *, soil: Soil, order: int = 2) -> Space:
    """Finite-element space on a mesh in which functions jump across the films of a soil."""
    space = Space(mesh, order=order)
    if has_films(soil):
        space.slit = films_of(space, soil=soil).facets
    return space


def films_of(space: Space, *, soil: Soil) -> Films:
    """Faces of the mesh that films lie on; where two lie on one face they add up."""
    topology = space.topology
    one, other = topology.f2t
    inner = np.flatnonzero(other >= 0)
    resistance, body, flat = np.zeros(len(one)), np.full(len(one), -1), np.ones(len(one))
    first_is_inside = np.zeros(len(one), dtype=bool)
    for number, each in enumerate(soil.bodies):
        if each.film is None:
            continue
        held = each.shape.holds(space.centroids)
        face = inner[held[one[inner]] != held[other[inner]]]
        face = face[_covered(each, space.mesh.points[topology.facets[:, face]])]
        flat[face] = _flattened(each.shape, space.mesh.points[topology.facets[:, face]])
        resistance[face] += each.film.resistance
        body[face] = number
        first_is_inside[face] = held[one[face]]
    facets = np.flatnonzero(body >= 0)
    limit = _most * max(soil.leading)
    inside = np.where(first_is_inside, one, other)[facets]
    outside = np.where(first_is_inside, other, one)[facets]
    conductance = 1.0 / (flat[facets] * np.minimum(resistance[facets], limit))
    return Films(facets, inside, outside, conductance, body[facets])


def _covered(body: Body, corners: Floats) -> Flags:
    """Whether triangles of a face, corners of shape (3, n, 3), have its film on them."""
    assert body.film is not None
    if isinstance(body.shape, Ball) or set(body.film.faces) == set(every_face):
        return np.ones(corners.shape[1], dtype=bool)
    found = np.zeros(corners.shape[1], dtype=bool)
    wall = np.ones(corners.shape[1], dtype=bool)
    for name, depth in (("top", body.shape.top), ("bottom", body.shape.bottom)):
        level = (np.abs(corners[:, :, 2] + depth) < _in_plane * (1.0 + depth)).all(axis=0)
        wall &= ~level
        if name in body.film.faces:
            found |= level
    return found | wall if "walls" in body.film.faces else found


def _flattened(shape: Shape, corners: Floats) -> Floats:
    """Area of triangles, corners of shape (3, n, 3), over that of a round face they are on."""
    ratio = np.ones(corners.shape[1])
    if isinstance(shape, Ball):
        a, b, c = corners - [*shape.centre[:2], -shape.centre[2]]
        r = shape.radius
        # Solid angle (Van Oosterom & Strackee 1983; from memory).
        volume = np.abs(np.einsum("ni,ni->n", a, np.cross(b, c))) / r**3
        sides = [np.einsum("ni,ni->n", p, q) / r**2 for p, q in ((a, b), (b, c), (c, a))]
        angle = 2 * np.arctan2(volume, 1 + sum(sides))
        ratio = np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2 / (angle * r**2)
    elif isinstance(shape, Cylinder):
        x, y = np.moveaxis(corners[:, :, :2] - shape.centre, 2, 0)
        ahead = np.arctan2(y, x)
        half = np.abs((ahead - ahead[0] + np.pi) % (2 * np.pi) - np.pi)
        half = np.maximum(half.max(axis=0), np.abs(half[1] - half[2])) / 2
        walls = np.ptp(corners[:, :, 2], axis=0) > _in_plane
        ratio[walls] = np.sinc(half[walls] / np.pi)
    return ratio


def on_facets(space: Space, *, facets: Integers, elements: Integers, local: Floats) -> Floats:
    """Basis functions of an element beside each facet at places of it.

    Parameters
    ----------
    local : ndarray of float, shape (3, q)
        Barycentric coordinates, by the vertices of `space.topology.facets`.

    Returns
    -------
    values : ndarray of float, shape (n, k, q)
    """
    vertices = space.topology.facets[:, facets].T
    corners = space.mesh.tetrahedra[elements]
    position = (corners[:, :, None] == vertices[:, None, :]).argmax(axis=1)
    kinds, kind = np.unique(position, axis=0, return_inverse=True)
    found = np.zeros((len(kinds), space.element_unknowns.shape[1], local.shape[1]))
    for number, corner in enumerate(kinds):
        weights = np.zeros((4, local.shape[1]))
        weights[corner] = local
        found[number] = space.basis(weights[1:])
    return found[kind.ravel()]


def film_matrix(space: Space, *, soil: Soil) -> sparse.csr_matrix:
    """What films let pass per jump: symmetric, rows sum to zero, shape (size, size). [S]"""
    films = films_of(space, soil=soil)
    local, weights = get_quadrature(RefTri, 2 * space.order)
    local = np.vstack([1.0 - local.sum(axis=0), local])
    sides = (films.inside, films.outside)
    jump = np.concatenate(
        [
            sign * on_facets(space, facets=films.facets, elements=side, local=local)
            for side, sign in zip(sides, (1.0, -1.0), strict=True)
        ],
        axis=1,
    )
    a, b, c = space.mesh.points[space.topology.facets[:, films.facets]]
    scale = films.conductance * np.linalg.norm(np.cross(b - a, c - a), axis=1)
    values = scale[:, None, None] * ((jump * weights) @ np.swapaxes(jump, 1, 2))
    unknowns = np.concatenate([space.element_unknowns[side] for side in sides], axis=1)
    count = unknowns.shape[1]
    rows, columns = np.repeat(unknowns, count, axis=1), np.tile(unknowns, count)
    matrix = sparse.csr_matrix(
        (values.ravel(), (rows.ravel(), columns.ravel())), shape=(space.size,) * 2
    )
    matrix.eliminate_zeros()
    return matrix
