"""The finite-element space: unknowns, geometry of the elements, values at any point."""

from functools import cached_property

import numpy as np
import scipy.sparse as sparse
from scipy.spatial import cKDTree
from skfem import Element, ElementTetP1, ElementTetP2, MeshTet
from skfem.assembly.dofs import Dofs
from skfem.refdom import RefTet

from ..errors import MeshError
from ..model import Floats, Integers, Mesh, Phasors
from .slits import split_unknowns

_longest_walk = 2000  # elements; a walk in circles, possible in a poor mesh, ends here
_elements: dict[int, type[Element]] = {1: ElementTetP1, 2: ElementTetP2}


class _Tetrahedra(MeshTet):  # type: ignore[misc]
    """scikit-fem's mesh with a quicker search for edges and facets.

    The library sorts columns of vertices; packed into one integer each, they sort twenty
    times faster.
    """

    @staticmethod
    def build_entities(  # type: ignore[no-untyped-def]
        t, indices, sort=True
    ):
        """Edges or facets of all elements, each once, and their place in each element."""
        corners = np.sort(np.hstack([t[list(index)] for index in indices]), axis=0)
        base = int(t.max()) + 1
        if len(corners) * np.log2(base) > 62:
            return MeshTet.build_entities(t, indices, sort)
        key = corners[0].astype(np.int64)
        for row in corners[1:]:
            key = key * base + row
        _, first, inverse = np.unique(key, return_index=True, return_inverse=True)
        return np.ascontiguousarray(corners[:, first]), inverse.reshape(len(indices), -1)


class Space:
    """Continuous piecewise polynomials on a mesh.

    Parameters
    ----------
    order : {1, 2}
        Degree of the polynomials.

    Attributes
    ----------
    element_unknowns : ndarray of int, shape (m, k)
        Unknowns of each element; k is 4 or 10.
    jacobian, inverse : ndarray of float, shape (m, 3, 3)
        Derivative of the map from the reference element, and its inverse. [m], [1/m]
    volume_factor : ndarray of float, shape (m,)
        Determinant of `jacobian`, positive. [m³]
    slit : ndarray of int
        Facets of `topology` across which functions may jump; to be set before anything else
        is asked for.

    Raises
    ------
    MeshError
        If an element has no volume.
    """

    def __init__(self, mesh: Mesh, *, order: int = 2) -> None:
        self.mesh = mesh
        self.order = order
        self.slit = np.empty(0, dtype=np.int64)
        self.element = _elements[order]()
        corners = mesh.points[mesh.tetrahedra]
        self.origin = corners[:, 0]
        self.jacobian = np.moveaxis(corners[:, 1:] - corners[:, :1], 1, 2)
        determinant = np.linalg.det(self.jacobian)
        size = np.ptp(corners, axis=1).max(axis=1)
        flat = int((np.abs(determinant) < 1e-9 * size**3).sum())
        if flat:
            msg = (
                f"{flat} of {len(size)} elements have no volume; "
                "change the element size a little and mesh again"
            )
            raise MeshError(msg)
        self.inverse = np.linalg.inv(self.jacobian)
        self.volume_factor = np.abs(determinant)

    @cached_property
    def topology(self) -> MeshTet:
        """The mesh as scikit-fem sees it: edges, facets, neighbours."""
        # sort_t would renumber the vertices of the elements behind our back.
        return _Tetrahedra(
            np.ascontiguousarray(self.mesh.points.T),
            np.ascontiguousarray(self.mesh.tetrahedra.T),
            sort_t=False,
        )

    @cached_property
    def unknowns(self) -> Dofs:
        """Numbering of the unknowns by scikit-fem, those on a slit once for each side."""
        numbering = Dofs(self.topology, self.element)
        if len(self.slit):
            numbering.element_dofs = split_unknowns(
                numbering.element_dofs, facets=self.topology.f2t, slit=self.slit
            )
            numbering.N = int(numbering.element_dofs.max()) + 1
        return numbering

    @cached_property
    def element_unknowns(self) -> Integers:
        """Unknowns of each element, shape (m, k)."""
        return np.ascontiguousarray(self.unknowns.element_dofs.T)

    @property
    def size(self) -> int:
        """Number of unknowns."""
        return int(self.unknowns.N)

    def basis(self, local: Floats) -> Floats:
        """Values of the basis functions of the reference element.

        Parameters
        ----------
        local : ndarray of float, shape (3, n)
            Points of the reference element.

        Returns
        -------
        values : ndarray of float, shape (k, n)
        """
        count = self.element_unknowns.shape[1]
        values = [self.element.lbasis(local, i)[0] for i in range(count)]
        return np.array(np.broadcast_arrays(*values))

    def gradients(self, local: Floats) -> Floats:
        """Gradients of the basis functions of the reference element, shape (k, 3, n)."""
        count = self.element_unknowns.shape[1]
        shape = (3, local.shape[1])
        return np.array(
            [np.broadcast_to(self.element.lbasis(local, i)[1], shape) for i in range(count)]
        )

    @cached_property
    def centroids(self) -> Floats:
        """Centre of each element, shape (m, 3). [m]"""
        return self.mesh.points[self.mesh.tetrahedra].mean(axis=1)

    @cached_property
    def radius(self) -> Floats:
        """Distance of the farthest corner of each element from its centre, shape (m,). [m]"""
        off = self.mesh.points[self.mesh.tetrahedra] - self.centroids[:, None]
        return np.asarray(np.sqrt((off**2) @ np.ones(3)).max(axis=1))

    @cached_property
    def width(self) -> Floats:
        """Longest side of the box along the axes round each element, shape (m,). [m]"""
        corners = self.mesh.points[self.mesh.tetrahedra]
        a, b, c, d = np.moveaxis(corners, 1, 0)
        high = np.maximum(np.maximum(a, b), np.maximum(c, d))
        low = np.minimum(np.minimum(a, b), np.minimum(c, d))
        return np.asarray((high - low).max(axis=1))

    @cached_property
    def tree(self) -> cKDTree:
        """Search tree over the centroids."""
        return cKDTree(self.centroids)

    @cached_property
    def neighbours(self) -> Integers:
        """Element across the face opposite each vertex, -1 where there is none; (m, 4)."""
        topology = self.topology
        faces = topology.t2f.T
        sides = topology.f2t
        own = np.arange(len(faces))[:, None]
        across = np.where(sides[0][faces] == own, sides[1][faces], sides[0][faces])
        opposite = [6 - sum(face) for face in topology.elem.refdom.facets]
        neighbours = np.empty_like(across)
        neighbours[:, opposite] = across
        return neighbours

    def locate(self, points: Floats) -> tuple[Integers, Floats]:
        """Element that holds each point, by walking from the nearest centroid.

        Parameters
        ----------
        points : ndarray of float, shape (n, 3)
            Points inside the mesh; points outside get the nearest boundary element found. [m]

        Returns
        -------
        elements : ndarray of int, shape (n,)
        barycentric : ndarray of float, shape (n, 4)
            Below zero by more than round-off where the point is outside the mesh.
        """
        element = np.asarray(self.tree.query(points)[1], dtype=np.int64)
        barycentric = np.empty((len(points), 4))
        walking = np.arange(len(points))
        for _ in range(_longest_walk):
            if not len(walking):
                break
            here = element[walking]
            local = np.einsum(
                "tij,tj->ti", self.inverse[here], points[walking] - self.origin[here]
            )
            weights = np.column_stack([1.0 - local.sum(axis=1), local])
            barycentric[walking] = weights
            exit_face = weights.argmin(axis=1)
            ahead = self.neighbours[here, exit_face]
            moving = (weights.min(axis=1) < -1e-9) & (ahead >= 0)
            walking = walking[moving]
            element[walking] = ahead[moving]
        if len(walking):
            msg = f"{len(walking)} points were not found in the mesh; mesh again a little finer"
            raise MeshError(msg)
        return element, barycentric

    def values(self, points: Floats, *, unknowns: Phasors) -> Phasors:
        """Values at points, as `interpolation` gives them but without its matrix."""
        element, basis = self._basis_at(points)
        return np.asarray(
            np.einsum("kn,nk->n", basis, unknowns[self.element_unknowns[element]])
        )

    def interpolation(self, points: Floats) -> sparse.csr_matrix:
        """Matrix that takes unknowns to values at points.

        Parameters
        ----------
        points : ndarray of float, shape (n, 3)
            Points inside the mesh. [m]

        Returns
        -------
        matrix : csr_matrix, shape (n, size)

        Raises
        ------
        MeshError
            If a point is outside the mesh.
        """
        element, values = self._basis_at(points)
        count = len(values)
        rows = np.repeat(np.arange(len(points)), count)
        columns = self.element_unknowns[element].ravel()
        shape = (len(points), self.size)
        return sparse.csr_matrix((values.T.ravel(), (rows, columns)), shape=shape)

    def _basis_at(self, points: Floats) -> tuple[Integers, Floats]:
        """Element of each point, and the values of its basis functions there, shape (k, n)."""
        element, barycentric = self.locate(points)
        outside = barycentric.min(axis=1) < -1e-3
        if outside.any():
            where = ", ".join(f"{value:.4g}" for value in points[outside][0])
            msg = (
                f"{int(outside.sum())} points are outside the mesh, the first at ({where}) m; "
                f"the mesh reaches {self.mesh.outer_radius:.4g} m from "
                f"({self.mesh.centre[0]:.4g}, {self.mesh.centre[1]:.4g}) m and ends at z = 0"
            )
            raise MeshError(msg)
        return element, self.basis(np.clip(barycentric[:, 1:], 0.0, 1.0).T)

    def gathering(self) -> sparse.csr_matrix:
        """Matrix that takes unknowns to those of each element, one after the other.

        Its transpose adds up what elements give their own basis functions.
        """
        columns = self.element_unknowns.ravel().astype(np.int32)
        ends = np.arange(len(columns) + 1, dtype=np.int32)
        shape = (len(columns), self.size)
        return sparse.csr_matrix((np.ones(len(columns)), columns, ends), shape=shape)

    @cached_property
    def vertex_prolongation(self) -> sparse.csr_matrix:
        """Matrix that takes vertex values to unknowns: linear functions in this space.

        Vertices in the order of the mesh; those on a slit come again for its other sides.
        """
        unknowns = self.element_unknowns
        row = np.full(self.size, -1)
        row[unknowns[:, :4]] = 0
        vertices = np.flatnonzero(row == 0)
        row[vertices] = np.arange(len(vertices))
        shape = (self.size, len(vertices))
        own = sparse.csr_matrix((np.ones(shape[1]), (vertices, np.arange(shape[1]))), shape)
        if self.order == 1:
            return own
        ends = np.full((self.size, 2), -1)
        for k, (a, b) in enumerate(RefTet.edges):
            ends[unknowns[:, 4 + k]] = row[unknowns[:, [a, b]]]
        middle = np.flatnonzero(ends[:, 0] >= 0)
        halves = np.full(len(middle), 0.5)
        for end in ends[middle].T:
            own = own + sparse.csr_matrix((halves, (middle, end)), shape)
        return own.tocsr()
