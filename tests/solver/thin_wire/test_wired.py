"""Metal with voltages along it by thin wires, against values found apart and what must be.

Values called computed are those of a nodal calculation made apart from this code, with two
cuttings compared: 0.2 % in size and 0.1° (currents of leads 0.3 %). The line formulas are those
of a uniform line; the kernel of the earth return is from memory (Foster 1931; Sunde 1949).
"""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.heating import Material
from ohmscape.solver.metal import Bar, Feed
from ohmscape.solver.metal.earth import EarthReturn
from ohmscape.solver.metal.internal import tube
from ohmscape.solver.metal.wiring import Break, Lead, Port, Terminal, Wiring
from ohmscape.solver.model import Conductors, Soil
from ohmscape.solver.thin_wire import second_opinion
from ohmscape.solver.thin_wire.earth_return import ReturnPath
from ohmscape.solver.thin_wire.wired import wired_opinion


def bar(resistivity, permeability=1.0):
    mu = (permeability,) * 3
    metal = Material("metal", "own", 0.0, 0.0, 0.0, resistivity, 0.0, permeability=mu)
    return Bar(metal, permeability)


# IEEE Std 80 (from memory)
COPPER, STEEL = bar(1.7241e-8), bar(1.59e-7, 200.0)


def phasor(size, degrees):
    return size * np.exp(1j * np.radians(degrees))


def wire(length, *, diameter, depth=0.8):
    return Conductors.bare([[0, 0, -depth]], end=[[length, 0, -depth]], radius=diameter / 2)


AT_ITS_START = (Feed(0, 0.0),)


def solved(conductors, *, resistivity, frequency, metal=COPPER, feeds=AT_ITS_START, **more):
    wiring = Wiring(
        bars=(metal,) * len(conductors.part_names),
        frequency=frequency,
        ports=tuple(Port(f"port {k}", feed) for k, feed in enumerate(feeds)),
        **more,
    )
    return wired_opinion(conductors, soil=Soil((resistivity,)), wiring=wiring)


# Length, diameter, metal, resistivity of the soil, frequency, where it is fed; impedance by
# size and angle, far end over fed end. Computed.
WIRES = [
    (200.0, 0.008, COPPER, 10.0, 0.0, 0.0, 0.14066, 0.0, 0.7695),
    (200.0, 0.008, COPPER, 10.0, 50.0, 0.0, 0.14950, 14.67, 0.7132),
    (500.0, 0.008, COPPER, 100.0, 60.0, 0.0, 0.6143, 12.25, 0.8181),
    (500.0, 0.010, STEEL, 100.0, 50.0, 0.0, 1.0452, 18.64, 0.3129),
    (1000.0, 0.008, COPPER, 100.0, 50.0, 0.0, 0.4720, 24.14, 0.4783),
    (2000.0, 0.010, STEEL, 1000.0, 50.0, 0.0, 3.553, 20.34, 0.2274),
    (1000.0, 0.008, STEEL, 10.0, 50.0, 500.0, 0.17994, 18.32, 0.0206),
]


@pytest.mark.parametrize("row", WIRES)
def test_long_wires_are_as_found_apart(row):
    length, diameter, metal, rho, hertz, at, size, degrees, far = row
    feeds = (Feed(0, at), Feed(0, length))
    found = solved(
        wire(length, diameter=diameter),
        resistivity=rho,
        frequency=hertz,
        metal=metal,
        feeds=feeds,
    ).port_matrix
    assert abs(found[0, 0] / phasor(size, degrees) - 1) < 3e-3
    # The trust in far ends below a fiftieth of the fed one is 2 %.
    assert_allclose(abs(found[0, 1] / found[0, 0]), far, rtol=0.002 if far > 0.02 else 0.02)


def rings():
    corners = np.array([[0, 0, -0.8], [20, 0, -0.8], [20, 20, -0.8], [0, 20, -0.8]])
    others = np.roll(corners, -1, axis=0)
    away = np.array([200, 0, 0])
    start = np.concatenate([corners, corners + away])
    end = np.concatenate([others, others + away])
    return Conductors.bare(start, end=end, radius=0.0055, group=np.repeat([0, 1], 4))


WAY = ((20.0, 0.0, -1.1), (200.0, 0.0, -1.1))


def joined_rings(leads):
    feeds = (Feed(0, 0.0), Feed(4, 0.0), Feed(6, 0.0))
    return solved(rings(), resistivity=100.0, frequency=50.0, feeds=feeds, leads=leads)


def test_a_lead_carries_half_of_the_current_to_a_second_ring():
    lead = Lead("lead", (Feed(0, 20.0), Feed(4, 0.0)), bar=COPPER, radius=0.004, route=WAY)
    apart, joined = joined_rings(()), joined_rings((lead,))
    assert abs(apart.port_matrix[0, 0] / phasor(2.891, 0.07) - 1) < 3e-3
    assert_allclose(abs(apart.port_matrix[0, 2]), 0.0797, rtol=3e-3)
    assert abs(joined.port_matrix[0, 0] / phasor(1.5033, 1.39) - 1) < 3e-3
    assert abs(joined.port_matrix[0, 1] / phasor(1.4686, -1.18) - 1) < 3e-3
    assert abs(joined.lead_current[0, 0] / phasor(0.4941, -1.3) - 1) < 3e-3


def test_a_bad_joint_at_the_end_of_a_lead_keeps_current_back():
    end = Terminal("end")
    leads = (
        Lead("lead", (Feed(0, 20.0), end), bar=COPPER, radius=0.004, route=WAY),
        Lead("joint", (end, Feed(4, 0.0)), impedance=0.1 + 0j),
    )
    found = joined_rings(leads)
    assert abs(found.port_matrix[0, 0] / phasor(1.5273, 1.33) - 1) < 3e-3
    assert_allclose(np.abs(found.lead_current[0]), 0.4856, rtol=3e-3)


def test_a_wire_beside_takes_over_what_the_soil_hands_on():
    both = Conductors.bare(
        [[0, 0, -0.8], [0, 10, -0.8]],
        end=[[500, 0, -0.8], [500, 10, -0.8]],
        radius=0.004,
        group=[0, 1],
    )
    feeds = (Feed(0, 0.0), Feed(1, 0.0), Feed(1, 500.0))
    found = solved(both, resistivity=100.0, frequency=50.0, feeds=feeds).port_matrix[0]
    for value, size, degrees in zip(
        found, (0.60639, 0.23319, 0.22475), (10.36, 7.68, -5.49), strict=True
    ):
        assert abs(value / phasor(size, degrees) - 1) < 3e-3


class Pipe:
    """A steel pipe, 219.1 mm by 6.3 mm."""

    def impedance(self, radius, *, frequency):
        one = tube(
            radius - 0.0063,
            outer=radius,
            resistivity=2e-7,
            permeability=300.0,
            frequency=frequency,
        )
        return np.asarray(one)


def test_a_coated_pipe_is_nearly_a_line_without_soil():
    pipe = replace(wire(5000.0, diameter=0.2191, depth=1.5), contact=np.array([1e4]))
    feeds = (Feed(0, 0.0), Feed(0, 5000.0))
    found = solved(pipe, resistivity=100.0, frequency=50.0, metal=Pipe(), feeds=feeds)
    near, far = found.port_matrix[0]
    # Line theory, z 0.20925 + j0.72668 mΩ/m and 1/y 14528 Ω·m: sqrt(z/y) coth(sqrt(zy) l).
    series, shunt = 0.20925e-3 + 0.72668e-3j, 1 / 14528
    line = np.sqrt(series / shunt) / np.tanh(np.sqrt(series * shunt) * 5000)
    assert abs(near / line - 1) < 0.012  # what the soil round it adds
    assert abs(near / phasor(3.5546, 18.47) - 1) < 2e-3  # computed
    assert abs(far / phasor(2.7736, -11.43) - 1) < 2e-3


def test_metal_without_impedance_is_at_one_potential():
    thick = wire(100.0, diameter=0.01)
    # A micro-ohm for all of it.
    metal = bar(1e-14 * np.pi * 0.005**2)
    found = solved(thick, resistivity=100.0, frequency=0.0, metal=metal).port_matrix[0, 0]
    plain = second_opinion(thick, soil=Soil((100.0,)), longest=100.0 / 300)
    assert_allclose(found, plain.resistance[0, 0], rtol=1e-6)


def test_a_wire_cut_and_joined_again_is_the_wire_and_cut_for_good_is_not():
    long = wire(500.0, diameter=0.008)

    def with_break(impedance):
        broken = (Break("cut", Feed(0, 300.0), impedance),)
        return solved(long, resistivity=100.0, frequency=50.0, breaks=broken).port_matrix[0, 0]

    whole = solved(long, resistivity=100.0, frequency=50.0).port_matrix[0, 0]
    alone = solved(wire(300.0, diameter=0.008), resistivity=100.0, frequency=50.0)
    assert abs(with_break(0j) / whole - 1) < 1e-4
    # What is cut off floats: the rest is a hair better for metal beside it.
    cut = with_break(None)
    assert abs(cut / alone.port_matrix[0, 0] - 1) < 0.02
    assert abs(cut) > 1.3 * abs(whole)


def test_ports_are_reciprocal_and_current_leaks_in_full():
    found = joined_rings((Lead("bond", (Feed(0, 20.0), Feed(4, 0.0)), impedance=0j),))
    assert_allclose(found.port_matrix, found.port_matrix.T, rtol=1e-9)
    assert_allclose(found.element_current.sum(axis=1), 1.0, rtol=1e-9)
    # No drop in the bond.
    assert abs(found.lead_current[0, 0]) > 0.4


@pytest.mark.parametrize("soil", [Soil((100.0, 1000.0), (5.0,)), Soil((30, 300, 20), (2, 9))])
def test_layers_change_the_return_as_a_hankel_transform_has_it(soil):
    # The kernel of the finite elements' network, by a digital filter and code of its own.
    distance = np.array([1.0, 7.3, 40.0, 310.0, 1500.0])
    path, other = ReturnPath(soil, 50.0), EarthReturn(soil, 50.0)
    expected = other.smooth(distance)
    assert_allclose(path._between(distance), expected, rtol=2e-3)
