"""Tips at layer planes and short fat rods, beside the axisymmetric field of true metal."""

from functools import cache

import field_layouts as lay
import numpy as np
import pytest
from measuring import resistance, solved
from numpy.testing import assert_allclose

from ohmscape.solver.axisymmetric import Cylinder, solve_axisymmetric
from ohmscape.solver.field.break_points import flat_ends
from ohmscape.solver.field.clouds import clouds_of
from ohmscape.solver.field.elements import CYLINDER, DISC, line_elements
from ohmscape.solver.field.faces import disc_at, edge_order, mean_inverse_distance, ring_at
from ohmscape.solver.model import Soil
from ohmscape.solver.solved_soil import Field

ONE = np.ones(1)


@cache
def _truth(length, radius, soil):
    metal = Cylinder(radius=radius, length=length)
    return solve_axisymmetric(metal, soil=soil, fineness=1.5)


@pytest.mark.parametrize("offset", [0.0, -0.05, 0.05, 0.0037])
@pytest.mark.parametrize("resistivity", [(370.0, 37.0), (430.0, 4.3), (37.0, 370.0)])
def test_a_tip_near_a_plane_leaks_through_its_end(resistivity, offset):
    soil = Soil(resistivity, (2.3,))
    found = resistance(solved(lay.rod(length=2.3 + offset, radius=0.0079), soil=soil))
    # Outside truth: metal with its faces in the mesh of solver/axisymmetric, good to 0.05 %.
    # As a thin wire it was up to 92 % high in the plane and 4.6 % low just below.
    assert_allclose(found, _truth(2.3 + offset, 0.0079, soil).resistance, rtol=0.003)


@pytest.mark.parametrize("radii", [9.1, 5.3, 3.0])
def test_short_fat_rods_are_right_with_their_surface(radii):
    soil, radius = Soil((130.0,)), 0.047
    rod = solved(lay.rod(length=radii * radius, radius=radius), soil=soil)
    truth = _truth(radii * radius, radius, soil)
    assert_allclose(resistance(rod), truth.resistance, rtol=0.005)
    away = radius * np.array([1.1, 1.7, 2.6, 4.3, 9.0])
    share = Field(rod, np.ones(1)).potential(np.outer(away, [1.0, 0.0, 0.0]))
    assert_allclose(share, truth.potential(away, current=1 / truth.resistance), atol=0.01)


def test_a_disc_of_its_own_density_is_at_its_exact_potential():
    # Charge as 1/√(1 - r²): π/2 over the radius (Kellogg 1929; from memory).
    found = mean_inverse_distance(
        (ONE, ONE), source=(ONE, ONE), radius=0.37 * ONE, target_order=0.5, source_order=0.5
    )
    assert_allclose(found, np.pi / 2 / 0.37, rtol=1e-4)


def test_an_even_disc_is_at_its_mean_potential():
    # 16 / 3π of an even charge (Rayleigh's correction of an open end; from memory).
    found = mean_inverse_distance(
        (ONE, ONE), source=(ONE, ONE), radius=ONE, target_order=1.0, source_order=1.0
    )
    assert_allclose(found, 16 / (3 * np.pi), rtol=1e-4)


def test_points_beside_a_disc_of_its_own_density_have_its_exact_potential():
    # π/2 - atan in oblate coordinates (Kellogg 1929; from memory): arcsin of a over half the
    # sum of the distances to the two ends of a diameter, over a.
    across, height, a = np.array([0.0, 0.3, 0.7, 1.4]), np.array([0.2, 0.11, -0.4, 0.01]), 0.53
    longest = np.hypot(across + a, height) + np.hypot(across - a, height)
    found = disc_at(across, height=height, radius=np.full(4, a), order=0.5)
    assert_allclose(found, np.arcsin(2 * a / longest) / a, rtol=1e-4)


def test_on_the_axis_discs_and_rings_have_closed_forms():
    z, a = np.array([0.07, -0.5, 2.0]), np.full(3, 0.9)
    even = disc_at(0 * z, height=z, radius=a, order=1.0)
    assert_allclose(even, 2 / a**2 * (np.hypot(a, z) - np.abs(z)), rtol=1e-3)
    tube = ring_at(0 * z, height=z, span=(-a, 0 * a), radius=a)
    assert_allclose(tube, (np.arcsinh(z / a + 1) - np.arcsinh(z / a)) / a, rtol=1e-9)


def test_far_apart_faces_are_points():
    for orders in ((None, None), (None, 0.6), (0.6, None), (0.6, 0.9)):
        found = mean_inverse_distance(
            (0.0 * ONE, 0.1 * ONE),
            source=(40.0 * ONE, 40.1 * ONE),
            radius=ONE,
            target_order=orders[0],
            source_order=orders[1],
        )
        assert_allclose(found, 1 / 40.0, rtol=3e-3)


def test_the_edge_knows_both_soils():
    assert_allclose(edge_order(ahead=ONE, beside=ONE), 2 / 3)
    assert_allclose(edge_order(ahead=1e6 * ONE, beside=ONE), 0.5, atol=1e-5)
    assert_allclose(edge_order(ahead=1e-9 * ONE, beside=ONE), 1.0, atol=1e-4)


def test_a_flat_end_in_a_plane_is_in_the_soil_below():
    for offset, layer in ((0.0, 1), (-0.001, 0), (0.001, 1)):
        elements = line_elements(
            lay.rod(length=2.3 + offset, radius=0.0079),
            soil=Soil((370.0, 37.0), (2.3,)),
            element_size=np.array([0.2]),
            spread=np.array([0.2]),
        )
        assert elements.layer[elements.face == DISC].tolist() == [layer]


def test_the_mesh_feels_the_current_of_a_flat_end_where_the_end_is():
    # Half a radius beyond it, soil above buried fat rods was 0.1 % of the rise too high.
    elements = line_elements(
        lay.rods([0.0, 0.0], length=1.3, radius=0.046, top=0.3),
        soil=Soil((130.0,)),
        element_size=np.array([0.11]),
        spread=np.array([0.22]),
    )
    clouds = clouds_of(elements)
    flat = elements.face != CYLINDER
    height = (clouds.shares @ clouds.place)[flat, 2]
    assert_allclose(height, elements.start[flat, 2], atol=0.02 * 0.046)
    # What a film on it is in series with goes by its area.
    assert_allclose(elements.length[flat] * 2 * np.pi * 0.046, np.pi * 0.046**2)


def test_a_flat_end_leaks_with_the_length_of_metal_it_ends():
    one = solved(
        lay.rods([0.0, 0.0], length=1.9, radius=0.0079, top=0.003), soil=Soil((130.0,))
    )
    flat = one.sources.face != CYLINDER
    assert flat.sum() == 4
    assert one.source_current[0, flat].all()
    assert_allclose(one.elements.length.sum(), 1.9)
    assert_allclose(one.elements.start[1:], one.elements.end[:-1])
    assert_allclose(one.elements.length[[0, -1]], 2 * 0.0079, rtol=0.5)
    assert_allclose(one.current.sum(), one.source_current.sum())
    last = one.sources.middle[:, 2] < one.elements.start[-1, 2]
    assert flat[last].sum() == 2
    assert_allclose(one.current[0, -1], one.source_current[0, last].sum())


@pytest.mark.parametrize(("depth", "flat"), [(0.0, False), (5e-10, False), (2e-9, True)])
def test_a_head_flush_but_for_round_off_has_no_flat_end_in_the_soil(depth, flat):
    head, tip = flat_ends(lay.rods([0.0, 0.0], length=1.9, radius=0.0079, top=depth))
    assert (bool(head[0]), bool(tip[0])) == (flat, True)
