"""The error indicator, and the sizes that follow from it."""

from dataclasses import replace

import field_layouts as lay
import numpy as np
import pytest
from measuring import solved
from numpy.testing import assert_allclose

from ohmscape.solver.field.indicator import (
    energy_errors,
    order_of_error,
    potential_errors,
    size_ratios,
)
from ohmscape.solver.model import Soil
from ohmscape.solver.thin_wire import second_opinion

ONE = np.ones(1)


@pytest.fixture(scope="module")
def rod():
    return solved(lay.rod(length=3.0, radius=0.008), soil=Soil((100.0,)))


def _places(solution):
    """Where each unknown of the quadratic elements is."""
    space, points = solution.space, solution.mesh.points
    middle = points[space.topology.edges].mean(axis=0)
    places = np.empty((space.size, 3))
    places[space.unknowns.nodal_dofs[0]] = points
    places[space.unknowns.edge_dofs[0]] = middle
    return places


def test_a_field_along_the_layers_has_no_error():
    solution = solved(lay.rod(length=3.0, radius=0.008), soil=Soil((100.0, 5.0), (1.2,)))
    along = _places(solution) @ [0.7, -0.4, 0.0]
    errors = energy_errors(replace(solution, unknowns=along[None]), voltage=ONE)
    power = np.sum(solution.space.volume_factor) * 0.2 * 0.65 / 6
    assert 0 <= errors.min() <= errors.max() < 1e-20 * power


def test_a_complex_field_has_the_errors_of_its_parts(rod):
    real = energy_errors(rod, voltage=ONE)
    assert_allclose(energy_errors(rod, voltage=(0.6 + 0.8j) * ONE), real, rtol=1e-9)


def test_most_of_the_error_of_narrow_clouds_is_near_the_metal():
    # Of clouds two elements wide, as small meshes have them, it is not.
    conductors, soil = lay.rod(length=3.0, radius=0.008), Soil((100.0,))
    rod = solved(conductors, soil=soil, spread=0.3)
    errors = energy_errors(rod, voltage=ONE)
    away = np.hypot(*rod.space.centroids[:, :2].T)
    near = (away < 1.5) & (rod.space.centroids[:, 2] > -4.5)
    assert near.mean() < 0.35
    assert errors[near].sum() > 0.6 * errors.sum()


def test_the_sum_falls_with_the_size_and_is_above_the_true_error():
    # Clouds as wide in both meshes: the same problem, so that its error goes with the mesh.
    soil, conductors = Soil((100.0,)), lay.rod(length=3.0, radius=0.008)
    ohms = 1 / second_opinion(conductors, soil=soil).current_matrix[0, 0]
    sums, misses = [], []
    for fineness in (1.0, 2.0):
        found = solved(conductors, soil=soil, fineness=fineness, spread=0.3)
        sums.append(energy_errors(found, voltage=ONE).sum() * ohms)
        misses.append(abs(1 / found.current_matrix[0, 0] / ohms - 1))
    assert sums[1] < 0.3 * sums[0]
    assert sums[0] > misses[0]


def test_a_potential_depends_most_on_elements_near_its_place(rod):
    errors = energy_errors(rod, voltage=ONE)
    place = np.array([[2.0, 0.0]])
    shares = potential_errors(rod, errors=errors, places=place)
    gap = np.linalg.norm(rod.space.centroids - [2.0, 0.0, 0.0], axis=1)
    assert shares.min() >= 0
    energy = errors[gap < 1.0].sum() / errors.sum()
    assert shares[gap < 1.0].sum() / shares.sum() > 2 * energy


def test_an_error_that_is_even_shrinks_all_elements_alike(rod):
    even = np.ones(len(rod.mesh.tetrahedra))
    ratios = size_ratios([even], excess=[5.0], solution=rod)
    assert_allclose(ratios, 5.0 ** (-1 / order_of_error), rtol=1e-9)


def test_sizes_meet_the_target_and_never_grow(rod):
    shares = energy_errors(rod, voltage=ONE)
    ratios = size_ratios([shares], excess=[4.0], solution=rod)
    assert ratios.max() <= 1.0
    left = 4.0 * np.average(ratios**order_of_error, weights=shares)
    # The error is smoothed over neighbours first, so that this holds about.
    assert left == pytest.approx(1.0, abs=0.15)
    even = 4.0 ** (-1 / order_of_error)
    assert (ratios**-3).mean() < 0.75 * even**-3


def test_an_error_within_its_tolerance_asks_for_nothing(rod):
    shares = energy_errors(rod, voltage=ONE)
    assert size_ratios([shares], excess=[0.9], solution=rod).min() == pytest.approx(1.0)


def test_each_of_several_errors_is_seen_to(rod):
    shares = energy_errors(rod, voltage=ONE)
    spot = potential_errors(rod, errors=shares, places=np.array([[3.0, 0.0]]))
    both = size_ratios([shares, spot], excess=[0.5, 4.0], solution=rod)
    alone = size_ratios([shares], excess=[0.5], solution=rod)
    near = np.linalg.norm(rod.space.centroids - [3.0, 0.0, 0.0], axis=1) < 1.0
    assert near.any()
    assert both[near].max() < 0.9 < alone[near].min()
