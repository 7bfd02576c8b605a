"""The finite-element space and the matrices on it, on an irregular mesh."""

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal
from skfem import MeshTet

from ohmscape.solver.errors import MeshError
from ohmscape.solver.field.conduction import buried_boundary, open_boundary, stiffness
from ohmscape.solver.field.conductivity import LayeredElements, layered_elements
from ohmscape.solver.field.space import Space
from ohmscape.solver.model import Mesh, Soil


@pytest.fixture(scope="module")
def mesh(rod_solution):
    return rod_solution.mesh


@pytest.fixture(scope="module", params=[1, 2], ids=["linear", "quadratic"])
def space(request, mesh):
    return Space(mesh, order=request.param)


@pytest.fixture(scope="module")
def volume(space):
    return space.volume_factor / 6


def _places(space):
    """Where the unknowns stand, shape (size, 3)."""
    points = space.mesh.points
    places = np.full((space.size, 3), np.nan)
    places[space.unknowns.nodal_dofs[0]] = points
    if space.order == 2:
        places[space.unknowns.edge_dofs[0]] = points[space.topology.edges].mean(axis=0)
    assert np.isfinite(places).all()
    return places


def _random_points(space, count=200):
    rng = np.random.default_rng(11)
    weights = rng.dirichlet(np.ones(4), size=count)
    elements = rng.integers(len(space.mesh.tetrahedra), size=count)
    corners = space.mesh.points[space.mesh.tetrahedra[elements]]
    return np.einsum("nk,nki->ni", weights, corners), elements


def test_points_are_found_in_their_element(space):
    points, elements = _random_points(space)
    found, barycentric = space.locate(points)
    assert_array_equal(found, elements)
    assert_allclose(barycentric.sum(axis=1), 1.0, rtol=1e-12)
    assert barycentric.min() > -1e-9


def test_interpolation_is_exact_for_polynomials_of_its_order(space):
    def polynomial(p):
        x, y, z = p.T / 60.0
        linear = 3.0 - 1.7 * x + 0.4 * y + 2.2 * z
        return linear if space.order == 1 else linear + x * y - 0.6 * z**2 + 1.3 * y * z

    points, _ = _random_points(space)
    values = space.interpolation(points) @ polynomial(_places(space))
    assert_allclose(values, polynomial(points), rtol=1e-10, atol=1e-10)


def test_points_on_the_surface_and_at_vertices_are_inside(space):
    surface = np.array([[0.0, 0.0, 0.0], [0.1, -0.2, 0.0], [13.0, 7.0, 0.0]])
    corners = space.mesh.points[::50]
    matrix = space.interpolation(np.concatenate([surface, corners]))
    assert_allclose(np.asarray(matrix.sum(axis=1)), 1.0, rtol=1e-12)


@pytest.mark.parametrize("place", [[0.0, 0.0, 1.0], [80.0, 0.0, -1.0]], ids=["air", "far"])
def test_points_outside_are_refused(space, place):
    points = np.array([[1.0, 0.0, -1.0], place])
    where = f"{place[0]:.4g}, {place[1]:.4g}, {place[2]:.4g}"
    with pytest.raises(MeshError, match=rf"1 points are outside the mesh, .*\({where}\) m"):
        space.interpolation(points)


def test_an_element_without_volume_is_refused(mesh):
    points = mesh.points.copy()
    corners = mesh.tetrahedra[7]
    points[corners[0]] = points[corners[1:]].mean(axis=0)
    flat = Mesh(points, corners[None], mesh.centre, mesh.element_size, mesh.spread)
    with pytest.raises(MeshError, match="1 of 1 elements have no volume; change the element"):
        Space(flat)


def test_vertex_values_become_the_linear_function(space):
    values = space.mesh.points @ [0.3, -1.1, 0.7]
    assert_allclose(
        space.vertex_prolongation @ values, _places(space) @ [0.3, -1.1, 0.7], atol=1e-12
    )


def test_neighbours_share_the_face_opposite_the_vertex(space):
    neighbours = space.neighbours
    tetrahedra = space.mesh.tetrahedra
    for element in range(0, len(tetrahedra), 97):
        for corner in range(4):
            across = neighbours[element, corner]
            face = set(np.delete(tetrahedra[element], corner).tolist())
            if across >= 0:
                assert face < set(tetrahedra[across].tolist())
            else:
                heights = space.mesh.points[list(face), 2]
                radii = np.linalg.norm(space.mesh.points[list(face)], axis=1)
                on_surface = (heights == 0).all()
                on_sphere = np.allclose(radii, space.mesh.outer_radius, rtol=1e-6)
                assert on_surface or on_sphere


def test_edges_and_facets_are_those_of_the_library(space):
    t = np.ascontiguousarray(space.mesh.tetrahedra.T)
    plain = MeshTet(np.ascontiguousarray(space.mesh.points.T), t, sort_t=False)
    ours = space.topology
    for name in ("facets", "edges"):
        ordered = [np.sort(getattr(mesh, name), axis=0) for mesh in (plain, ours)]
        rows = [array[:, np.lexsort(array)] for array in ordered]
        assert_array_equal(*rows)
    assert_array_equal(np.sort(ours.facets[:, ours.t2f[2]], axis=0), _face(plain, 2))
    assert_array_equal(np.sort(ours.edges[:, ours.t2e[4]], axis=0), _edge(plain, 4))


def _face(mesh, k):
    return np.sort(mesh.facets[:, mesh.t2f[k]], axis=0)


def _edge(mesh, k):
    return np.sort(mesh.edges[:, mesh.t2e[k]], axis=0)


def test_energy_of_a_linear_potential_is_exact(space, volume):
    rng = np.random.default_rng(3)
    along = rng.uniform(0.001, 0.1, size=len(volume))
    across = along * rng.uniform(0.2, 1.0, size=len(volume))
    none = np.zeros(0, dtype=int)
    conductivity = LayeredElements(along, across, none, np.zeros((0, 4, 4)))
    matrix = stiffness(space, conductivity=conductivity)
    for slope in ([1.0, 0, 0], [0, 0, 1.0], [0.3, -0.8, 1.1]):
        phi = _places(space) @ slope
        x, y, z = slope
        expected = np.sum(volume * (along * (x**2 + y**2) + across * z**2))
        assert_allclose(phi @ (matrix @ phi), expected, rtol=1e-10)
    assert_allclose(np.asarray(matrix.sum(axis=1)), 0.0, atol=1e-9 * matrix.max())
    assert abs(matrix - matrix.T).max() < 1e-12 * matrix.max()


def test_energy_along_layers_counts_each_at_its_own_height(space, volume):
    # φ = x z, whose field along the layers is z: layer by layer over the half-ball in the mesh.
    # Linear elements do not hold it: φ = x is as wide as they go.
    planes, soil = (-0.7, -2.9), Soil((100.0, 5.0, 300.0), (0.7, 2.2))
    layered = layered_elements(space.mesh, soil=soil)
    only = LayeredElements(
        layered.horizontal, np.zeros(len(volume)), layered.crossing, layered.moments
    )
    x, _, z = _places(space).T
    potential = x if space.order == 1 else x * z
    found = potential @ (stiffness(space, conductivity=only) @ potential)
    # The same from uniform soils: sampled in each element and sorted into the layers.
    weights = np.random.default_rng(4).dirichlet(np.ones(4), size=4000)
    heights = space.mesh.points[space.mesh.tetrahedra, 2] @ weights.T
    layer = np.digitize(-heights, -np.array(planes))
    field = np.ones_like(heights) if space.order == 1 else heights
    expected = (volume * (field**2 * soil.conductivity[layer]).mean(axis=1)).sum()
    assert_allclose(found, expected, rtol=3e-3)


def test_open_boundary_takes_the_current_of_a_point_source(space):
    # With σ = 1 and the potential 1 / r the current through any surface round the source
    # below ground is 2 π; on the outer sphere 1 / r is the constant 1 / R but for facets.
    unit = np.ones(len(space.volume_factor))
    boundary = open_boundary(space, conductivity=unit)
    total = boundary.sum()
    radius = space.mesh.outer_radius
    # For a potential of one: the integral of n · x / r² over the facets, 2 π R on the sphere.
    # On chords of the sphere 0.4 R wide r is up to 3 % less than R.
    assert_allclose(total, 2 * np.pi * radius, rtol=0.04)
    facets = buried_boundary(space)
    corners = space.mesh.points[space.topology.facets[:, facets]]
    assert_allclose(np.linalg.norm(corners, axis=2), radius, rtol=1e-9)


def test_open_boundary_of_an_inner_part_faces_outwards(space):
    near = np.flatnonzero(np.linalg.norm(space.centroids, axis=1) < 20.0)
    unit = np.ones(len(space.volume_factor))
    inner = open_boundary(space, conductivity=unit, elements=near)
    distance = np.maximum(np.linalg.norm(_places(space), axis=1), 1e-3)
    # The flux of 1 / r through this ragged surface: 2 π whatever its shape; linear elements
    # are rough on facets as large as their distance.
    flux = inner.sum(axis=0) @ (1.0 / distance)
    assert_allclose(flux, 2 * np.pi, rtol=0.12 if space.order == 1 else 0.04)
