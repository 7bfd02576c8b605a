"""Films on faces of bodies: against closed forms, and what must always be true."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from numpy.polynomial.legendre import leggauss, legvander
from numpy.testing import assert_allclose
from scipy.special import j0

from ohmscape.meshes import build_mesh, mesh_plan
from ohmscape.solver.bodies import Ball, Body, Cylinder, Film, HalfSpace, Prism
from ohmscape.solver.errors import CaseError
from ohmscape.solver.field.films import film_matrix, films_of, space_in
from ohmscape.solver.field.solution import solve
from ohmscape.solver.model import Conductors, Mesh, Soil

UNIT = np.ones(1)


def rod(x, length, y=0.0):
    return Conductors.bare([[x, y, 0.0]], end=[[x, y, -length]], radius=0.008)


def box(low, high, top, bottom):
    (a, b), (c, d) = low, high
    return Prism(((a, b), (c, b), (c, d), (a, d)), top, bottom)


def ground(resistivity, shape, inside, film=None, faces=("top", "walls", "bottom")):
    cover = None if film is None else Film(film, faces)
    return Soil((resistivity,), bodies=(Body("body", shape, inside, film=cover),))


def solved(soil, metal, fineness=1.3):
    plan = mesh_plan(metal, soil=soil, fineness=fineness, growth_limit=0.4)
    return solve(build_mesh(plan), soil=soil, conductors=metal)


def resistance(solution):
    return 1 / float(solution.current_matrix[0, 0])


def half_ball_potential(points, sources, current, *, radius, inside, outside, film, terms=300):
    """Potential at places on the surface of point sources beside a half ball with a film.

    Term n of the series has r^n inside, where the film r adds r s_i n / a of itself to the
    potential: seen from outside the ball conducts s_i / (1 + r s_i n / a).
    """
    n = np.arange(terms)
    b, far = np.linalg.norm(sources, axis=1)[:, None], np.linalg.norm(points, axis=1)
    s, behind = 1 / outside, 1 + film * n / inside / radius
    si = 1 / inside / behind
    back = n * (s - si) / (n * si + (n + 1) * s)
    found = []
    for place, r in zip(points, far, strict=True):
        legendre = legvander(sources @ place / (b[:, 0] * r), terms - 1)
        if r < radius:
            each = legendre * (1 + back) / behind * (r / b) ** n / b
            found.append(current @ each.sum(axis=1))
        else:
            each = legendre * back * (radius**2 / (b * r)) ** n * radius / (b * r)
            direct = 1 / np.linalg.norm(sources - place, axis=1)
            found.append(current @ (direct + each.sum(axis=1)))
    return outside / (2 * np.pi) * np.array(found)


@pytest.mark.parametrize("film", [30.0, 1000.0, 1e6])
@pytest.mark.parametrize("x", [3.0, 2.15])
def test_potential_round_and_in_a_half_ball_with_a_film_is_that_of_its_series(film, x):
    soil = ground(100.0, Ball((0.0, 0.0, 0.0), 2.0), 20.0, film)
    found = solved(soil, rod(x, 2.0))
    places = np.array([[-3.0, 0, 0], [0, 2.6, 0], [4.0, 0, 0], [1.0, 0.7, 0], [1.8, 0, 0]])
    exact = half_ball_potential(
        places,
        found.elements.middle,
        found.current[0],
        radius=2.0,
        inside=20.0,
        outside=100.0,
        film=film,
    )
    # Flat facets of a fifth of the radius make the ball smaller by a hundredth.
    assert_allclose(found.potential(places, voltage=UNIT), exact, atol=0.003)


def test_metal_that_a_film_shuts_in_has_the_film_in_series():
    shape = Ball((0.0, 0.0, 0.0), 2.0)
    bare = resistance(solved(ground(100.0, shape, 20.0), rod(0.0, 1.2)))
    film = 4000.0
    shut_in = solved(ground(100.0, shape, 20.0, film), rod(0.0, 1.2))
    # The film evens the current out over the half ball, which without it would go to the
    # nearest places of its face: no less than both in series, and hardly more.
    series = bare + film / (2 * np.pi * 2.0**2)
    assert series < resistance(shut_in) < series + 0.01 * bare
    # All outside is as round a half ball of metal that the same current leaves evenly.
    far = np.array([[3.0, 0, 0], [0.0, -5.0, 0], [0, 0, -4.0]])
    amperes = float(shut_in.current_matrix[0, 0])
    exact = 100.0 * amperes / (2 * np.pi * np.linalg.norm(far, axis=1))
    assert_allclose(shut_in.potential(far, voltage=UNIT), exact, rtol=0.003)


def plane_film_potential(points, line, *, thickness, upper, lower, film):
    """Potential per ampere of an even level line in soil over a film over another soil.

    The layer below conducts s / (1 + r s k) of it for a wave number k: the film is in series
    with it. Written out for places and metal in the upper soil.
    """
    start, end = line
    nodes, weights = leggauss(12)
    sources = (start + end) / 2 + nodes[:, None] / 2 * (end - start)
    total = np.zeros(len(points))
    edges = np.concatenate([[0.0], np.geomspace(1e-3, 40.0, 50)])
    for source, share in zip(sources, weights / 2, strict=True):
        plan = np.linalg.norm(points[:, :2] - source[:2], axis=1)
        d, z = -source[2], -points[:, 2]
        for height in (d, -d):
            total += share / np.sqrt(plan**2 + (z - height) ** 2)
        for low, high in pairwise(edges):
            k = (low + high) / 2 + nodes * (high - low) / 2
            below = 1 / lower / (1 + film * k / lower)
            back = (1 / upper - below) / (1 / upper + below)
            again = back * np.exp(-2 * k * thickness)
            wave = 4 * again / (1 - again) * np.cosh(k * d) * np.cosh(np.outer(z, k))
            total += share * (high - low) / 2 * (wave * j0(np.outer(plan, k))) @ weights
    return upper / (4 * np.pi) * total


@pytest.mark.parametrize("film", [60.0, 2000.0])
def test_film_between_two_soils(film):
    upper, lower, thickness = 150.0, 40.0, 1.0
    shape = box((-60.0, -60.0), (60.0, 60.0), 0.0, thickness)
    ends = np.array([[-2.0, 0, -0.6], [2.0, 0, -0.6]])
    metal = Conductors.bare(ends[:1], end=ends[1:], radius=0.005)
    found = solved(ground(lower, shape, upper, film, ("bottom",)), metal)
    elements, current = found.elements, found.current[0]
    places = np.array([[0.0, 0.5, 0], [3.0, 0, 0], [-1.0, 2.5, 0]])
    exact = sum(
        amperes
        * plane_film_potential(
            places, (a, b), thickness=thickness, upper=upper, lower=lower, film=film
        )
        for a, b, amperes in zip(elements.start, elements.end, current, strict=True)
        if amperes > 0.002 * current.sum()
    )
    told = current[current > 0.002 * current.sum()].sum() / current.sum()
    assert_allclose(found.potential(places, voltage=UNIT), exact / told, atol=0.003)


def test_film_of_nothing_changes_nothing_and_one_that_insulates_makes_a_void():
    shape, metal = box((0.5, -1.0), (2.5, 1.0), 0.2, 1.4), rod(0.0, 2.0)
    found = [
        resistance(solved(ground(100.0, shape, 30.0, film), metal))
        for film in (None, 1e-4, 50.0, 1e9)
    ]
    void = resistance(solved(ground(100.0, shape, np.inf), metal))
    assert_allclose(found[1], found[0], rtol=2e-4)
    assert found[0] < found[2] < found[3]
    assert_allclose(found[3], void, rtol=5e-4)


def test_rod_through_an_insulating_barrier_is_two_rods():
    # Each part of the rod is one in ground that ends at the film: the field of a rod square
    # to a plane does not cross it.
    slab = box((-40.0, -40.0), (40.0, 40.0), 0.0, 1.0)
    metal = rod(0.0, 2.5)
    plain = solved(Soil((100.0,)), metal)
    found = solved(ground(100.0, slab, 100.0, 1e5, ("bottom",)), metal)
    below = found.elements.middle[:, 2] < -1.0
    assert found.checks.balance < 1e-6
    assert resistance(found) > 1.05 * resistance(plain)
    # The lower part: a rod of 1.5 m from an insulating plane on, as one from the surface.
    alone = solved(Soil((100.0,)), rod(0.0, 1.5))
    assert_allclose(found.current[0, below].sum(), alone.current[0].sum(), rtol=0.01)


@pytest.mark.parametrize("slab", [3000.0, 30.0])
def test_slab_over_a_barrier_that_a_rod_goes_through_carries_current_to_its_rim(slab):
    # On an insulating barrier the current of the rod runs level in the slab: its potential
    # falls as the logarithm of the distance from the rod.
    shape = Cylinder((0.0, 0.0), 6.0, 0.0, 0.3)
    found = solved(ground(100.0, shape, slab, 1e9, ("bottom",)), rod(0.0, 1.5))
    r = np.array([0.1, 0.3, 1.0, 3.0, 5.0])
    potential = found.potential(np.column_stack([r, 0 * r, 0 * r]), voltage=UNIT)
    share = np.log(5.0 / r) / np.log(5.0 / 0.008)
    assert_allclose(potential, potential[-1] + (1 - potential[-1]) * share, atol=0.004)
    # Its rod below the barrier is one from the surface, 1.2 m long, beside the slab's rim.
    alone = resistance(solved(Soil((100.0,)), rod(0.0, 1.2)))
    below = found.elements.middle[:, 2] < -0.3
    assert_allclose(1 / found.current[0, below].sum(), alone, rtol=0.02 if slab > 100 else 0.2)


def test_unknowns_are_there_once_for_each_side_and_rims_keep_one():
    shape = box((-1.0, -1.0), (1.0, 1.0), 0.0, 0.8)
    soil = ground(100.0, shape, 60.0, 5.0, ("bottom",))
    mesh = build_mesh(mesh_plan(rod(3.0, 1.0), soil=soil, fineness=0.8))
    plain, split = space_in(mesh, soil=replace(soil, bodies=())), space_in(mesh, soil=soil)
    level = np.abs(mesh.points[:, 2] + 0.8) < 1e-9
    inner = level & (np.abs(mesh.points[:, :2]) < 1 - 1e-9).all(axis=1)
    corners, edges = split.topology.facets[:, split.slit], split.topology.edges
    assert_allclose(mesh.points[corners, 2], -0.8)
    a, b = mesh.points[edges] * [1.0, 1.0, 0.0]
    off_rim = (np.abs((a + b) / 2)[:, :2] < 1 - 1e-9).all(axis=1) & level[edges].all(axis=0)
    assert split.size == plain.size + inner.sum() + off_rim.sum()
    # A function that is linear but for a step across the film, told from its vertices.
    films = films_of(split, soil=soil)
    area = film_matrix(split, soil=soil)
    step = np.zeros(split.size)
    step[split.element_unknowns[split.centroids[:, 2] > -0.8]] = 1.0
    step[split.element_unknowns[split.centroids[:, 2] < -0.8]] = 0.0
    assert set(films.body.tolist()) == {0}
    assert area.sum() == pytest.approx(0.0, abs=1e-9)
    assert step @ area @ step < 4.0 / 5.0  # all of the face but what joins its rim


def test_facets_of_round_faces_let_pass_what_the_faces_do():
    # Two tetrahedra of which the common face has its corners on a ball and on a cylinder.
    for shape, points in (
        (Ball((0.0, 0.0, 2.0), 1.0), [[0.8, 0, -1.4], [0.8, 0, -2.6], [0, 0.6, -2.8]]),
        (Cylinder((0.0, 0.0), 1.0, 0.5, 4.0), [[0.8, 0.6, -1], [0.8, 0.6, -2], [1.0, 0, -1]]),
    ):
        corners = np.array([*points, [0, 0, -2.0], [3.0, 0.4, -2.0]])
        mesh = Mesh(corners, np.array([[0, 1, 2, 3], [0, 1, 2, 4]]), (0, 0), UNIT, UNIT)
        soil = ground(100.0, shape, 30.0, 8.0)
        found = films_of(space_in(mesh, soil=soil), soil=soil).conductance
        a, b, c = corners[:3]
        flat = np.linalg.norm(np.cross(b - a, c - a)) / 2
        if isinstance(shape, Ball):
            directions = corners[:3] - np.array(shape.centre) * [1, 1, -1]
            angles = [  # of the triangle on the ball, by its planes
                np.arccos(
                    np.clip(
                        np.cross(p, q)
                        @ np.cross(p, r)
                        / np.linalg.norm(np.cross(p, q))
                        / np.linalg.norm(np.cross(p, r)),
                        -1,
                        1,
                    )
                )
                for p, q, r in (np.roll(directions, k, axis=0) for k in range(3))
            ]
            true = sum(angles) - np.pi  # Girard
        else:
            true = 0.5 * 1.0 * np.arctan2(0.6, 0.8)
        assert_allclose(found, true / flat / 8.0)


def test_films_that_cannot_be_are_refused():
    shape = HalfSpace((1.0, 0.0), (1.0, 0.0))
    with pytest.raises(CaseError, match="must be above 0 and finite"):
        Film(0.0)
    with pytest.raises(CaseError, match="name one or more of top, walls, bottom"):
        Film(3.0, ("side",))
    with pytest.raises(CaseError, match="void with a film"):
        Body("cellar", shape, np.inf, film=Film(3.0))
