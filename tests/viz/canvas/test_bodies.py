"""Outlines of bodies for pictures: what they enclose is what the body holds."""

from math import inf, pi

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.bodies import Ball, Body, Cylinder, Film, HalfSpace, Prism
from ohmscape.solver.polygons import distance_to_sides, inside, signed_area
from ohmscape.viz.canvas.bodies import (
    cut_outlines,
    edges,
    film_lines,
    hatching,
    inner_place,
    plan_outline,
)

ELL = ((0.0, 0.0), (4.1, 0.0), (4.1, 1.3), (1.2, 1.3), (1.2, 3.2), (0.0, 3.2))
SHAPES = [
    Prism(ELL, top=0.4, bottom=1.9),
    Prism(ELL, top=0.0, bottom=inf),
    Cylinder((0.6, 0.2), radius=1.7, top=0.3, bottom=2.1),
    Ball((0.6, 0.2, 1.1), radius=1.6),
    Ball((0.6, 0.2, -0.4), radius=1.6),
    HalfSpace((0.4, 0.7), normal=(3.0, -4.0)),
    HalfSpace((0.4, 0.7), normal=(-1.0, 0.3), top=0.5, bottom=2.2),
]
LOW, HIGH, DEPTH = (-3.0, -2.0), (5.0, 2.5), 2.5


def _enclosed(places, outlines):
    found = np.zeros(len(places), dtype=bool)
    for outline in outlines:
        found ^= inside(places, outline=outline)
    return found


@pytest.mark.parametrize("shape", SHAPES, ids=range(len(SHAPES)))
def test_the_plan_encloses_what_lies_over_the_body(shape):
    rng = np.random.default_rng(3)
    places = rng.uniform(LOW, HIGH, size=(3000, 2))
    outline = plan_outline(shape, low=LOW, high=HIGH)
    depths = np.linspace(0.001, 3.0, 300)
    column = np.stack(
        [shape.holds(np.column_stack([places, np.full(len(places), -d)])) for d in depths]
    ).any(axis=0)
    # A circle is drawn as a polygon, which leaves out a thousandth of its radius.
    near = distance_to_sides(places, outline=outline) < 0.01
    assert_allclose(inside(places, outline=outline)[~near], column[~near])
    assert column.any()


@pytest.mark.parametrize("shape", SHAPES, ids=range(len(SHAPES)))
def test_a_cut_encloses_what_the_plane_meets(shape):
    rng = np.random.default_rng(4)
    origin, direction = np.array([0.3, -0.2]), np.array([0.8, 0.6])
    flat = rng.uniform((-3.0, 0.0), (3.5, DEPTH), size=(3000, 2))
    plan = origin + flat[:, :1] * direction
    held = shape.holds(np.column_stack([plan, -flat[:, 1]]))
    outlines = cut_outlines(
        shape, origin=origin, direction=direction, start=-3.0, end=3.5, depth=DEPTH
    )
    near = np.zeros(len(flat), dtype=bool)
    for outline in outlines:
        near |= distance_to_sides(flat, outline=outline) < 0.01
    assert_allclose(_enclosed(flat, outlines)[~near], held[~near])
    assert held.any()


def test_a_plane_through_a_notch_cuts_a_body_twice():
    cut = cut_outlines(
        SHAPES[0],
        origin=np.array([0.0, 2.2]),
        direction=np.array([1.0, -0.4]) / np.hypot(1.0, 0.4),
        start=-1.0,
        end=6.0,
        depth=9.0,
    )
    assert len(cut) == 2
    assert all(outline[:, 1].min() == 0.4 for outline in cut)


@pytest.mark.parametrize("shape", SHAPES, ids=range(len(SHAPES)))
def test_edges_lie_on_the_faces_or_the_sides_of_the_block(shape):
    points = np.concatenate(edges(shape, low=LOW, high=HIGH, depth=DEPTH))
    on_face = shape.distance(points) < 0.002
    x, y, z = points.T
    at_side = np.isclose(x[:, None], [LOW[0], HIGH[0]]).any(axis=1)
    at_side |= np.isclose(y[:, None], [LOW[1], HIGH[1]]).any(axis=1)
    at_side |= np.isclose(z[:, None], [0.0, -DEPTH]).any(axis=1)
    assert (on_face | at_side).all()


def test_what_lies_outside_is_not_drawn():
    far = Cylinder((30.0, 0.0), radius=1.7, top=0.3, bottom=2.1)
    assert not len(plan_outline(far, low=LOW, high=HIGH))
    assert edges(far, low=LOW, high=HIGH, depth=DEPTH) == []
    assert edges(SHAPES[0], low=LOW, high=HIGH, depth=0.3) == []


@pytest.mark.parametrize("angle", [-60.0, 0.0, 45.0, 90.0])
def test_hatching_fills_an_outline_and_nothing_else(angle):
    outline = np.array(ELL)
    lines = hatching(outline, gap=0.01, angle=angle)
    middles = lines.mean(axis=1)
    assert (inside(middles, outline=outline)).all()
    # Lines a gap apart have the area over that gap as their length.
    length = np.linalg.norm(lines[:, 1] - lines[:, 0], axis=1).sum()
    assert length * 0.01 == pytest.approx(signed_area(outline), rel=0.01)


def test_a_name_stands_inside():
    for shape in SHAPES:
        outline = plan_outline(shape, low=LOW, high=HIGH)
        assert inside(inner_place(outline)[None], outline=outline).all()


def test_a_circle_is_drawn_nearly_round():
    outline = plan_outline(Cylinder((0.0, 0.0), 1.0, 0.0, 1.0), low=(-2, -2), high=(2, 2))
    assert abs(signed_area(outline)) == pytest.approx(pi, rel=0.002)


def test_films_are_drawn_on_their_sides_where_the_picture_ends_not_at_its_edge():
    slab = Prism(((0, -1), (4, -1), (4, 1), (0, 1)), 0.2, 0.6)
    whole = np.array([(0, 0.2), (4, 0.2), (4, 0.6), (0, 0.6)])
    sides = film_lines(Body("slab", slab, 9.0, film=Film(3.0, ("bottom",))), whole)
    assert [side.tolist() for side in sides] == [[[4, 0.6], [0, 0.6]]]
    walls = film_lines(Body("slab", slab, 9.0, film=Film(3.0, ("walls", "top"))), whole)
    assert len(walls) == 3
    cut_off = np.minimum(whole, [4.0, 0.4])
    assert not film_lines(Body("slab", slab, 9.0, film=Film(3.0, ("bottom",))), cut_off)
    half_ball = np.array([(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0)])
    ball = Body("pond", Ball((0, 0, 0), 1.0), 9.0, film=Film(3.0))
    assert len(film_lines(ball, half_ball)) == 2  # not along the surface
