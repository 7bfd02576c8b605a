"""Metal with impedance behind contacts, in beds, beside and in bodies: limits and images."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.bodies import Body, HalfSpace, Prism
from ohmscape.solver.contact import behind_contact
from ohmscape.solver.errors import TrustError
from ohmscape.solver.field.along_metal import solve_along
from ohmscape.solver.field.driven import Driven
from ohmscape.solver.field.solution import solve
from ohmscape.solver.metal.contacts import in_series
from ohmscape.solver.metal.internal import Bar
from ohmscape.solver.metal.network import network_of
from ohmscape.solver.metal.places import Feed
from ohmscape.solver.metal.wiring import Port, Wiring
from ohmscape.solver.model import Conductors, Soil
from ohmscape.solver.thin_wire import wired_opinion
from ohmscape.solver.thin_wire.images import LayeredImages
from ohmscape.solver.thin_wire.matrices import wire_matrix
from ohmscape.solver.thin_wire.wires import cut_into_wires

from ..metal.whole_networks import COPPER, STEEL, metal_of, wire
from .along_metal_cases import bars_of, mesh_of, polar, solved

IDEAL = metal_of(1e-16, 1.0)


def both(conductors, soil, *, material, frequency, feeds, fineness=0.8, **wiring):
    """By finite elements and by thin wires."""
    ports = tuple(Port(f"port {k}", feed) for k, feed in enumerate(feeds))
    given = Wiring(bars_of(material, conductors), float(frequency), ports, **wiring)
    mesh = mesh_of(conductors, soil, fineness=fineness)
    found = solve_along(mesh, soil=soil, conductors=conductors, wiring=given)
    return found, wired_opinion(conductors, soil=soil, wiring=given)


def test_ideal_metal_behind_contacts_is_that_at_one_potential():
    start = [[0, 0, -0.8], [0, 12, -0.8]]
    end = [[40, 0, -0.8], [25, 12, -0.8]]
    conductors = Conductors.bare(start, end=end, radius=0.005, group=[0, 1])
    soil, contact = Soil((80.0, 20.0), (2.0,)), (1.7, 0.6)
    feeds = [Feed(0, 0.0), Feed(1, 25.0)]
    even = solve(mesh_of(conductors, soil), soil=soil, conductors=conductors)
    expected = np.linalg.inv(behind_contact(even, contact).current_matrix)
    for found in both(
        conductors, soil, material=IDEAL, frequency=0, feeds=feeds, contact=contact
    ):
        # Thin wires are another method: 0.3 %.
        loose = 1e-3 if hasattr(found, "checks") else 4e-3
        assert_allclose(found.port_matrix, expected, rtol=loose)


def test_a_contact_acts_where_the_current_leaves():
    # 600 m of steel: as one resistance it would add 3 Ω to the impedance of the fed end. Most
    # of the current leaves near that, through that part of the contact.
    given = {"material": STEEL, "frequency": 50, "feeds": [Feed(0, 0.0), Feed(0, 600.0)]}
    conductors, soil = wire(600, diameter=0.01), Soil((20.0,))
    bare = solved(conductors, soil, **given).port_matrix
    fine, thin = both(conductors, soil, contact=(3.0,), **given)
    assert_allclose(thin.port_matrix, fine.port_matrix, rtol=5e-3)
    more = fine.port_matrix[0, 0] - bare[0, 0]
    assert more.real > 0.5
    # Current reaches farther behind it.
    assert abs(fine.port_matrix[1, 0]) > 2 * abs(bare[1, 0])
    assert fine.checks.power < 1e-8


def test_metal_that_draws_current_has_no_share_of_a_contact():
    with pytest.raises(TrustError, match="give its parts a film"):
        in_series(2.0, share=np.array([1.1, -0.1]))
    assert_allclose(1 / (1 / in_series(2.0, share=np.array([0.3, 0.7]))).sum(), 2.0)


BEDDED = Soil((50.0,), vertical_resistivity=(200.0,))


def test_ideal_metal_in_beds_is_that_at_one_potential():
    start = [[0, 0, -0.8], [0, 0, -0.8]]
    end = [[60, 0, -0.8], [0, 0, -4.0]]
    conductors = Conductors.bare(start, end=end, radius=0.008)
    soil = Soil((50.0, 15.0), (2.0,), vertical_resistivity=(200.0, 30.0))
    even = solve(mesh_of(conductors, soil), soil=soil, conductors=conductors)
    given = {"material": IDEAL, "frequency": 0, "feeds": [Feed(0, 60.0)]}
    found = solved(conductors, soil, **given)
    resistance = 1 / even.current_matrix[0, 0]
    assert found.port_matrix[0, 0] == pytest.approx(resistance, rel=1e-3)
    points = np.array([[30.0, 1.0, 0.0], [10.0, -4.0, -3.0], [-2.0, 0.5, 0.0]])
    assert_allclose(
        Driven(found, np.ones(1)).potential(points),
        even.potential(points, voltage=np.array([resistance])),
        rtol=2e-3,
    )


def test_a_wire_in_beds_is_one_in_even_soil_deeper_and_thicker():
    # Direct current: Maillet (1947; from memory). Depth λ d, radius (1 + λ)/2 a, √(ρ_h ρ_v).
    feeds = [Feed(0, 0.0), Feed(0, 400.0)]
    bedded = solved(wire(400, diameter=0.01), BEDDED, material=STEEL, frequency=0, feeds=feeds)
    twin = wire(400, diameter=0.015, depth=1.6)
    bar = Bar(STEEL, 200.0, area=np.pi * 0.005**2)
    even = solve_along(
        mesh_of(twin, Soil((100.0,))),
        soil=Soil((100.0,)),
        conductors=twin,
        wiring=Wiring((bar,), 0.0, tuple(Port(str(k), feed) for k, feed in enumerate(feeds))),
    )
    assert_allclose(bedded.port_matrix, even.port_matrix, rtol=1e-3)
    assert bedded.port_matrix[0, 0] > 1.05 * bedded.port_matrix[1, 0]


def test_alternating_current_in_beds_agrees_with_thin_wires():
    start = [[0, 0, -0.8], [0, 0, -0.8], [300, 0, -0.8]]
    end = [[300, 0, -0.8], [0, 0, -3.5], [300, 0, -5.0]]
    conductors = Conductors.bare(start, end=end, radius=0.006)
    soil = Soil((60.0, 20.0), (2.0,), vertical_resistivity=(180.0, 20.0))
    feeds = [Feed(0, 0.0), Feed(0, 300.0)]
    fine, thin = both(conductors, soil, material=STEEL, frequency=50, feeds=feeds)
    assert_allclose(thin.port_matrix, fine.port_matrix, rtol=5e-3)
    points = np.array([[-1.0, 0.0, 0.0], [150.0, 2.0, 0.0], [301.0, 0.0, 0.0]])
    assert_allclose(
        thin.potential_of(points, drive=np.array([1.0, 0.0])),
        Driven(fine, np.array([1.0, 0.0])).potential(points),
        rtol=0.01,
    )


def block(name, resistivity, *, x, y, bottom):
    """A body with level faces that reaches the surface."""
    (x0, x1), (y0, y1) = x, y
    outline = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
    return Body(name, Prism(outline, 0.0, bottom), resistivity)


@pytest.mark.slow
def test_a_body_like_the_soil_changes_nothing_along_a_wire():
    # 500 m of copper in 100 Ω·m: computed for this purpose by other code, see
    # `test_along_metal`; the line formula of Sunde (1949; from memory) is 2 % above.
    soil = Soil((100.0,), bodies=(block("like it", 100.0, x=(40, 70), y=(-6, 8), bottom=4.0),))
    found = solved(
        wire(500, diameter=0.008),
        soil,
        material=COPPER,
        frequency=50,
        feeds=[Feed(0, 0.0), Feed(0, 500.0)],
    ).port_matrix
    assert abs(found[0, 0]) == pytest.approx(0.6072, rel=3e-3)
    assert polar(found[0, 0])[1] == pytest.approx(10.35, abs=0.15)
    assert abs(found[1, 0] / found[0, 0]) == pytest.approx(0.8296, rel=3e-3)


def beside_a_half_space(ratio, *, away):
    """Port matrix of a wire beside a half-space, by thin wires and their images in its face."""
    conductors = wire(120, diameter=0.01)
    image = replace(
        conductors,
        start=conductors.start + np.array([0, 2 * away, 0]),
        end=conductors.end + np.array([0, 2 * away, 0]),
    )
    pair = Conductors.bare(
        np.concatenate([conductors.start, image.start]),
        end=np.concatenate([conductors.end, image.end]),
        radius=0.005,
        group=[0, 1],
    )
    soil = Soil((100.0,))
    wires = cut_into_wires(pair, soil=soil, longest=0.6, most=6000)
    own, count = wires.piece == 0, int((wires.piece == 0).sum())
    whole = wire_matrix(wires, images=LayeredImages(soil))
    whole = np.tril(whole) + np.tril(whole, -1).T
    coupling = whole[np.ix_(own, own)] + ratio * whole[np.ix_(own, ~own)]
    mine = cut_into_wires(conductors, soil=soil, longest=0.6, most=6000)
    network = network_of(conductors, elements=mine, feeds=[Feed(0, 0.0), Feed(0, 120.0)])
    leak, incidence = network.leak.toarray(), network.incidence.toarray()
    nodes, branches = len(network.place), len(incidence)
    ohms = POOR.resistivity / (np.pi * 0.005**2) * network.length
    system = np.zeros((nodes + count + branches,) * 2)
    system[:nodes, nodes : nodes + count] = leak
    system[nodes : nodes + count, :nodes] = leak.T
    system[:nodes, nodes + count :] = incidence.T
    system[nodes + count :, :nodes] = incidence
    system[nodes : nodes + count, nodes : nodes + count] = -coupling
    system[nodes + count :, nodes + count :] = -np.diag(ohms)
    right = np.zeros((len(system), 2))
    right[list(network.fed), [0, 1]] = 1.0
    return np.linalg.solve(system, right)[list(network.fed)]


POOR = metal_of(2e-5, 1.0)


@pytest.mark.slow
@pytest.mark.parametrize("resistivity", [1000.0, 10.0])
def test_a_wire_with_a_voltage_along_it_beside_a_half_space(resistivity):
    # Images in the face of the half-space, (ρ₂ - ρ₁)/(ρ₂ + ρ₁) as strong (Maxwell 1873).
    away = 4.0
    far = Body("half-space", HalfSpace((0.0, away), (0.0, 1.0)), resistivity)
    soil = Soil((100.0,), bodies=(far,))
    feeds = [Feed(0, 0.0), Feed(0, 120.0)]
    found = solved(
        wire(120, diameter=0.01), soil, material=POOR, frequency=0, feeds=feeds
    ).port_matrix
    expected = beside_a_half_space((resistivity - 100) / (resistivity + 100), away=away)
    even = beside_a_half_space(0.0, away=away)
    # It falls to a half along the wire, and the body changes it by a tenth or more.
    assert expected[0, 0] > 1.5 * expected[1, 0]
    assert abs(expected[1, 0] / even[1, 0] - 1) > 0.08
    assert_allclose(found, expected, rtol=5e-3)
