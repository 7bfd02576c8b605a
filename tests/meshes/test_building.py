"""The mesh itself: shape, sizes, sameness, and a generator that is always put away."""

import builtins
from dataclasses import replace

import field_layouts as lay
import gmsh
import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from ohmscape.meshes import build_mesh, mesh_plan
from ohmscape.solver.errors import MeshError, MissingLibraryError
from ohmscape.solver.field.space import Space
from ohmscape.solver.model import Soil

SOIL = Soil((300.0, 50.0), (1.5,))
PAIR = lay.together(
    lay.rod(length=3.0, radius=0.008),
    lay.moved(lay.wire(length=4.0, radius=0.005, depth=0.5), shift=(1.0, 0.7), turn=0.3),
)


@pytest.fixture(scope="module")
def plan():
    return mesh_plan(PAIR, soil=SOIL)


@pytest.fixture(scope="module")
def mesh(plan):
    return build_mesh(plan)


def _volumes(mesh):
    corners = mesh.points[mesh.tetrahedra]
    return np.linalg.det(corners[:, 1:] - corners[:, :1]) / 6


def test_two_builds_are_the_same(plan, mesh):
    again = build_mesh(plan)
    assert_array_equal(again.points, mesh.points)
    assert_array_equal(again.tetrahedra, mesh.tetrahedra)


def test_the_surface_is_exactly_at_zero(mesh, plan):
    heights = mesh.points[:, 2]
    assert heights.max() == 0.0
    at_surface = heights > -1e-6 * plan.outer_radius
    assert (heights[at_surface] == 0.0).all()
    assert at_surface.sum() > 100


def test_every_element_has_volume_and_none_overlap(mesh):
    assert (np.abs(_volumes(mesh)) > 0).all()
    # The library refuses flat elements; facets with more than two elements it cannot number.
    topology = Space(mesh).topology
    # Divergence theorem on the outer facets gives the same volume as the sum of elements.
    facets = topology.boundary_facets()
    a, b, c = (mesh.points[topology.facets[k, facets]] for k in range(3))
    inner = mesh.points[mesh.tetrahedra].mean(axis=1)[topology.f2t[0, facets]]
    normal = np.cross(b - a, c - a)
    outward = np.sign(np.einsum("ni,ni->n", normal, a - inner))
    enclosed = np.sum(outward * np.einsum("ni,ni->n", a, normal)) / 6
    assert_allclose(np.abs(_volumes(mesh)).sum(), enclosed, rtol=1e-9)


def test_finer_outer_elements_fill_the_half_ball(plan):
    # Chords of the sphere cut off about a fifth of (size / radius)²: 0.15 of the radius here.
    fine = build_mesh(replace(plan, growth=0.15))
    ball = 2 / 3 * np.pi * plan.outer_radius**3
    assert_allclose(np.abs(_volumes(fine)).sum(), ball, rtol=0.01)


def test_outer_vertices_lie_on_the_sphere(mesh, plan):
    distance = np.linalg.norm(mesh.points - [*plan.centre, 0.0], axis=1)
    assert_allclose(distance.max(), plan.outer_radius, rtol=1e-9)
    assert_allclose(mesh.outer_radius, plan.outer_radius, rtol=1e-9)


def test_elements_by_the_metal_have_the_size_asked_for(mesh, plan):
    tree = Space(mesh).tree
    edges = mesh.points[mesh.tetrahedra]
    longest = np.linalg.norm(edges[:, :, None] - edges[:, None], axis=3).max(axis=(1, 2))
    for start, end, size in zip(plan.start, plan.end, plan.element_size, strict=True):
        along = start + np.linspace(0.1, 0.9, 15)[:, None] * (end - start)
        found = longest[tree.query(along)[1]]
        assert 0.5 * size < np.median(found) < 2.0 * size


def test_elements_keep_to_one_side_of_the_interface_near_the_metal(mesh):
    heights = mesh.points[mesh.tetrahedra, 2] + 1.5
    near = np.linalg.norm(mesh.points[mesh.tetrahedra].mean(axis=1), axis=1) < 6.0
    crosses = (heights.min(axis=1) < -1e-9) & (heights.max(axis=1) > 1e-9)
    assert near.sum() > 1000
    assert not (crosses & near).any()


def test_the_mesh_carries_the_sizes_asked_for(mesh, plan):
    assert_array_equal(mesh.element_size, plan.element_size)
    assert mesh.centre == plan.centre


def test_the_generator_is_put_away(plan, mesh):
    assert not gmsh.isInitialized()


def test_a_failing_generator_is_put_away(plan, monkeypatch):
    def fail(dimension):
        msg = "no luck with volume 1"
        raise Exception(msg)  # as gmsh does

    monkeypatch.setattr(gmsh.model.mesh, "generate", fail)
    with pytest.raises(MeshError, match="mesh generator failed: no luck with volume 1; change"):
        build_mesh(plan)
    assert not gmsh.isInitialized()


def test_no_tetrahedra_are_refused(plan, monkeypatch):
    monkeypatch.setattr(gmsh.model.mesh, "generate", lambda dimension: None)
    with pytest.raises(MeshError, match="made no tetrahedra; change the element size"):
        build_mesh(plan)
    assert not gmsh.isInitialized()


def test_a_generator_in_use_is_left_alone(plan):
    gmsh.initialize(interruptible=False)
    try:
        with pytest.raises(MeshError, match="already in use in this process; finalise it"):
            build_mesh(plan)
        assert gmsh.isInitialized()
    finally:
        gmsh.finalize()


def test_a_missing_system_library_is_named(plan, monkeypatch):
    load = builtins.__import__

    def without(name, *args, **kwargs):
        if name == "gmsh":
            msg = "libGLU.so.1: cannot open shared object file"
            raise OSError(msg)
        return load(name, *args, **kwargs)

    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(MissingLibraryError, match=r"\(libGLU\.so\.1: .*apt-get install"):
        build_mesh(plan)


def test_the_thin_layer_has_elements_of_its_own():
    soil = Soil((100.0, 900.0, 100.0), (0.8, 0.2))
    mesh = build_mesh(mesh_plan(lay.rod(length=3.0, radius=0.008), soil=soil))
    centres = mesh.points[mesh.tetrahedra].mean(axis=1)
    near = np.hypot(centres[:, 0], centres[:, 1]) < 1.5
    inside = near & (centres[:, 2] < -0.8) & (centres[:, 2] > -1.0)
    assert inside.sum() > 20


STACK = Soil((3000.0, 30.0) * 5, (0.05,) * 9)


@pytest.mark.parametrize("size", [0.21, 0.15, 0.09])
def test_layers_of_a_stack_have_the_same_triangles(size):
    plan = mesh_plan(lay.rod(length=2.4, radius=0.008), soil=STACK, size=size)
    points = build_mesh(plan).points
    planes = [points[np.abs(points[:, 2] + depth) < 1e-9, :2] for depth, _ in plan.planes]
    near = planes[0][np.linalg.norm(planes[0], axis=1) < 0.9 * 3 * size]
    # A corner of a plane is where the metal goes through it, and others round that.
    assert len(near) > 10
    assert (np.linalg.norm(near, axis=1) < 1e-9).sum() == 1
    for below in planes[1:]:
        assert np.linalg.norm(near[:, None] - below, axis=2).min(axis=1).max() < 1e-6
