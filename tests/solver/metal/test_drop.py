"""The first-order drop along metal: against bounds, whole solutions and outside values."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.metal.drop import drops, places_to_feed
from ohmscape.solver.metal.induction import inductance
from ohmscape.solver.metal.network import Feed, network_of
from ohmscape.solver.metal.runs import runs_of
from ohmscape.solver.model import Conductors, Soil

from .whole_networks import COPPER, GALVANISED, STEEL, Whole, square_grid, wire


def polar(value):
    """Size, and angle in degrees."""
    return abs(value), np.degrees(np.angle(value))


@pytest.mark.parametrize(
    ("length", "diameter", "material", "resistivity", "frequency", "z", "angle", "far"),
    [
        # Computed for this purpose by a thin-wire nodal method of its own code; 0.2 %, 0.1°.
        (200, 0.008, COPPER, 10, 0, 0.14066, 0.0, 0.7695),
        (200, 0.008, COPPER, 10, 50, 0.14950, 14.67, 0.7132),
        (500, 0.008, COPPER, 100, 0, 0.5900, 0.0, 0.8591),
        (500, 0.008, COPPER, 100, 50, 0.6072, 10.35, 0.8296),
        (500, 0.008, COPPER, 100, 60, 0.6143, 12.25, 0.8181),
        (500, 0.010, STEEL, 100, 50, 1.0452, 18.64, 0.3129),
        (1000, 0.008, COPPER, 100, 50, 0.4720, 24.14, 0.4783),
        (1000, 0.008, COPPER, 1000, 50, 3.025, 4.59, 0.9372),
    ],
)
def test_whole_networks_of_wires_have_the_impedance_of_another_method(
    length, diameter, material, resistivity, frequency, z, angle, far
):
    # This holds impedances, induction and nodes; the drop is what is left of it.
    whole = Whole(wire(length, diameter=diameter), Soil((resistivity,)), longest=length / 90)
    near, end = whole.node(0, 0), whole.node(length, 0)
    found = whole.voltages(material, frequency, near)
    size, turned = polar(found[near])
    assert_allclose(size, z, rtol=2e-3)
    assert turned == pytest.approx(angle, abs=0.1)
    assert_allclose(abs(found[end] / found[near]), far, rtol=3e-3)


@pytest.mark.parametrize(
    ("frequency", "z", "angle", "corner", "late"),
    [(0, 0.02861, 0.0, 0.02303, 0.0), (50, 0.03798, 32.6, 0.02132, -15.1)],
)
def test_a_grid_fed_at_its_corner(frequency, z, angle, corner, late):
    # 200 m, 10 x 10 meshes, copper 11 mm, 10 Ω·m; as above.
    whole = Whole(square_grid(200), Soil((10.0,)), longest=10.0)
    near, end = whole.node(0, 0), whole.node(200, 200)
    found = whole.voltages(COPPER, frequency, near)
    assert polar(found[near]) == pytest.approx((z, angle), rel=3e-3, abs=0.1)
    assert polar(found[end])[0] == pytest.approx(corner, rel=3e-3)
    assert polar(found[end])[1] == pytest.approx(late, abs=0.15)


@pytest.mark.parametrize(
    ("size", "material", "where", "percent"),
    [
        # |w| in % of the rise at 10, 100 and 1000 Ω·m, 50 Hz; computed for this purpose by
        # other code, half of the last digit.
        (200, COPPER, "worst", ("96", "10", "1.0")),
        (200, COPPER, "best", ("24", "2.4", "0.2")),
        (200, GALVANISED, "worst", ("505", "51", "5")),
        (500, COPPER, "worst", ("572", "63", "6.5")),
        (500, GALVANISED, "worst", ("", "309", "31")),
    ],
)
def test_drops_of_grids(size, material, where, percent):
    for resistivity, share in zip((10, 100, 1000), percent, strict=True):
        if not share:
            continue
        whole = Whole(square_grid(size), Soil((float(resistivity),)), longest=size / 20)
        worst, best = whole.drop(material, 50.0)
        drop = worst if where == "worst" else best
        from_middle = np.abs(whole.network.place[drop.fed[0], :2] - size / 2)
        assert_allclose(from_middle, size / 2 if where == "worst" else 0.0, atol=1e-9)
        digit = 0.5 * 10.0 ** -len(share.partition(".")[2])
        found = 100 * drop.largest / whole.resistance
        assert found == pytest.approx(float(share), rel=3e-3, abs=digit)


@pytest.mark.parametrize("feed", [0.0, 0.3, 0.5])
@pytest.mark.parametrize(
    ("soil", "material"),
    [
        (Soil((10.0,)), COPPER),
        (Soil((10.0,)), STEEL),
        (Soil((200.0, 20.0), (2.0,)), STEEL),
    ],
)
def test_direct_current_lies_between_its_bounds(feed, soil, material):
    # Rayleigh and Thomson: rigorous, of the discrete system too.
    conductors = wire(300, diameter=0.01)
    whole = Whole(conductors, soil, longest=5.0, feeds=[Feed(0, 300 * feed)])
    node = whole.network.fed[0]
    assert_allclose(whole.network.place[node], [300 * feed, 0, -0.8], atol=1e-9)
    true = whole.voltages(material, 0.0, node)[node].real
    drop = whole.drop(material, 0.0, node)[0].voltage[node].real
    assert whole.resistance < true < whole.resistance + drop


def test_bounds_of_a_grid_fed_at_corner_and_middle():
    whole = Whole(square_grid(100, meshes=5), Soil((10.0,)), longest=10.0)
    for place in ((0, 0), (40, 60)):
        node = whole.node(*place)
        true = whole.voltages(GALVANISED, 0.0, node)[node].real
        drop = whole.drop(GALVANISED, 0.0, node)[0].voltage[node].real
        assert whole.resistance < true < whole.resistance + drop
        # The second order is small beside a small drop.
        assert true - whole.resistance > 0.8 * drop


def test_the_drop_shrinks_with_its_cause_and_a_slow_current_is_a_direct_one():
    whole = Whole(wire(100, diameter=0.01), Soil((50.0,)), longest=5.0)
    direct = whole.drop(STEEL, 0.0)[0].voltage
    slow = whole.drop(STEEL, 1e-4)[0].voltage
    assert_allclose(slow, direct, atol=1e-5 * np.abs(direct).max())
    copper = whole.drop(COPPER, 0.0)[0].largest
    assert copper / np.abs(direct).max() == pytest.approx(1.7241e-8 / 1.59e-7, rel=1e-9)


def test_a_wire_of_many_pieces_has_the_drop_of_one():
    soil = Soil((20.0,))
    at = np.linspace(0, 200, 9)
    ends = np.column_stack([at, 0 * at, 0 * at - 0.8])
    pieces = Conductors.bare(ends[:-1], end=ends[1:], radius=0.005)
    turned = Conductors.bare(ends[1:], end=ends[:-1], radius=0.005)
    found = []
    for conductors in (wire(200, diameter=0.01), pieces, turned):
        whole = Whole(conductors, soil, longest=2.5)
        found.append(whole.drop(STEEL, 50.0, whole.node(0, 0))[0].largest / whole.resistance)
    assert_allclose(found[1:], found[0], rtol=0.01)
    assert found[1] == pytest.approx(found[2], rel=1e-6)


def test_runs_hold_all_metal_once_and_are_bounded():
    conductors = square_grid(400, meshes=30)
    whole = network_of(conductors, elements=_as_lines(conductors))
    fed = np.concatenate(places_to_feed(whole))
    runs = runs_of(whole, conductors=conductors, reach=100.0, fed=fed)
    assert runs.of_branch.shape[1] <= 600 < len(whole.first)
    assert_allclose(abs(runs.of_branch).sum(axis=0), 1.0)
    length = np.linalg.norm(runs.end - runs.start, axis=1)
    assert length.sum() == pytest.approx(conductors.length.sum())
    # Nothing that may be fed lies inside a run.
    for place in whole.place[fed]:
        ends = [np.linalg.norm(place - each, axis=1) for each in (runs.start, runs.end)]
        on_it = sum(ends) < length + 1e-6
        assert np.minimum(*ends)[on_it].max() < 1e-6


def test_induction_is_symmetric_and_takes_power():
    conductors = square_grid(60, meshes=3)
    network = network_of(conductors, elements=_as_lines(conductors))
    runs = runs_of(network, conductors=conductors, reach=100.0, fed=np.zeros(0, dtype=int))
    found = inductance(runs, soil=Soil((30.0, 300.0), (5.0,)), frequency=60.0)
    assert_allclose(found, found.T)
    assert np.linalg.eigvalsh(found.imag).min() > 0
    assert np.linalg.eigvalsh(found.real).min() > -1e-6 * np.abs(found.real).max()


def test_metal_apart_is_fed_by_itself():
    # Two equal wires of one group far apart: each has the drop of one alone.
    soil = Soil((20.0,))
    start = [[0, 0, -0.8], [0, 5000, -0.8]]
    end = [[100, 0, -0.8], [100, 5000, -0.8]]
    both = Whole(Conductors.bare(start, end=end, radius=0.005), soil, longest=5.0)
    one = Whole(wire(100, diameter=0.01), soil, longest=5.0)
    assert len(both.network.group) == 2
    alone = one.drop(STEEL, 50.0)[0].largest
    assert both.drop(STEEL, 50.0)[0].largest == pytest.approx(alone / 2, rel=2e-3)


def test_metal_without_net_current_has_no_feed():
    soil = Soil((20.0,))
    whole = Whole(wire(100, diameter=0.01), soil, longest=5.0)
    x = whole.network.place[:, 0]
    leakage = whole.leakage * np.linspace(-1, 1, len(whole.leakage))
    leakage -= whole.leakage * leakage.sum()
    places = places_to_feed(whole.network)
    worst, best = drops(whole.metal(STEEL, 0.0), leakage=leakage, places=places)
    assert worst.largest == best.largest > 0
    # Current comes out of the soil where leakage is below zero, and flows to the other end.
    assert list(worst.fed) == [-1]
    along = worst.voltage.real[np.argsort(x)]
    assert (np.diff(along) < 0).all()


def _as_lines(conductors):
    """Each piece as one line element."""

    class Lines:
        start, end = conductors.start, conductors.end
        length, piece = conductors.length, np.arange(len(conductors.radius))

    return Lines()
