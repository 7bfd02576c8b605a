"""What must be true of the axisymmetric solver: limits, scaling, films, trust."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.axisymmetric import (
    Cylinder,
    Fill,
    HalfSpheroid,
    assembly,
    solution,
    solve_axisymmetric,
)
from ohmscape.solver.axisymmetric.lines import graded_lines
from ohmscape.solver.errors import CaseError, ConvergenceError, MeshError, TrustError
from ohmscape.solver.model import Soil

ROD = Cylinder(length=2.3, radius=0.011, top_depth=0.4)
BALL = HalfSpheroid(radius=0.37, bottom_depth=0.37)
SOIL = Soil((130.0,))


def ohms(metal, soil=SOIL, **options):
    return solve_axisymmetric(metal, soil=soil, **options).resistance


def test_a_film_on_a_hemisphere_adds_its_own_resistance():
    area = 2 * np.pi * 0.37**2
    found = ohms(BALL, contact=7.0)
    # Exact: the current density on a hemisphere is even. Finite elements: 0.05 %.
    assert_allclose(found, 130 / (2 * np.pi * 0.37) + 7.0 / area, rtol=5e-4)


def test_a_thin_film_changes_a_rod_by_resistance_over_area_and_a_thinner_one_by_nothing():
    bare = ohms(ROD)
    area = 2 * np.pi * 0.011 * 2.3
    # Where the film is small the current stays as it was; a rod's is even within 10 %,
    # and the mean of its square then exceeds the square of its mean by about 1 %.
    assert_allclose(ohms(ROD, contact=0.02) - bare, 0.02 / area, rtol=0.05)
    assert_allclose(ohms(ROD, contact=1e-9), bare, rtol=1e-6)


def test_layers_of_one_resistivity_are_one_soil():
    # Other meshes, so only as equal as each is accurate.
    layered = ohms(ROD, Soil((130.0, 130.0, 130.0), (1.1, 5.0)))
    assert_allclose(layered, ohms(ROD), rtol=3e-4)


def test_fill_of_the_soil_itself_is_no_fill():
    fill = Fill(radius=0.2, resistivity=130.0, cover=0.3)
    assert_allclose(ohms(ROD, fill=fill), ohms(ROD), rtol=3e-4)
    ball = ohms(BALL, fill=replace(fill, radius=0.8))
    assert_allclose(ball, ohms(BALL), rtol=5e-4)


def test_fill_with_no_resistance_is_metal():
    fill = Fill(radius=0.2, resistivity=1e-4, cover=0.3)
    wide = Cylinder(length=2.9, radius=0.2, top_depth=0.1)  # fill above the top as well
    # The fill leaves 1e-6 of the resistance; its corner is meshed less finely than metal's.
    assert_allclose(ohms(ROD, fill=fill), ohms(wide), rtol=5e-4)


def test_resistance_grows_with_resistivity_and_falls_with_size():
    tenfold = Soil((1300.0,))
    large = Cylinder(length=23.0, radius=0.11, top_depth=4.0)
    # The same mesh but for units.
    assert_allclose(ohms(ROD, tenfold), 10 * ohms(ROD), rtol=1e-9)
    assert_allclose(10 * ohms(large), ohms(ROD), rtol=1e-9)


def test_a_thin_plate_tends_to_one_of_no_thickness():
    thin = Cylinder(radius=0.5, length=1e-4, top_depth=0.9)
    # Thickness t adds about t / a to the size of a plate.
    assert_allclose(ohms(thin), ohms(replace(thin, length=0.0)), rtol=1e-3)


def test_a_deep_layer_does_not_matter_and_a_thin_one_neither():
    plain = ohms(BALL)
    assert_allclose(ohms(BALL, Soil((130.0, 10.0), (400.0,))), plain, rtol=1e-3)
    assert_allclose(ohms(BALL, Soil((10.0, 130.0), (1e-6,))), plain, rtol=1e-3)


@pytest.mark.parametrize("plane", [0.2, 0.3, 0.5])
def test_a_layer_plane_beside_a_half_spheroid_is_between_its_neighbours(plane):
    upper, lower = ohms(BALL, Soil((60.0,))), ohms(BALL, Soil((130.0,)))
    values = [ohms(BALL, Soil((60.0, 130.0), (h,))) for h in (plane, 1.1 * plane)]
    assert upper < values[1] < values[0] < lower


def test_finer_meshes_converge_from_below_with_the_fourth_power():
    exact = 130 / (2 * np.pi * 0.37)
    errors = [1 - ohms(BALL, fineness=f) / exact for f in (0.75, 1.5, 3.0)]
    assert min(errors) > 0  # Galerkin: conductance from above
    rates = np.log2(np.array(errors[:-1]) / errors[1:])
    # Order 4 in energy for quadratic elements; graded lines come in whole numbers.
    assert (rates > 3.3).all(), rates


def test_every_solution_says_how_good_it_is():
    solved = solve_axisymmetric(ROD, soil=SOIL)
    assert solved.residual < 1e-12
    assert solved.balance < 1e-7
    assert 0 < solved.error_estimate < 5e-4
    assert 5_000 < solved.unknowns < 30_000


@pytest.mark.parametrize(
    ("limit", "error", "text"),
    [
        ("residual_limit", ConvergenceError, r"residual .* is above"),
        ("balance_limit", TrustError, "current balance"),
        ("error_limit", TrustError, "error estimate"),
    ],
)
def test_beyond_its_limits_a_result_is_refused(monkeypatch, limit, error, text):
    monkeypatch.setattr(solution, limit, 0.0)
    with pytest.raises(error, match=text):
        solve_axisymmetric(BALL, soil=SOIL)


@pytest.mark.parametrize(
    ("options", "text"),
    [
        ({"fill": Fill(radius=0.3, resistivity=5.0, cover=0.1)}, "does not hold the metal"),
        ({"fill": Fill(radius=0.5, resistivity=5.0)}, "half spheroid .* needs a cover"),
        ({"fill": Fill(radius=9.0, resistivity=5.0, cover=0.01)}, "give it more cover"),
        ({"contact": -1.0}, "contact is -1"),
        ({"contact": np.nan}, "contact is nan"),
        ({"fineness": 0.1}, "from 0.5 to 4"),
        ({"soil": Soil((1.0, 2.0), (0.36,))}, "passes within 5 % of the lowest point"),
    ],
)
def test_what_does_not_fit_is_refused(options, text):
    with pytest.raises(CaseError, match=text):
        solve_axisymmetric(BALL, **({"soil": SOIL} | options))


@pytest.mark.parametrize(
    ("cover", "length", "text"),
    [
        (0.4, 2.0, r"goes on for 0\.4 m above metal that is 0\.4 m deep"),
        (0.0, 0.0, "plate of no thickness needs a cover"),
    ],
)
def test_fill_that_cannot_be_round_a_cylinder_is_refused(cover, length, text):
    metal = Cylinder(radius=0.1, length=length, top_depth=0.4)
    with pytest.raises(CaseError, match=text):
        ohms(metal, fill=Fill(radius=0.3, resistivity=5.0, cover=cover))


def test_potential_goes_on_across_fill_and_layers_and_nowhere_exceeds_the_rise():
    fill = Fill(radius=0.2, resistivity=20.0, cover=0.3)
    solved = solve_axisymmetric(ROD, soil=Soil((60.0, 400.0), (1.3,)), contact=0.4, fill=fill)
    step = 1e-7
    r = np.array([0.05, 0.2, 0.2, 1.0, 5.0])
    depth = np.array([1.3, 0.8, 2.9, 1.3, 1.3])
    before = solved.potential(r - step, depth=depth - step, current=2.0)
    after = solved.potential(r + step, depth=depth + step, current=2.0)
    assert_allclose(before, after, rtol=1e-5)
    film = solved.potential(0.011, depth=[0.6, 1.2, 2.5], current=2.0)
    assert (film < 2.0 * solved.resistance).all()  # the film takes its share
    assert (film[:, None] > before).all()


@pytest.mark.slow
def test_edges_of_fill_and_planes_at_the_metal_stay_in_the_stated_band():
    # Where the field is least smooth: good fill round a plate, a plane through filled metal.
    plate = Cylinder(radius=0.5, length=0.01, top_depth=0.4)
    rod = Cylinder(radius=0.0033, length=2.6, top_depth=0.3)
    for metal, soil, fill in (
        (plate, Soil((850.0, 60.0), (0.75,)), Fill(radius=3.0, resistivity=3.0, cover=0.3)),
        (rod, Soil((97.0, 7.5), (1.2,)), Fill(radius=0.026, resistivity=15.0, cover=0.1)),
    ):
        plain = solve_axisymmetric(metal, soil=soil, fill=fill)
        finer = solve_axisymmetric(metal, soil=soil, fill=fill, fineness=2.0)
        assert_allclose(plain.resistance, finer.resistance, rtol=5e-4)
        change = abs(plain.resistance / finer.resistance - 1)
        assert change < plain.error_estimate + finer.error_estimate


def test_a_film_on_a_buried_plate_of_no_thickness_is_refused():
    with pytest.raises(CaseError, match="give the plate its thickness"):
        ohms(Cylinder(radius=0.5, length=0.0, top_depth=1.0), contact=1.0)


@pytest.mark.parametrize(
    ("kind", "values", "text"),
    [
        (Cylinder, {"radius": 0.0, "length": 1.0}, "Cylinder.radius is 0; it must be positive"),
        (
            Cylinder,
            {"radius": 1.0, "length": -1.0},
            "length is -1; it must be zero or positive",
        ),
        (HalfSpheroid, {"radius": 1.0, "bottom_depth": np.inf}, "bottom_depth is inf"),
        (Fill, {"radius": 1.0, "resistivity": 0.0}, "resistivity is 0"),
    ],
)
def test_sizes_that_cannot_be_are_refused(kind, values, text):
    with pytest.raises(CaseError, match=text):
        kind(**values)


def test_a_folded_triangle_is_refused():
    nodes = np.array([[1.0, 0.0], [2.0, 0.0], [1.0, 1.0], [1.5, 0.0], [1.5, 0.5], [1.0, 0.5]])
    turned = np.array([[0, 2, 1, 5, 4, 3]])
    with pytest.raises(MeshError, match="folded over"):
        assembly.stiffness(nodes, triangles=turned, conductivity=np.ones(1))


def test_graded_lines_hit_every_mark_and_grow_evenly():
    marks = {0.0: 0.5, 0.7: 0.01, 3.1: 0.2, 250.0: np.inf}
    lines = graded_lines(marks, growth=0.3)
    assert set(marks) <= set(lines.tolist())
    steps = np.diff(lines)
    assert (steps > 0).all()
    # Neighbours differ by about the growth, less where counts are rounded up.
    ratio = steps[1:] / steps[:-1]
    assert ratio.max() < 1.5
    assert ratio.min() > 1 / 1.5
    at = np.searchsorted(lines, 0.7)
    assert steps[at] < 0.013
