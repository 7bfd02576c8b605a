"""How far voltages reach with bodies in the soil: against a series and images."""

import numpy as np
import pytest
from numpy.polynomial.legendre import legvander
from numpy.testing import assert_allclose

from ohmscape.meshes import build_mesh, mesh_plan
from ohmscape.solver.bodies import Ball, Body, Film, HalfSpace, Prism
from ohmscape.solver.contact import behind_contact
from ohmscape.solver.distances import (
    Apart,
    DistancePlan,
    Level,
    WideField,
    distances,
    places_to_mesh,
)
from ohmscape.solver.errors import TrustError
from ohmscape.solver.field.layer_sources import layer_sources
from ohmscape.solver.field.solution import solve
from ohmscape.solver.model import Conductors, Soil
from ohmscape.solver.solved_soil import Field

ROD = Conductors.bare([3.5, 0.0, 0.0], end=[3.5, 0.0, -2.6], radius=0.008)
POND = Soil((130.0,), bodies=(Body("pond", Ball((0.0, 0.0, 0.0), 2.5), 6.0),))


def solved(soil, metal=ROD, *, fineness=1.0):
    plan = mesh_plan(
        metal,
        soil=soil,
        fineness=fineness,
        growth_limit=0.4,
        farthest=places_to_mesh(metal, soil=soil),
    )
    return solve(build_mesh(plan), soil=soil, conductors=metal)


@pytest.fixture(scope="module")
def beside_a_pond():
    return Field(solved(POND), np.array([1500.0]))


def series(places, *, sources, current, radius, inside, outside, terms=60):
    """Potential on the surface outside of a half ball about the origin; as in `test_bodies`.

    A source at b gives k_n a^(2n+1) / (b r)^(n+1) P_n beside 1 / R, with
    k_n = n (s - s_i) / (n s_i + (n + 1) s) (Stratton 1941, sec. 3.23; from memory), twice.
    """
    n, total = np.arange(terms), np.zeros(len(places))
    s, si = 1 / outside, 1 / inside
    k = n * (s - si) / (n * si + (n + 1) * s)
    for source, amperes in zip(sources, current, strict=True):
        b, r = np.linalg.norm(source), np.linalg.norm(places, axis=1)
        power = radius ** (2 * n + 1) / np.outer(r, np.full(terms, b)) ** (n + 1)
        back = (k * power * legvander(places @ source / (b * r), terms - 1)).sum(axis=1)
        direct = 1 / np.linalg.norm(places - source, axis=1)
        total += amperes * (direct + back) * outside / (2 * np.pi)
    return total


@pytest.mark.parametrize("away", [8.0, 25.0, 60.0, 400.0, 2e4])
def test_beside_a_pond_the_field_is_that_of_a_series(beside_a_pond, away):
    angle = np.linspace(0, np.pi, 7)
    places = away * np.column_stack([np.cos(angle), np.sin(angle)])
    elements = beside_a_pond.solution.elements
    expected = series(
        np.column_stack([places, np.zeros(7)]),
        sources=elements.middle,
        current=beside_a_pond.element_current,
        radius=2.5,
        inside=6.0,
        outside=130.0,
    )
    wide = WideField(beside_a_pond)
    # Nearer than 20 m it is the mesh's, farther out the points'.
    assert_allclose(wide.surface(places), expected, rtol=6e-3)
    assert wide.seam < 0.01


def test_what_stands_for_metal_and_bodies_carries_the_current(beside_a_pond):
    solution = beside_a_pond.solution
    made = layer_sources(solution)
    assert_allclose(made.current.sum(), solution.current_matrix[0, 0], rtol=1e-4)
    # A pond that is better than the soil is a source on the far side, a sink on the near one.
    face = np.abs(np.linalg.norm(made.places, axis=1) - 2.5) < 1e-6
    near, far = face & (made.places[:, 0] > 1.0), face & (made.places[:, 0] < -1.0)
    assert made.current[0, near].sum() < 0 < made.current[0, far].sum()


def test_a_contact_resistance_lowers_all_of_it_alike(beside_a_pond):
    solution = beside_a_pond.solution
    resistance = 1 / float(solution.current_matrix[0, 0])
    behind = Field(behind_contact(solution, (0.5 * resistance,)), np.array([1500.0]))
    place = np.array([[300.0, 200.0]])
    expected = WideField(beside_a_pond).surface(place) / 1.5
    assert_allclose(WideField(behind).surface(place), expected, rtol=1e-9)


def test_levels_and_separations_are_where_the_field_passes_them(beside_a_pond):
    plan = DistancePlan((Level("zone", "potential", 9.0),), (Apart("fence", 4.0),))
    found = distances(plan, field=beside_a_pond, metals=[], pace=1.0, factor=1.0)
    wide = WideField(beside_a_pond)
    assert_allclose(wide.surface(found.levels[0].polygons[0]), 9.0, rtol=2e-3)
    (item,) = found.separations
    assert_allclose(item.signed, 4.0, rtol=1e-4)
    current = float(beside_a_pond.element_current.sum())
    assert_allclose(item.distance, 130 * current / (2 * np.pi * 4.0), rtol=0.03)
    assert found.seam == wide.seam
    assert found.known_to is None


ROCK = HalfSpace((9.0, 0.0), (1.0, 0.0))


def test_beyond_rock_without_an_end_the_field_is_known_as_far_as_the_mesh():
    field = Field(solved(Soil((130.0,), bodies=(Body("rock", ROCK, 4000.0),))), np.ones(1))
    wide = WideField(field)
    elements, k = field.solution.elements, (4000 - 130) / (4000 + 130)
    away = np.array([7.0, 20.0, 0.95 * wide.farthest])
    places = np.column_stack([3.5 - away, 0.3 * away])[:2]
    places = np.concatenate([places, [[3.5 - away[2], 0.0]]])
    images = elements.middle * [-1.0, 1.0, 1.0] + [18.0, 0.0, 0.0]
    points = np.column_stack([places, np.zeros(3)])
    apart = [
        np.linalg.norm(points[:, None] - each, axis=2) for each in (elements.middle, images)
    ]
    exact = 130 / (2 * np.pi) * (1 / apart[0] + k / apart[1]) @ field.element_current
    assert_allclose(wide.surface(places), exact, rtol=0.01)
    with pytest.raises(TrustError, match=r"'rock' in the soil goes on for ever"):
        wide.surface(np.array([[1.1 * wide.farthest, 0.0]]))
    plan = DistancePlan((Level("zone", "potential", 1e-5),))
    with pytest.raises(TrustError, match="map a wider"):
        distances(plan, field=field, metals=[], pace=1.0, factor=1.0)
    near = DistancePlan((Level("zone", "potential", 0.05),), (Apart("fence", 0.04),))
    found = distances(near, field=field, metals=[], pace=1.0, factor=1.0)
    assert found.levels[0].whole
    assert found.known_to == wide.farthest
    assert all(line.distance.max() < wide.farthest + 6 for line in found.lines)


def test_a_film_ends_it_at_the_mesh_too():
    corners = ((-2.0, -2.0), (2.0, -2.0), (2.0, 2.0), (-2.0, 2.0))
    lined = Body("lined", Prism(corners, 0.0, 1.5), 20.0, film=Film(300.0))
    wide = WideField(Field(solved(Soil((130.0,), bodies=(lined,))), np.ones(1)))
    assert np.isfinite(wide.farthest)
    assert wide.seam is None
