"""Shares of soil layers in a resistance: sums, closed forms, and the soil itself changed."""

from dataclasses import replace

import field_layouts as lay
import numpy as np
import pytest
from measuring import solved
from numpy.testing import assert_allclose

from ohmscape.solver.errors import TrustError
from ohmscape.solver.field import sensitivity
from ohmscape.solver.field.sensitivity import soil_shares
from ohmscape.solver.field.solution import solve
from ohmscape.solver.model import Soil

ONE = np.array([0])


def resistance(solution):
    return 1.0 / solution.current_matrix.sum()


def by_solving_again(solution, *, layer, by=0.02):
    """d ln R / d ln ρ from two more solves on the same mesh."""
    found = []
    for step in (by, -by):
        values = list(solution.soil.resistivity)
        values[layer] *= np.exp(step)
        soil = replace(solution.soil, resistivity=tuple(values))
        again = solve(
            solution.mesh, soil=soil, conductors=solution.conductors, order=solution.order
        )
        found.append(np.log(resistance(again)))
    return (found[0] - found[1]) / (2 * by)


@pytest.fixture(scope="module")
def through_planes():
    """A rod through two planes."""
    soil = Soil((100.0, 400.0, 50.0), (1.2, 3.0))
    return solved(lay.rod(length=3.0, radius=0.008), soil=soil)


def test_all_of_a_resistance_in_uniform_soil_is_that_of_the_soil(rod_solution):
    shares = soil_shares(rod_solution, electrode_set=ONE)
    assert_allclose(shares.layers, [[1.0]], atol=1e-9)
    assert_allclose(shares.coverings, [0.0], atol=1e-12)


def test_shares_add_up_to_the_resistance(through_planes):
    shares = soil_shares(through_planes, electrode_set=ONE)
    assert_allclose(shares.layers.sum(), 1.0, atol=1e-4)
    assert shares.miss == pytest.approx(abs(shares.layers.sum() - 1.0), abs=1e-12)


@pytest.mark.parametrize("layer", [0, 1, 2])
def test_a_share_is_what_the_resistance_does_when_the_layer_changes(through_planes, layer):
    shares = soil_shares(through_planes, electrode_set=ONE)
    again = by_solving_again(through_planes, layer=layer)
    # What is left is the second order of the steps of either.
    assert_allclose(shares.layers[0, layer], again, atol=1e-4)


def test_layers_of_one_resistivity_share_a_ball_as_spheres_do():
    """In uniform soil the share of a layer far below is that of a point source's field.

    Below a depth h much larger than the metal flows (half-space, source at the surface)
    ∫ ρ J² dV = ρ I² / (4 π² ) ∫ r⁻⁴ dV = ρ I² / (4 π h): of R, ρ / (4 π h R). From
    J = I / 2πr² (Sunde 1949, ch. 3; from memory), the integral by hand.
    """
    depth, soil = 25.0, Soil((100.0, 100.0), (25.0,))
    found = solved(lay.rod(length=1.0, radius=0.008), soil=soil)
    shares = soil_shares(found, electrode_set=ONE)
    # The source is 0.5 m deep, with its image as high: (depth / h)² below 1e-3.
    below = 100.0 / (4 * np.pi * depth * resistance(found))
    assert_allclose(shares.layers[0, 1], below, rtol=0.01)


def test_thin_top_soil_over_a_buried_rod_has_next_to_no_share():
    soil = Soil((1000.0, 100.0), (0.05,))
    found = solved(lay.rods([0.0, 0.0], length=3.0, radius=0.008, top=2.0), soil=soil)
    assert 0 < soil_shares(found, electrode_set=ONE).layers[0, 0] < 0.01


def test_fill_has_the_share_of_a_cylinder_of_it():
    """ρ_f ln(b/a) / 2πl of a rod that leaks evenly (any handbook), and a little more.

    Towards the tip it leaks more, and ∫ i² over the length is least where i is even.
    """
    length, radius, outer, fill = 12.0, 0.008, 0.05, 20.0
    metal = lay.encased_rod(
        length=length, radius=radius, shell_radius=outer, shell_resistivity=fill
    )
    found = solved(metal, soil=Soil((100.0,)))
    of_fill = fill * np.log(outer / radius) / (2 * np.pi * length) / resistance(found)
    shares = soil_shares(found, electrode_set=ONE)
    assert of_fill < shares.coverings[0] < 1.04 * of_fill
    assert_allclose(shares.layers.sum() + shares.coverings[0], 1.0, atol=1e-4)


def test_contact_in_series_takes_its_share(through_planes):
    alone = soil_shares(through_planes, electrode_set=ONE)
    ohms = resistance(through_planes)
    behind = soil_shares(through_planes, electrode_set=ONE, contact_resistance=(ohms,))
    assert_allclose(behind.layers, 0.5 * alone.layers, rtol=1e-9)
    assert_allclose(behind.coverings, [0.5], rtol=1e-9)


def test_bonded_electrodes_have_the_shares_of_one():
    rods = [lay.rods([x, 0.0], length=2.0, radius=0.008) for x in (0.0, 3.0)]
    soil = Soil((100.0, 300.0), (1.0,))
    one = solved(lay.together(*rods), soil=soil)
    two = solve(one.mesh, soil=soil, conductors=lay.in_groups(*rods), order=one.order)
    whole = soil_shares(one, electrode_set=ONE)
    bonded = soil_shares(two, electrode_set=np.array([0, 0]))
    apart = soil_shares(two, electrode_set=np.array([0, 1]))
    assert_allclose(bonded.layers, whole.layers, rtol=1e-6)
    # Apart, each is as one rod alone, but for the neighbour that carries no net current.
    alone = soil_shares(solved(rods[0], soil=soil), electrode_set=ONE)
    assert_allclose(apart.layers, np.tile(alone.layers, (2, 1)), atol=2e-3)
    assert np.abs(apart.layers - whole.layers).min() > 5e-3


def test_shares_that_do_not_add_up_are_refused(through_planes, monkeypatch):
    of_layer = sensitivity._of_layer
    monkeypatch.setattr(sensitivity, "_of_layer", lambda *a, **k: 1.01 * of_layer(*a, **k))
    with pytest.raises(TrustError, match="add up"):
        soil_shares(through_planes, electrode_set=ONE)
