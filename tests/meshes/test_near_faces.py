"""Metal near faces of bodies, and the bodies in the mesh."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.meshes import build_mesh, mesh_plan
from ohmscape.meshes.near_faces import cut_at_faces
from ohmscape.solver.bodies import Ball, Body, Cylinder, HalfSpace, Prism
from ohmscape.solver.bodies.edges import edges_of
from ohmscape.solver.model import Conductors, Soil

BOX = Prism(((-1.1, -0.9), (1.3, -0.9), (1.3, 0.7), (-1.1, 0.7)), 0.2, 1.5)
WIRE = Conductors.bare([[-4.0, 0.1, -0.6]], end=[[5.0, 0.1, -0.6]], radius=0.005)


def ground(*shapes, value=20.0):
    return Soil((100.0,), bodies=tuple(Body(f"b{k}", s, value) for k, s in enumerate(shapes)))


def volume(mesh, soil):
    """Of the elements in each material. [m³]"""
    corners = mesh.points[mesh.tetrahedra]
    each = np.abs(np.linalg.det(corners[:, 1:] - corners[:, :1])) / 6
    return np.bincount(soil.material_at(corners.mean(axis=1)), each)


def test_stretches_cover_the_metal_once_and_get_shorter_towards_a_face():
    cut = cut_at_faces(WIRE, soil=ground(BOX), usual=np.array([2.0]))
    assert_allclose(cut.begin[1:], cut.end[:-1], rtol=1e-12)
    assert (cut.begin[0], cut.end[-1]) == (0.0, 1.0)
    stops = -4.0 + 9.0 * cut.end
    for wall in (-1.1, 1.3):
        assert np.abs(stops - wall).min() < 1e-9
    middle = 0.5 * (cut.begin + cut.end)[:, None]
    gap = BOX.distance(WIRE.start + middle * (WIRE.end - WIRE.start))
    assert (cut.widest <= np.maximum(gap, 3 * 0.005) + 1e-12).all()
    length = 9.0 * (cut.end - cut.begin)
    assert length[gap < 0.03].max() < 0.06 < length[gap > 1.0].min()


def test_metal_is_not_cut_where_no_face_is_near():
    far = Ball((40.0, 0.0, 2.0), 1.5)
    assert cut_at_faces(WIRE, soil=ground(far), usual=np.array([2.0])) is None
    plan = mesh_plan(WIRE, soil=ground(far))
    assert plan.cut is None
    assert build_mesh(plan).stretches is None


def test_towards_better_ground_clouds_are_narrower_the_better_it_is():
    level = Conductors.bare([[-1.0, 1.2, -0.6]], end=[[1.0, 1.2, -0.6]], radius=0.005)
    widest = [
        cut_at_faces(level, soil=ground(BOX, value=value), usual=np.array([2.0])).widest.min()
        for value in (1e4, 50.0, 10.0, 1.0, 0.01)
    ]
    assert 0.3 < widest[0] < 0.5  # its distance from the wall
    assert np.all(np.diff(widest) < 0)


@pytest.mark.parametrize(
    ("shape", "cubic_metres", "rounding"),
    [
        (BOX, 2.4 * 1.6 * 1.3, 1e-9),
        # Flat facets of a fifth of the radius lie within it.
        (Cylinder((0.4, -0.3), 0.9, 0.0, 1.2), np.pi * 0.81 * 1.2, 0.02),
        (Ball((0.2, 0.1, 0.0), 1.1), 2 / 3 * np.pi * 1.331, 0.03),
        (Ball((0.2, 0.1, 1.6), 1.1), 4 / 3 * np.pi * 1.331, 0.03),
        (Ball((0.2, 0.1, -0.4), 1.1), np.pi * 0.49 * (3.3 - 0.7) / 3, 0.05),
    ],
)
def test_faces_of_a_body_are_faces_of_the_mesh(shape, cubic_metres, rounding):
    soil = ground(shape)
    rod = Conductors.bare([[2.5, 0, 0]], end=[[2.5, 0, -1.5]], radius=0.008)
    found = volume(build_mesh(mesh_plan(rod, soil=soil)), soil)[1]
    assert_allclose(found, cubic_metres, rtol=max(rounding, 1e-9))


def test_half_space_and_nested_bodies_share_the_ground():
    square = ((1.0, -3.0), (6.0, -3.0), (6.0, 3.0), (1.0, 3.0))
    block = Body("block", Prism(square, 0.0, 3.0), 30.0)
    core = Body("core", Cylinder((3.0, 0.0), 0.8, 0.5, 2.0), 500.0, within="block")
    rock = Body("rock", HalfSpace((-2.0, 0.0), (-1.0, 0.4)), 2000.0)
    soil = Soil((100.0, 40.0), (1.7,), (block, core, rock))
    rod = Conductors.bare([[0.0, 0, 0]], end=[[0.0, 0, -2.5]], radius=0.008)
    mesh = build_mesh(mesh_plan(rod, soil=soil))
    *_, in_block, in_core, in_rock = volume(mesh, soil)
    assert_allclose(in_core, np.pi * 0.64 * 1.5, rtol=0.02)
    assert_allclose(in_block + in_core, 5 * 6 * 3.0, rtol=1e-9)
    whole = volume(mesh, soil).sum()
    assert 0.4 < in_rock / whole < 0.5  # its plane is a little off the centre


def test_clouds_of_a_coarser_mesh_stay_clear_of_much_better_ground():
    level = Conductors.bare([[-1.0, 1.2, -0.6]], end=[[1.0, 1.2, -0.6]], radius=0.005)
    usual = np.array([2.0])
    poorer, better = (
        cut_at_faces(level, soil=ground(BOX, value=value), usual=usual) for value in (1e4, 0.01)
    )
    assert_allclose(poorer.wider(1.5).widest, 1.5 * poorer.widest)
    assert 1.0 < (better.wider(1.5).widest / better.widest).min() < 1.2


def test_metal_through_a_body_of_the_soils_own_resistivity_is_as_far_from_faces_as_can_be():
    soil = ground(BOX, value=100.0)
    cut = cut_at_faces(WIRE, soil=soil, usual=np.array([0.5]))
    assert np.isinf(cut.wider(1.5).widest).all()
    plan = mesh_plan(WIRE, soil=soil, fineness=0.6, cut=cut.wider(1.5))
    assert np.isfinite(plan.spread).all()


def test_elements_are_small_at_edges_where_the_field_gets_steep():
    def at_edges(value):
        plan = mesh_plan(WIRE, soil=ground(BOX, value=value), growth_limit=0.4)
        mesh = build_mesh(plan)
        corners = mesh.points[mesh.tetrahedra]
        size = np.cbrt(np.abs(np.linalg.det(corners[:, 1:] - corners[:, :1])) * np.sqrt(2))
        gap = edges_of(BOX, middle=(0, 0), far=9.0).distance(corners.mean(axis=1))
        far = (gap > 0.4) & (np.linalg.norm(corners.mean(axis=1), axis=1) < 2.0)
        return np.median(size[np.argsort(gap)[:40]]), np.median(size[far]), plan

    (near, far, steel), (same, others, alike) = at_edges(1e-3), at_edges(90.0)
    assert not len(alike.edges.size)
    assert near < 0.4 * same
    assert_allclose(far, others, rtol=0.2)  # and as they were elsewhere
    made = len(build_mesh(steel).tetrahedra)
    assert steel.elements > alike.elements
    assert made < 2.5 * steel.elements


def test_edges_of_a_step_that_shuts_current_out_matter_no_farther_than_it_is_deep():
    def edges(value, top=0.0, deep=0.15):
        plan = ((-4.0, -4.0), (4.0, -4.0), (4.0, 4.0), (-4.0, 4.0))
        soil = ground(Prism(plan, top, top + deep), value=value)
        level = Conductors.bare([[-3.0, 0, -0.6]], end=[[3.0, 0, -0.6]], radius=0.005)
        return mesh_plan(level, soil=soil, fineness=1.6, growth_limit=0.4).edges.places

    assert not len(edges(3000.0))
    assert not len(edges(np.inf))
    # Deeper than elements there are large, they do, as far as these are no larger.
    deep = edges(3000.0, deep=0.8)
    assert 0 < len(deep) < len(edges(5.0, deep=0.8))
    # Edges of a thin sheet of better ground are steep from far away, those of a buried one too.
    assert len(edges(5.0))
    assert len(edges(3000.0, top=0.2))
