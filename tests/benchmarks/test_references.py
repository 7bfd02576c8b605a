"""References of the coverage benchmark against closed forms, and values made by others."""

import numpy as np
import pytest
from scipy.special import ellipk

from benchmarks.coverage.filled_rod import RodInFill, solve_filled_rod
from benchmarks.coverage.layered_ground import LayeredGround
from benchmarks.coverage.tubes import solve_tubes
from ohmscape.solver.axisymmetric import Cylinder, Fill, solve_axisymmetric
from ohmscape.solver.model import Conductors, Soil


def potential(ground, r, *, source, field):
    """Potential of a point source of 1 A. [V]"""
    i, j = int(ground.layer_at(source)), int(ground.layer_at(field))
    near = sum(
        share / np.hypot(r, field - (sign * source + offset))
        for share, sign, offset in ground.images(i, j)
    )
    rest = ground.rest(np.array(r), source=np.array(source), field=np.array(field), i=i, j=j)
    return ground.resistivity[i] / (4 * np.pi) * (near + float(rest))


@pytest.mark.parametrize(("r", "source", "field"), [(0.3, 0.2, 0.1), (20.0, 0.69, 0.65)])
def test_point_source_in_two_layers_is_the_series_of_images(r, source, field):
    top, below, thick = 100.0, 1000.0, 0.7
    ratio = (below - top) / (below + top)
    n = np.arange(-300, 301)
    series = ratio ** np.abs(n) * (
        1 / np.hypot(r, field - source + 2 * n * thick)
        + 1 / np.hypot(r, field + source + 2 * n * thick)
    )
    ground = LayeredGround((top, below), (thick,), reach=25.0, depth=2.0)
    # 0.818^300 and the lattice of the integrals leave less.
    assert potential(ground, r, source=source, field=field) == pytest.approx(
        top / (4 * np.pi) * series.sum(), rel=1e-7
    )


@pytest.mark.parametrize(("source", "field"), [(0.2, 1.1), (1.1, 0.2), (2.4, 0.1), (2.0, 2.1)])
def test_planes_between_like_layers_change_nothing(source, field):
    whole = LayeredGround((100.0, 1000.0), (0.7,), reach=25.0, depth=4.0)
    parted = LayeredGround(
        (100.0, 100.0, 1000.0, 1000.0), (0.4, 0.3, 0.9), reach=25.0, depth=4.0
    )
    here, there = (potential(each, 0.5, source=source, field=field) for each in (whole, parted))
    assert here == pytest.approx(there, rel=1e-6)


def ohms(conductors, *, resistivity, thickness=(), fineness=1.6):
    field = solve_tubes(
        conductors, resistivity=resistivity, thickness=thickness, fineness=fineness, reach=20.0
    )
    return 1 / field.current_matrix.sum()


def test_driven_rod_is_that_of_a_boundary_integral():
    rod = Conductors.bare([0.0, 0.0, 0.0], end=[0.0, 0.0, -2.4384], radius=0.0079375)
    # 39.518 Ω: computed independently, boundary integral of the true surface, to its digits.
    assert ohms(rod, resistivity=(100.0,)) == pytest.approx(39.518, abs=1e-3)


def test_polygon_tends_to_the_ring_of_its_perimeter():
    radius, wire, depth, resistivity = 1.5, 0.0045, 0.6, 100.0
    angle = 2 * np.pi * np.arange(73) / 72
    corner = radius * np.pi / (72 * np.sin(np.pi / 72))
    points = np.column_stack(
        [corner * np.cos(angle), corner * np.sin(angle), np.full(73, -depth)]
    )
    ring = Conductors.bare(points[:-1], end=points[1:], radius=wire)
    square = 4 * radius**2 / (4 * radius**2 + 4 * depth**2)
    image = 2 / np.pi * ellipk(square) / (2 * np.hypot(radius, depth))
    closed = resistivity / (4 * np.pi) * (np.log(8 * radius / wire) / (np.pi * radius) + image)
    # Of a polygon of 36, 72 and 144 sides 0.057 %, 0.015 % and 0.011 % are left.
    assert ohms(ring, resistivity=(resistivity,), fineness=1.0) == pytest.approx(
        closed, rel=3e-4
    )


@pytest.mark.parametrize("plane", [2.4, 2.35, 2.43])
def test_tip_at_a_plane_is_that_of_the_axisymmetric_field(plane):
    rod = Conductors.bare([0.0, 0.0, 0.0], end=[0.0, 0.0, -2.4], radius=0.008)
    soil = Soil((400.0, 40.0), (plane,))
    other = solve_axisymmetric(Cylinder(radius=0.008, length=2.4, top_depth=0.0), soil=soil)
    here = ohms(rod, resistivity=soil.resistivity, thickness=soil.thickness)
    # 0.02 % with the tip in the plane, where panels at the rim settle slowly.
    assert here == pytest.approx(other.resistance, rel=4e-4)


@pytest.mark.parametrize(
    ("resistivity", "cover", "film", "top"),
    [
        (2.0, 0.1, 0.0, 0.0),
        (2.0, 0.0, 0.0, 0.0),
        (200.0, 0.067, 0.0, 0.4),
        (5.0, 0.1, 0.2, 0.5),
    ],
)
def test_rod_in_fill_is_that_of_the_axisymmetric_field(resistivity, cover, film, top):
    rod = RodInFill(0.008, top, top + 2.0, 0.08, resistivity, cover=cover, film=film)
    soil = Soil((100.0, 30.0), (4.0,))
    here = solve_filled_rod(
        rod, resistivity=soil.resistivity, thickness=soil.thickness, fineness=1.6, reach=20.0
    )
    metal = Cylinder(radius=0.008, length=2.0, top_depth=top)
    fill = Fill(radius=0.08, resistivity=resistivity, cover=cover)
    other = solve_axisymmetric(metal, soil=soil, contact=film, fill=fill)
    # 0.01 % at this fineness with good fill, 0.005 % with poor.
    assert here.resistance == pytest.approx(other.resistance, rel=4e-4)
    for place in (0.3, 2.0):
        share = float(here.surface_share([place])[0])
        assert share == pytest.approx(
            float(other.potential(place, current=1 / other.resistance)), abs=3e-4
        )


def test_fill_of_the_soil_itself_is_no_fill():
    rod = RodInFill(0.008, 0.0, 2.4, 0.08, 100.0, cover=0.1)
    filled = solve_filled_rod(rod, resistivity=(100.0,), thickness=(), fineness=1.6, reach=20.0)
    bare = Conductors.bare([0.0, 0.0, 0.0], end=[0.0, 0.0, -2.4], radius=0.008)
    assert filled.resistance == pytest.approx(ohms(bare, resistivity=(100.0,)), rel=2e-4)


def test_film_on_a_ring_adds_its_own_resistance():
    angle = 2 * np.pi * np.arange(37) / 36
    points = np.column_stack([np.cos(angle), np.sin(angle), np.full(37, -0.5)])
    bare = Conductors.bare(points[:-1], end=points[1:], radius=0.005)
    filmed = Conductors(**(vars(bare) | {"contact": np.full(36, 0.3)}))
    face = 2 * np.pi * 0.005 * bare.length.sum()
    added = ohms(filmed, resistivity=(50.0,)) - ohms(bare, resistivity=(50.0,))
    # A ring leaks evenly but for its corners.
    assert added == pytest.approx(0.3 / face, rel=1e-3)
