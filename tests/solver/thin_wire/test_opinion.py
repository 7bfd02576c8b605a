"""What must be true of the second opinion: symmetry, limits, films, drives, refusals."""

from dataclasses import replace

import field_layouts as lay
import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.errors import BudgetError, CaseError, TrustError
from ohmscape.solver.model import Conductors, Soil
from ohmscape.solver.thin_wire import second_opinion

THREE = Soil((300.0, 40.0, 900.0), (0.8, 2.4))


def site():
    """Three groups without symmetry, in all of three layers."""
    return lay.in_groups(
        lay.rod(length=5.0, radius=0.008),
        lay.moved(lay.ring(diameter=4.0, radius=0.005, depth=0.6, sides=12), shift=(6.0, 1.0)),
        lay.moved(lay.wire(length=9.0, radius=0.004, depth=1.1), turn=0.4, shift=(-3.0, 2.5)),
    )


@pytest.fixture(scope="module")
def opinion():
    return second_opinion(site(), soil=THREE)


def test_reciprocity_and_positive_power(opinion):
    matrix = opinion.current_matrix
    # The matrix is filled symmetric: only round-off is left.
    assert_allclose(matrix, matrix.T, rtol=1e-9)
    assert (np.linalg.eigvalsh(matrix) > 0).all()
    # Metal without current is dragged up by its neighbours, but never above them.
    resistance = opinion.resistance
    assert (resistance > 0).all()
    assert (resistance.max(axis=0) == resistance.diagonal()).all()


def test_bonding_groups_is_the_same_as_one_group(opinion):
    bonded = second_opinion(lay.together(site()), soil=THREE)
    # The same wires, so the same matrix.
    assert_allclose(bonded.current_matrix[0, 0], opinion.current_matrix.sum(), rtol=1e-9)


def test_place_direction_and_order_do_not_matter(opinion):
    moved = lay.moved(site(), turn=0.7, shift=(120.0, -31.0))
    order = np.random.default_rng(3).permutation(len(moved.radius))
    turned = replace(
        moved,
        start=moved.end[order],
        end=moved.start[order],
        radius=moved.radius[order],
        sheath_radius=moved.sheath_radius[order],
        sheath_resistivity=moved.sheath_resistivity[order],
        sheath_cover=moved.sheath_cover[order],
        contact=moved.contact[order],
        group=moved.group[order],
        part=moved.part[order],
    )
    found = second_opinion(turned, soil=THREE)
    # Which of two wires is integrated numerically depends on their order.
    assert_allclose(found.current_matrix, opinion.current_matrix, rtol=5e-4)


def test_scale(opinion):
    larger = Soil(
        tuple(3 * r for r in THREE.resistivity), tuple(2 * t for t in THREE.thickness)
    )
    found = second_opinion(lay.moved(site(), scale=2.0), soil=larger)
    # Three times the resistivity over twice the size.
    assert_allclose(found.resistance, opinion.resistance * 1.5, rtol=1e-6)


def test_planes_that_separate_nothing_change_nothing():
    split = Soil((300.0, 300.0, 40.0, 40.0), (0.7, 1.3, 2.5))
    plain = Soil((300.0, 40.0), (2.0,))
    found, expected = (second_opinion(site(), soil=s).resistance for s in (split, plain))
    # The rod is cut at other places: what cutting costs.
    assert_allclose(found, expected, rtol=1e-3)


def test_a_film_on_a_ring_adds_its_resistance_over_the_face():
    ring = lay.ring(diameter=4.0, radius=0.005, depth=0.6)
    filmed = replace(ring, contact=np.full(len(ring.radius), 0.9))
    bare, dressed = (second_opinion(m, soil=THREE).resistance[0, 0] for m in (ring, filmed))
    # A ring leaks evenly, but for corners and unequal wires: a thousandth.
    film = 0.9 / (2 * np.pi * 0.005 * ring.length.sum())
    assert_allclose(dressed - bare, film, rtol=1e-3)


def test_leakage_adds_up_to_the_current_of_each_group(opinion):
    voltage = np.array([500.0, -20.0, 130.0])
    conductors = opinion.conductors
    current = opinion.leakage(voltage) * conductors.length
    total = np.bincount(conductors.group, weights=current)
    assert_allclose(total, opinion.current_matrix @ voltage, rtol=1e-12)


def test_far_away_the_soil_sees_one_current_in_the_lowest_layer(opinion):
    voltage = np.array([500.0, -20.0, 130.0])
    total = (opinion.current_matrix @ voltage).sum()
    found = opinion.potential(np.array([[2e5, 0.0, 0.0]]), voltage=voltage)
    # Falls off with thickness × contrast, 100 m, over the distance, squared.
    assert_allclose(found, 900.0 * total / (2 * np.pi * 2e5), rtol=1e-3)


def test_potential_of_metal_faces_and_continuity(opinion):
    voltage = np.array([500.0, -20.0, 130.0])
    inside = opinion.potential(np.array([[0.0, 0.0, -2.0], [0.004, 0.0, 0.0]]), voltage=voltage)
    assert (inside == 500.0).all()
    # Half-way along the rod's face: the mean of each wire's face is its voltage, so there it
    # is so within what changes along a wire.
    face = opinion.potential(np.array([[0.00801, 0.0, -2.0]]), voltage=voltage)
    assert_allclose(face, 500.0, rtol=0.01)
    planes = np.repeat(THREE.interface_depth, 2) + np.tile([-1e-7, 1e-7], 2)
    points = np.column_stack([np.full(4, 0.9), np.full(4, 0.3), -planes])
    above, below = opinion.potential(points, voltage=voltage).reshape(2, 2).T
    # Images fitted to 1e-5 of 300 Ω·m, next to 40 Ω·m.
    assert_allclose(above, below, rtol=3e-4)


def test_surface_points_are_as_points_just_below(opinion):
    voltage = np.array([500.0, -20.0, 130.0])
    plan = np.array([[0.5, 0.2], [6.0, 1.0], [-4.0, -9.0]])
    top, below = (
        opinion.potential(np.column_stack([plan, np.full(3, z)]), voltage=voltage)
        for z in (0.0, -1e-7)
    )
    assert_allclose(top, below, rtol=1e-5)


def test_out_of_phase_voltages_superpose(opinion):
    points = np.array([[1.0, 0.5, 0.0], [4.0, 2.0, -1.5]])
    real, imaginary = np.array([500.0, -20.0, 130.0]), np.array([0.0, 90.0, 15.0])
    found = opinion.potential(points, voltage=real + 1j * imaginary)
    parts = [opinion.potential(points, voltage=v) for v in (real, imaginary)]
    assert_allclose(found, parts[0] + 1j * parts[1], rtol=1e-12)


def test_crossing_wires_need_not_be_cut_where_they_cross():
    cross = Conductors.bare(
        [[-5, 0, -0.6], [0, -5, -0.6]], end=[[5, 0, -0.6], [0, 5, -0.6]], radius=0.005
    )
    cut = lay.star(arms=4, arm=5.0, radius=0.005, depth=0.6)
    soil = Soil((100.0,))
    found, expected = (second_opinion(m, soil=soil).resistance[0, 0] for m in (cross, cut))
    # Cutting puts short wires where the leakage dips.
    assert_allclose(found, expected, rtol=3e-3)


@pytest.mark.parametrize(
    "metal",
    [
        lay.rod(length=3.0, radius=0.008),
        lay.star(arms=4, arm=5.0, radius=0.005, depth=0.6),
        lay.grid(sides=(21.0, 21.0), lines=(4, 4), radius=0.005, depth=0.5),
    ],
    ids=["rod", "star", "grid"],
)
def test_more_wires_lower_the_resistance_and_the_change(metal):
    # Galerkin's method for a positive kernel; the wires of each are not halves of those of
    # the one before, but close enough.
    total = metal.length.sum()
    found = [second_opinion(metal, soil=THREE, longest=total / n) for n in (1, 100, 400)]
    resistance = [opinion.resistance[0, 0] for opinion in found]
    assert resistance[0] >= resistance[1] >= resistance[2]
    assert found[2].change <= found[0].change
    assert resistance[0] / resistance[2] - 1 < 2.0 * found[0].change


@pytest.mark.parametrize("longest", [0.0, -1.0, float("nan")])
def test_a_length_that_is_none_is_refused(longest):
    with pytest.raises(CaseError, match="give a length above zero"):
        second_opinion(site(), soil=THREE, longest=longest)


def test_too_many_wires_are_refused_before_memory_is_spent():
    with pytest.raises(BudgetError, match="its matrix takes at most 6,000"):
        second_opinion(
            lay.grid(sides=(70.0, 70.0), lines=(60, 60), radius=0.005, depth=0.5), soil=THREE
        )


def test_pieces_in_one_place_are_refused():
    twice = lay.together(site(), site())
    with pytest.raises(TrustError, match="lie within a radius of each other"):
        second_opinion(twice, soil=THREE)


def test_a_point_in_the_air_is_refused(opinion):
    with pytest.raises(CaseError, match="above the surface"):
        opinion.potential(np.array([[0.0, 1.0, 0.5]]), voltage=np.zeros(3))
