"""Bodies in the soil: against values from elsewhere, and what must always be true."""

from dataclasses import replace

import numpy as np
import pytest
import scipy.sparse as sparse
from numpy.polynomial.legendre import legvander
from numpy.testing import assert_allclose

from ohmscape.meshes import build_mesh, mesh_plan
from ohmscape.solver.bodies import Ball, Body, Cylinder, HalfSpace, Prism
from ohmscape.solver.errors import CaseError, TrustError
from ohmscape.solver.field.conductivity import layered_elements
from ohmscape.solver.field.sensitivity import soil_shares
from ohmscape.solver.field.short_range import ShortRange
from ohmscape.solver.field.solution import solve, system_of
from ohmscape.solver.field.space import Space
from ohmscape.solver.model import Conductors, Soil


def rod(x, length=3.0, radius=0.008, y=0.0):
    return Conductors.bare([[x, y, 0.0]], end=[[x, y, -length]], radius=radius)


def box(low, high, top, bottom):
    (a, b), (c, d) = low, high
    return Prism(((a, b), (c, b), (c, d), (a, d)), top, bottom)


def ground(resistivity, *bodies):
    return Soil(
        (resistivity,), bodies=tuple(Body(f"b{k}", *each) for k, each in enumerate(bodies))
    )


def solved(soil, metal, fineness=1.6):
    plan = mesh_plan(metal, soil=soil, fineness=fineness, growth_limit=0.4)
    return solve(build_mesh(plan), soil=soil, conductors=metal)


def resistance(solution):
    return 1 / float(solution.current_matrix[0, 0])


# Exact images in planes, thin wire on its axis with elements of two radii at its ends, halved
# twice until nothing moved by 1e-4; on the surface at x = -1, d / 2 and d + 1.
CONTACTS = [
    (100.0, 400.0, 0.3, 39.713, (13.644, 26.344, 12.989)),
    (400.0, 100.0, 1.0, 119.02, (26.606, 33.244, 10.010)),
    (10000.0, 100.0, 0.3, 2249.5, (238.87, 591.99, 16.365)),
    (100.0, 10000.0, 1.0, 38.821, (13.880, 19.990, 12.327)),
]


@pytest.mark.parametrize(("soil", "beyond", "d", "ohms", "potentials"), CONTACTS)
def test_rod_beside_a_contact_of_two_soils(soil, beyond, d, ohms, potentials):
    there = ground(soil, (HalfSpace((d, 0.0), (1.0, 0.0)), beyond))
    found = solved(there, rod(0.0))
    # The values are good to 0.2 %, potentials to 0.3 % of R.
    assert_allclose(resistance(found), ohms, rtol=0.003)
    places = np.array([[-1.0, 0, 0], [d / 2, 0, 0], [d + 1, 0, 0]])
    potential = resistance(found) * found.potential(places, voltage=np.ones(1))
    assert_allclose(potential, potentials, atol=0.005 * ohms)


@pytest.mark.parametrize("far_side", [1000.0, 20.0])
@pytest.mark.parametrize(("one", "other"), [(1.5, 7.0), (0.3, 7.0), (1.5, 4.5), (1.0, 4.0)])
def test_metal_on_both_sides_of_a_contact_is_coupled_as_in_ground_of_their_mean(
    one, other, far_side
):
    # Elements as large as the other pin is far let wide clouds reach the metal beyond.
    size = np.array([0.2, 0.25 * (other - 2.1) + 0.1])
    top = np.array([[one, 0.0, 0.0], [other, 0.3, 0.0]])
    pins = Conductors.bare(
        top, end=top - 0.25 * size[:, None] * [0, 0, 1], radius=0.0125 * size, group=[0, 1]
    )
    soil = ground(100.0, (HalfSpace((2.1, 0.0), (1.0, 0.0)), far_side))
    plan = mesh_plan(pins, soil=soil, size=size)
    found = solve(build_mesh(plan), soil=soil, conductors=pins)
    # Maxwell 1873, art. 315 (from memory): conductivities count as their mean.
    mean = 2 / (1 / 100.0 + 1 / far_side)
    exact = mean / (2 * np.pi * np.hypot(other - one, 0.3))
    assert_allclose(np.linalg.inv(found.current_matrix)[0, 1], exact, rtol=0.008)


def test_wire_square_to_a_contact_leaks_as_the_soils_conduct():
    soil = ground(100.0, (HalfSpace((0.0, 0.0), (1.0, 0.0)), 10000.0))
    found = solved(
        soil, Conductors.bare([[-5.0, 0, -0.6]], end=[[5.0, 0, -0.6]], radius=0.005), 1.0
    )
    assert_allclose(resistance(found), 28.815, rtol=0.003)  # exact images, thin wire
    better = found.elements.middle[:, 0] < 0
    share = found.current[0, better].sum() / found.current[0].sum()
    assert_allclose(share, 100 / 101, atol=5e-4)


# Axisymmetric quadratic elements with the rod's true face and end in the mesh.
def test_rod_through_a_block_of_concrete():
    soil = ground(50.0, (Cylinder((0.0, 0.0), 0.5, 0.0, 0.6), 500.0))
    found = solved(soil, rod(0.0, 2.4))
    assert_allclose(resistance(found), 23.832, rtol=0.003)
    places = np.array([[r, 0, 0] for r in (0.3, 1.0, 1.5, 4.0)])
    potential = resistance(found) * found.potential(places, voltage=np.ones(1))
    assert_allclose(potential, (7.616, 4.465, 3.741, 1.849), atol=0.005 * 23.832)


def half_ball_potential(points, sources, current, *, radius, inside, outside, terms=400):
    """Potential of point sources beside a half ball about the origin, on the surface z = 0.

    Outside, a source at b gives at r the terms k_n a^(2n+1) / (b r)^(n+1) P_n beside 1 / R,
    k_n = n (s - s_i) / (n s_i + (n + 1) s); inside (2n+1) s / (n s_i + (n + 1) s) r^n / b^(n+1)
    (Stratton 1941, *Electromagnetic Theory*, sec. 3.23; from memory). The surface doubles all.
    """
    n = np.arange(terms)
    b, r = np.linalg.norm(sources, axis=1), np.linalg.norm(points, axis=1)
    s, si = 1 / outside, 1 / inside
    found = []
    for place, far in zip(points, r, strict=True):
        legendre = legvander(sources @ place / (b * far), terms - 1)
        if far < radius:
            terms_here = (2 * n + 1) * s / (n * si + (n + 1) * s)
            each = legendre * terms_here * (far / b[:, None]) ** n / b[:, None]
            found.append(current @ each.sum(axis=1))
        else:
            terms_here = n * (s - si) / (n * si + (n + 1) * s) * radius
            each = legendre * terms_here * (radius**2 / (b * far)[:, None]) ** n
            direct = 1 / np.linalg.norm(sources - place, axis=1)
            found.append(current @ (direct + each.sum(axis=1) / (b * far)))
    return outside / (2 * np.pi) * np.array(found)


@pytest.mark.parametrize("inside", [20.0, 10000.0])
def test_potential_round_and_in_a_half_ball_is_that_of_its_series(inside):
    soil = ground(100.0, (Ball((0.0, 0.0, 0.0), 2.0), inside))
    found = solved(soil, rod(3.0))
    places = np.array([[-3.0, 0, 0], [0.0, 2.6, 0], [4.0, 0, 0], [1.0, 0.7, 0], [-1.5, 0, 0]])
    exact = half_ball_potential(
        places,
        found.elements.middle,
        found.current[0],
        radius=2.0,
        inside=inside,
        outside=100.0,
    )
    # Flat facets of a fifth of the radius make the ball smaller by a hundredth.
    assert_allclose(found.potential(places, voltage=np.ones(1)), exact, atol=0.002)


def test_rod_in_a_half_ball():
    soil = ground(100.0, (Ball((0.0, 0.0, 0.0), 2.0), 20.0))
    found = solved(soil, rod(1.0, 1.2))
    assert_allclose(resistance(found), 21.072, rtol=0.003)  # Legendre series, thin wire


def test_void_turns_current_away():
    soil = ground(100.0, (box((1.0, -3.0), (7.0, 3.0), 0.0, 2.5), np.inf))
    found = solved(soil, rod(0.0))
    # Charges on the faces of the void, refined until the last digit moved by one.
    assert_allclose(resistance(found), 35.479, rtol=0.003)
    places = np.array([[x, 0.0, 0.0] for x in (0.99, 1.2, 4.0, 6.5, 7.01)])
    potential = found.potential(places, voltage=np.ones(1))
    assert np.all(np.diff(potential) < 0)  # nothing is fed into it


def test_body_of_the_soils_own_resistivity_changes_nothing():
    metal = rod(0.0, 2.4)
    plain = resistance(solved(Soil((70.0,)), metal))
    through = ground(70.0, (box((-0.5, -0.4), (0.6, 0.5), 0.0, 0.7), 70.0))
    # The mesh is another one, and metal is cut at the faces.
    assert_allclose(resistance(solved(through, metal)), plain, rtol=5e-4)


def test_large_box_is_as_good_as_a_layer():
    metal = rod(0.0, 2.0)
    layers = Soil((300.0, 60.0), (1.2,))
    as_body = ground(60.0, (box((-300.0, -300.0), (300.0, 300.0), 0.0, 1.2), 300.0))
    one, other = solved(layers, metal), solved(as_body, metal)
    places = np.array([[0.7, 0, 0], [3.0, 0, 0], [0.5, 0.5, -2.0]])
    # Two ways to the same: each is within 0.15 % of images in the reference cases.
    assert_allclose(resistance(other), resistance(one), rtol=0.002)
    assert_allclose(
        other.potential(places, voltage=np.ones(1)) * resistance(other),
        one.potential(places, voltage=np.ones(1)) * resistance(one),
        atol=0.002 * resistance(one),
    )


def test_balances_hold_between_electrodes_in_and_beside_a_body_in_layers():
    inner, outer = rod(0.3, 1.7), rod(-2.0, 2.2)
    metal = Conductors.bare(
        np.concatenate([inner.start, outer.start]),
        end=np.concatenate([inner.end, outer.end]),
        radius=0.008,
        group=[0, 1],
    )
    pond = Body("pond", box((-0.8, -1.0), (1.4, 1.1), 0.0, 0.9), 12.0)
    found = solved(Soil((150.0, 500.0), (1.3,), (pond,)), metal)
    matrix = found.current_matrix
    assert_allclose(matrix[0, 1], matrix[1, 0], rtol=1e-7)  # both solved to 1e-8
    assert found.checks.balance < 1e-7
    assert found.checks.energy < 1e-7
    assert matrix[0, 1] < 0 < -matrix[0, 1] < matrix[1, 1] < matrix[0, 0]


@pytest.mark.parametrize("x", [0.3, 1.04, 1.9])
def test_currents_of_the_metal_always_cost_power(x):
    for value in (0.01, 10000.0):
        soil = ground(100.0, (box((-1.0, -1.0), (1.0, 1.0), 0.0, 0.8), value))
        metal = rod(x, 1.9)
        space = Space(build_mesh(mesh_plan(metal, soil=soil, fineness=0.8)))
        system, elements = system_of(
            space,
            ground=sparse.eye_array(space.size, format="csr"),
            soil=soil,
            conductors=metal,
            conductivity=layered_elements(space.mesh, soil=soil),
        )
        assert len(elements) < 400  # all eigenvalues are found
        assert system.short_range.lowest() > 1e-3


def test_currents_that_gain_power_are_refused():
    one = sparse.eye_array(600, format="csr")
    shares = sparse.csr_matrix((600, 1))
    wrong = one - sparse.csr_matrix(([1.3], ([7], [7])), shape=(600, 600))
    few = sparse.csr_matrix(np.eye(9) - 0.2)
    for wires, balls in ((wrong, 1.0), (few, 1.0)):
        metal = ShortRange(
            wires.tocsr(), sparse.csr_matrix([[balls]]), shares[: wires.shape[0]].tocsr()
        )
        with pytest.raises(TrustError, match=r"indefinite.*move them apart"):
            metal.require_definite()


def test_resistance_falls_when_a_body_is_made_better():
    shape = box((0.5, -1.0), (2.5, 1.0), 0.2, 1.4)
    found = [
        resistance(solved(ground(100.0, (shape, value)), rod(0.0, 2.0), 1.0))
        for value in (np.inf, 2000.0, 100.0, 20.0, 0.01)
    ]
    assert np.all(np.diff(found) < -1e-3)  # Rayleigh 1870


@pytest.mark.slow
@pytest.mark.parametrize(
    "soil",
    [
        Soil((200.0, 50.0), (2.0,), (Body("b0", box((0.5, -1), (2.5, 1), 0.3, 1.3), 20.0),)),
        ground(60.0, (Cylinder((0.0, 0.0), 0.4, 0.0, 0.6), 700.0)),
        ground(
            100.0,
            (HalfSpace((0.7, 0.0), (1.0, 0.0)), 900.0),
            (box((-4, -1), (-2, 1), 0, 1), np.inf),
        ),
    ],
    ids=["in layers", "passed through", "beside a void"],
)
def test_shares_of_bodies_are_how_a_resistance_follows_them(soil):
    metal = rod(0.0, 1.5)
    plan = mesh_plan(metal, soil=soil, fineness=0.8, growth_limit=0.4)
    mesh = build_mesh(plan)
    shares = soil_shares(
        solve(mesh, soil=soil, conductors=metal), electrode_set=np.zeros(1, dtype=int)
    )
    assert_allclose(shares.layers.sum() + shares.bodies.sum(), 1, atol=1e-5)
    first = soil.bodies[0]
    more, less = (
        replace(
            soil,
            bodies=(replace(first, resistivity=first.resistivity * by), *soil.bodies[1:]),
        )
        for by in (1.03, 1 / 1.03)
    )
    ohms = [resistance(solve(mesh, soil=each, conductors=metal)) for each in (more, less)]
    again = np.log(ohms[0] / ohms[1]) / (2 * np.log(1.03))
    assert_allclose(shares.bodies[0, 0], again, atol=2e-4)
    assert (shares.bodies[0, 1:] == 0).all()


def test_what_is_not_followed_is_refused():
    soil = ground(100.0, (box((-1.0, -1.0), (1.0, 1.0), 0.0, 0.8), 20.0))
    with pytest.raises(CaseError, match=r"lies in a face of body 'b0'.*move one of the two"):
        solved(soil, Conductors.bare([[1.0, 0, 0]], end=[[1.0, 0, -0.5]], radius=0.01))
    filled = replace(rod(0.0, 2.0), sheath_radius=np.array([0.05]))
    with pytest.raises(CaseError, match=r"is in fill.*touches a face of body 'b0'"):
        solved(soil, filled)
    void = ground(100.0, (box((-1.0, -1.0), (1.0, 1.0), 0.0, 0.8), np.inf))
    with pytest.raises(CaseError, match=r"lies in 'b0', which is a void"):
        solved(void, rod(0.0))
