"""Nobody stands in a void: no place, no foot and no worst voltage is in one."""

from dataclasses import replace
from math import inf

import numpy as np
import pytest
from scipy.spatial import Delaunay

from ohmscape.solver.bodies import Ball, Body, Cylinder, HalfSpace, Prism
from ohmscape.solver.exposure.between_samples import step_samples
from ohmscape.solver.exposure.places import TouchableMetal
from ohmscape.solver.exposure.raster import Area
from ohmscape.solver.exposure.shares import steps_by_share
from ohmscape.solver.exposure.surface import sample_places, surface_map
from ohmscape.solver.exposure.void_rims import with_rims
from ohmscape.solver.exposure.worst import worst_step, worst_touch
from ohmscape.solver.model import Conductors, Soil
from ohmscape.solver.solved_soil import Field
from ohmscape.solver.thin_wire import second_opinion

ROD = Conductors.bare([0.0, 0.0, 0.0], end=[0.0, 0.0, -2.4], radius=0.008)
# A cellar beside the rod and over the place where steps without it are worst.
CELLAR = Body("cellar", Prism(((0.3, -3), (4, -3), (4, 3), (0.3, 3)), 0.0, 2.5), inf)
CULVERT = Body("culvert", Prism(((-4, -3), (-3, -3), (-3, 3), (-4, 3)), 0.4, 1.2), inf)
SUMP = Body("sump", Cylinder((2.0, 0.0), 0.5, 0.0, 2.5), 90.0, within="cellar")
SOIL = Soil((100.0,), bodies=(CELLAR, CULVERT, SUMP))
AREA = Area((-5.0, -4.0), (6.0, 4.0), 0.25)
BOX = TouchableMetal(
    "box", 0, "polygon", np.array([[-0.5, -0.5], [0.5, -0.5], [0.5, 0.5]]), 1.0
)


@pytest.fixture(scope="module")
def field():
    """That of the layers alone, told of voids: only where people stand is asked."""
    opinion = second_opinion(ROD, soil=SOIL.layers_alone)
    images = opinion._images
    solved = replace(opinion, soil=SOIL)
    vars(solved)["_images"] = images
    return Field(solved, np.array([1000.0]))


def test_a_void_below_ground_and_what_stands_in_one_are_ground():
    places = np.array([[-3.5, 0.0], [2.0, 0.0], [1.0, 0.0], [0.3, 1.0], [0.29, 1.0]])
    assert SOIL.on_ground(places).tolist() == [True, True, False, True, True]
    assert SOIL.layers_alone.on_ground(places).all()


def test_maps_have_no_place_and_no_triangle_in_a_void(field):
    surface = surface_map(AREA, field=field, metals=[BOX], pace=1.0)
    assert SOIL.on_ground(surface.places).all()
    middles = surface.places[surface.triangles].mean(axis=1)
    assert SOIL.on_ground(middles).all()
    # All of the ground is still there, to a raster beside the walls.
    sides = np.diff(surface.places[surface.triangles], axis=1)
    area = 0.5 * np.abs(np.linalg.det(sides)).sum()
    # 11 x 8 m, without 3.7 x 6 m of cellar, with the sump in it.
    assert area == pytest.approx(88 - 22.2 + np.pi / 4, abs=0.25 * (6 + 6 + 3.7 * 2 + np.pi))
    assert len(sample_places(AREA, field=field, pace=1.0)) == len(surface.places)


def test_maps_end_at_the_walls_of_voids(field):
    surface = surface_map(AREA, field=field, metals=[BOX], pace=1.0)
    sides = np.diff(surface.places[surface.triangles], axis=1)
    area = 0.5 * np.abs(np.linalg.det(sides)).sum()
    # What a raster of 0.25 m left ragged was up to 4 m². A circle has 72 sides or more.
    assert area == pytest.approx(88 - 22.2 + np.pi / 4, abs=0.01)
    rows, corners = np.unique(surface.triangles), CELLAR.shape.corners
    for corner in corners:
        assert np.linalg.norm(surface.places[rows] - corner, axis=1).min() < 1e-8


@pytest.mark.parametrize(
    ("shape", "void"),
    [
        (Ball((1.3, 0.7, 0.4), 1.7), np.pi * (1.7**2 - 0.4**2)),
        (HalfSpace((2.2, 0.0), (1.0, 0.3)), 8 * (6 - 2.2)),  # half of its slant on either side
        (Prism(((-5, -4), (-2.1, -4), (-3.3, 1.7)), 0.0, 2.0), 0.5 * 2.9 * 5.7),
    ],
    ids=["bowl", "cut", "corner of the area"],
)
def test_maps_end_at_voids_of_any_shape(field, shape, void):
    soil = Soil((100.0,), bodies=(Body("void", shape, inf),))
    places = with_rims(
        np.stack(np.meshgrid(np.linspace(-5, 6, 45), np.linspace(-4, 4, 33)), -1).reshape(
            -1, 2
        ),
        area=AREA,
        soil=soil,
        apart=0.25,
    )
    places = places[soil.on_ground(places)]
    triangles = Delaunay(places).simplices
    triangles = triangles[soil.on_ground(places[triangles].mean(axis=1))]
    area = 0.5 * np.abs(np.linalg.det(np.diff(places[triangles], axis=1))).sum()
    assert area == pytest.approx(88 - void, abs=0.02)


def _other(surface):
    way = np.column_stack([np.cos(surface.step_direction), np.sin(surface.step_direction)])
    return surface.places + surface.pace * way


def test_no_step_leads_into_a_void(field):
    surface = surface_map(AREA, field=field, metals=[], pace=1.0)
    assert SOIL.on_ground(_other(surface)[surface.step > 0]).all()
    # And it is the worst of those that do not.
    for row in np.random.default_rng(2).integers(len(surface.places), size=60):
        angle = np.radians(np.arange(0, 360, 0.1))
        ends = surface.places[row] + np.column_stack([np.cos(angle), np.sin(angle)])
        ends = ends[SOIL.on_ground(ends)]
        steps = np.abs(field.surface_potential(ends) - surface.potential[row])
        # Between two directions tried, or by a quick surface 0.2 % off, less is lost.
        assert surface.step[row] >= 0.99 * steps.max(initial=0.0)


def test_the_worst_places_are_on_ground(field):
    surface = surface_map(AREA, field=field, metals=[BOX], pace=1.0)
    steps = worst_step(surface, field=field, area=AREA, most=6)
    touches = worst_touch(surface, index=0, metal=BOX, field=field, area=AREA, most=6)
    feet = [
        foot for item in (*steps, *touches) for foot in (item.foot, item.other_foot) if foot
    ]
    assert len(feet) > 10
    assert SOIL.on_ground(np.array(feet)).all()
    # Without the cellar the worst touch stands in it: on this side it is nearer to the rod.
    far = replace(BOX, vertices=np.array([[0.2, 1.3], [0.9, 1.3], [0.9, 1.5], [0.2, 1.5]]))
    there = surface_map(AREA, field=field, metals=[far], pace=1.0)
    (worst,) = worst_touch(there, index=0, metal=far, field=field, area=AREA)
    assert SOIL.on_ground(np.array([worst.foot])).all()
    layers = Field(second_opinion(ROD, soil=SOIL.layers_alone), field.voltage)
    free = surface_map(AREA, field=layers, metals=[far], pace=1.0)
    (free_worst,) = worst_touch(free, index=0, metal=far, field=layers, area=AREA)
    assert not SOIL.on_ground(np.array([free_worst.foot])).all()


def test_steps_over_the_edge_of_a_ground_do_not_lead_into_a_void(field):
    surface = surface_map(AREA, field=field, metals=[], pace=1.0)
    gravel = np.array([[0.0, -3.5], [4.2, -3.5], [4.2, 3.5], [0.0, 3.5]])

    def permissible(places):
        return np.where(places[:, 0] > 0.0, 20.0, 200.0)

    step, direction = steps_by_share(
        surface.places,
        potential=surface.potential,
        step=surface.step,
        direction=surface.step_direction,
        field=field,
        pace=1.0,
        permissible=permissible,
        edges=[gravel],
    )
    changed = direction != surface.step_direction
    assert changed.any()
    ends = surface.places + np.column_stack([np.cos(direction), np.sin(direction)])
    assert SOIL.on_ground(ends[(step > 0)]).all()


def test_steps_between_samples_do_not_lead_into_a_void(field):
    surface = surface_map(AREA, field=field, metals=[], pace=1.0)
    levels = np.linspace(20, 200, 10)
    samples = step_samples(surface, field=field, levels=levels)
    new = slice(len(surface.places), None)
    assert len(samples.places) > len(surface.places)
    ends = samples.places + np.column_stack(
        [np.cos(samples.direction), np.sin(samples.direction)]
    )
    stands = SOIL.on_ground(ends[new]) | (samples.step[new] == 0)
    assert stands.all()
