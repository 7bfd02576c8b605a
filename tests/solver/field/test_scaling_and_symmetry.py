"""What must hold for any electrode: scaling, symmetry, limits of layers, far field."""

from dataclasses import replace

import field_layouts as lay
import numpy as np
import pytest
from measuring import resistance, solved
from numpy.testing import assert_allclose

from ohmscape.solver.field.solution import solve
from ohmscape.solver.model import Soil
from ohmscape.solver.solved_soil import Field

UNIFORM = Soil((100.0,))
LAYERED = Soil((100.0, 300.0), (1.3,))
ROD = {"length": 3.0, "radius": 0.008}
# Two meshes of the same electrode differ by less than the error of either, 0.2 %.
MESHES = 0.003


@pytest.fixture(scope="module")
def rod():
    return solved(lay.rod(**ROD), soil=UNIFORM)


@pytest.fixture(scope="module")
def lopsided():
    """A wire with a rod at one end: no symmetry of its own but one vertical plane."""
    return lay.together(
        lay.wire(length=8.0, radius=0.005, depth=0.6),
        lay.rods([0.0, 0.0], length=2.5, radius=0.007, top=0.6),
    )


@pytest.fixture(scope="module")
def lopsided_resistance(lopsided):
    return resistance(solved(lopsided, soil=LAYERED))


def test_resistance_is_proportional_to_resistivity(lopsided, lopsided_resistance):
    soil = Soil((370.0, 1110.0), LAYERED.thickness)
    # The mesh is the same, so only the linear solver's tolerance is between them.
    assert_allclose(
        resistance(solved(lopsided, soil=soil)), 3.7 * lopsided_resistance, rtol=1e-6
    )


def test_resistance_is_inverse_to_size(lopsided, lopsided_resistance):
    large = lay.moved(lopsided, scale=2.5)
    soil = Soil(LAYERED.resistivity, (2.5 * 1.3,))
    assert_allclose(
        2.5 * resistance(solved(large, soil=soil)), lopsided_resistance, rtol=MESHES
    )


@pytest.mark.parametrize(
    "change",
    [{"turn": 0.65}, {"turn": 1.9, "shift": (123.0, -47.0)}, {"turn": 0.3, "mirrored": True}],
    ids=["turned", "turned and moved", "mirrored"],
)
def test_resistance_does_not_depend_on_the_axes(lopsided, lopsided_resistance, change):
    again = resistance(solved(lay.moved(lopsided, **change), soil=LAYERED))
    assert_allclose(again, lopsided_resistance, rtol=MESHES)


def test_potential_has_the_mirror_symmetry_of_the_electrode():
    pair = lay.rods([[-2.1, 0.0], [2.1, 0.0]], **ROD)
    field = Field(solved(pair, soil=LAYERED), np.array([100.0]))
    places = np.array([[0.7, 1.3, 0.0], [2.9, 0.4, -1.9], [4.4, -3.6, 0.0]])
    here = field.potential(places)
    # Single points of the field are good to about 0.5 % of the rise, here 100 V.
    for mirror in ([-1, 1, 1], [1, -1, 1], [-1, -1, 1]):
        assert_allclose(field.potential(places * mirror), here, atol=0.5)


def test_radius_acts_as_its_logarithm():
    # The field outside is that of the axis; the face only sets where its potential is taken.
    # By energy, dR / d ln a = -sum (I² / length) ρ / 2π, one or two percent more than
    # the -ρ / 2πL of an even current.
    radii = (0.002, 0.004, 0.008, 0.016)
    found = [solved(lay.rod(length=3.0, radius=a), soil=UNIFORM) for a in radii]
    slope = np.diff([resistance(rod) for rod in found]) / np.log(2.0)
    current = [Field(rod, np.array([resistance(rod)])).element_current for rod in found]
    squares = [
        np.sum(amperes**2 / rod.elements.length)
        for amperes, rod in zip(current, found, strict=True)
    ]
    between = 0.5 * (np.array(squares[1:]) + squares[:-1])
    # End elements are as long as two radii, so they too change with the radius.
    assert_allclose(slope, -100.0 / (2 * np.pi) * between, rtol=0.025)
    assert_allclose(slope, -100.0 / (2 * np.pi * 3.0), rtol=0.03)


def test_far_away_only_the_total_current_matters(rod):
    field = Field(rod, np.array([resistance(rod)]))
    distance = np.array([10.0, 15.0, 20.0, 30.0, 40.0, 50.0])
    for down in (0.0, 0.8, 1.0):
        direction = np.array([np.sqrt(1 - down**2), 0.0, -down])
        potential = field.potential(distance[:, None] * direction)
        # Point source and the quadrupole of an even line current.
        legendre = 1.5 * down**2 - 0.5
        expected = 100.0 / (2 * np.pi * distance) * (1 + 3.0 * legendre / distance**2)
        # Elements out there are 0.4 of the distance wide: 1.5 % at a point.
        assert_allclose(potential, expected, rtol=0.015)


@pytest.mark.parametrize("soil", [UNIFORM, Soil((300.0, 50.0), (1.5,))], ids=["one", "two"])
@pytest.mark.parametrize("radius", [5.0, 10.0, 20.0])
def test_all_current_passes_any_half_sphere(soil, radius):
    solution = solved(lay.rod(**ROD), soil=soil, fineness=1.5)
    field = Field(solution, np.array([resistance(solution)]))
    cosine, weights = np.polynomial.legendre.leggauss(24)
    cosine, weights = 0.5 * (cosine + 1), 0.5 * weights
    angle = 2 * np.pi * np.arange(16) / 16
    u, phi = np.meshgrid(cosine, angle, indexing="ij")
    sine = np.sqrt(1 - u**2)
    outward = np.stack([sine * np.cos(phi), sine * np.sin(phi), -u], axis=-1).reshape(-1, 3)
    gap = 0.05 * radius
    drop = field.potential((radius - gap) * outward) - field.potential((radius + gap) * outward)
    conductivity = soil.conductivity[soil.layer_at(radius * u.ravel())]
    density = (conductivity * drop / (2 * gap)).reshape(u.shape)
    current = 2 * np.pi * radius**2 * (weights[:, None] * density).sum() / len(angle)
    # Slopes of the field are good to a few percent at a point, to 1.5 % in the mean; at the
    # default fineness of 1 the current through 5 m in two layers comes out 2.1 % low.
    assert_allclose(current, 1.0, rtol=0.015)


def test_thin_top_layer_does_not_matter(rod):
    thin = [
        resistance(solved(lay.rod(**ROD), soil=Soil((1000.0, 100.0), (h,)))) / resistance(rod)
        - 1
        for h in (0.1, 0.02)
    ]
    # A crust cuts the rod's upper end off: at most h / L to first order.
    assert 0 < thin[1] < 0.02 / 3.0 + MESHES
    assert thin[1] < 0.3 * thin[0]


@pytest.mark.parametrize("lower", [500.0, 20.0])
def test_deep_interface_adds_what_its_images_do(rod, lower):
    depth = 30.0
    deep = resistance(solved(lay.rod(**ROD), soil=Soil((100.0, lower), (depth,))))
    # Images at 2 n h of a source small beside h: ρ / (2 π h) Σ Kⁿ / n = -ρ ln(1 - K) / (2 π h).
    k = (lower - 100.0) / (lower + 100.0)
    added = -100.0 * np.log(1 - k) / (2 * np.pi * depth)
    assert_allclose(deep, resistance(rod) + added, rtol=MESHES)


def test_layers_of_one_resistivity_are_uniform_soil(rod):
    same = Soil((100.0, 100.0), (1.3,))
    on_same_mesh = solve(rod.mesh, soil=same, conductors=lay.rod(**ROD))
    # Only the cut of the rod at the plane is different.
    assert_allclose(resistance(on_same_mesh), resistance(rod), rtol=1e-4)
    assert_allclose(resistance(solved(lay.rod(**ROD), soil=same)), resistance(rod), rtol=MESHES)


@pytest.fixture(scope="module", params=[0.5, 50.0])
def with_contact(request):
    film = request.param
    conductors = replace(lay.rod(**ROD), contact=np.array([film]))
    solution = solved(conductors, soil=UNIFORM)
    # The flat end of the rod has its film too.
    in_series = film / (2 * np.pi * ROD["radius"] * (ROD["length"] + 0.5 * ROD["radius"]))
    return solution, in_series


def test_contact_film_adds_its_own_resistance(rod, with_contact):
    solution, in_series = with_contact
    # It also evens out the current: the soil's part then rises from the value of
    # equipotential metal towards Dwight's for even current, 33.4927 Ω.
    rest = resistance(solution) - in_series
    assert resistance(rod) <= rest <= 33.4927


def test_contact_film_hardly_changes_the_soil_potential_per_ampere(rod, with_contact):
    places = np.array([[2.0, 0.0], [3.0, 0.0], [5.0, 0.0]])
    bare = Field(rod, np.array([resistance(rod)])).surface_potential(places)
    solution, _ = with_contact
    filmed = Field(solution, np.array([resistance(solution)])).surface_potential(places)
    # Even against equipotential current: 1.5, 0.9 and 0.4 % at these places.
    assert (np.abs(filmed / bare - 1) < [0.016, 0.01, 0.005]).all()


def test_strong_contact_film_makes_the_current_even():
    conductors = replace(lay.rod(**ROD), contact=np.array([500.0]))
    solution = solved(conductors, soil=UNIFORM)
    field = Field(solution, np.array([resistance(solution)]))
    # The soil's part is 0.2 % of the whole, and of it a small share is uneven.
    assert_allclose(field.leakage[:-1], 1.0 / 3.0, rtol=0.005)
    # So it is on every face, the flat end included, which the last length of metal has too.
    even = field.voltage @ solution.source_current / solution.sources.length
    assert_allclose(even, 1.0 / 3.0, rtol=0.005)
    # asinh(L / x) of an even line current (Sunde, Dwight; from memory).
    x = np.array([0.5, 1.0, 2.0, 3.0, 5.0])
    expected = 100.0 / (2 * np.pi * 3.0) * np.arcsinh(3.0 / x)
    assert_allclose(field.surface_potential(np.column_stack([x, 0 * x])), expected, rtol=0.005)


def test_sheath_of_the_soils_own_resistivity_changes_nothing(rod):
    # Up to the radius of the blunt face it puts into the thin-wire kernel, (a / L)².
    sheathed = lay.encased_rod(**ROD, shell_radius=0.05, shell_resistivity=100.0)
    assert_allclose(resistance(solved(sheathed, soil=UNIFORM)), resistance(rod), rtol=0.005)


@pytest.mark.parametrize(
    "soil", [UNIFORM, Soil((50.0, 1000.0), (1.0,)), Soil((300.0, 50.0), (1.5,))], ids=str
)
def test_place_of_the_outer_boundary_hardly_matters(soil):
    # Brought in to half its distance.
    assert solved(lay.rod(**ROD), soil=soil).checks.boundary < 0.002
