"""Metal with impedance and its soil solved together by thin wires: what a drop estimates."""

import numpy as np

from ohmscape.solver.heating import Material
from ohmscape.solver.metal.drop import Metal, drops, places_to_feed
from ohmscape.solver.metal.internal import Bar
from ohmscape.solver.metal.network import network_of
from ohmscape.solver.model import Conductors
from ohmscape.solver.thin_wire.images import LayeredImages
from ohmscape.solver.thin_wire.matrices import point_matrix, wire_matrix
from ohmscape.solver.thin_wire.wires import cut_into_wires


def metal_of(resistivity, permeability):
    """A metal by its resistivity at any temperature [Ω·m] and relative permeability."""
    mu = (permeability,) * 3
    return Material("metal", "own", 0.0, 0.0, 0.0, resistivity, 0.0, permeability=mu)


# Constants at 20 °C as IEEE Std 80 has them (from memory); permeability as usual.
COPPER = metal_of(1.7241e-8, 1.0)
STEEL = metal_of(1.59e-7, 200.0)
GALVANISED = metal_of(2.01e-7, 200.0)


def wire(length, *, diameter, depth=0.8):
    """A straight wire from the origin along x."""
    return Conductors.bare([[0, 0, -depth]], end=[[length, 0, -depth]], radius=diameter / 2)


def square_grid(size, *, meshes=10, diameter=0.011, depth=0.8):
    """A square grid with its corner in the origin, split at its nodes."""
    at = np.linspace(0.0, size, meshes + 1)
    x, y = np.meshgrid(at[:-1], at, indexing="ij")
    x, y, step = x.ravel(), y.ravel(), size / meshes
    z = np.full(len(x), -depth)
    start = np.concatenate([np.column_stack([x, y, z]), np.column_stack([y, x, z])])
    end = np.concatenate([np.column_stack([x + step, y, z]), np.column_stack([y, x + step, z])])
    return Conductors.bare(start, end=end, radius=diameter / 2)


class Whole:
    """Metal and soil as one system, with direct or alternating current."""

    def __init__(self, conductors, soil, *, longest, feeds=()):
        self.conductors, self.soil = conductors, soil
        self.wires = wires = cut_into_wires(conductors, soil=soil, longest=longest, most=6000)
        self.coupling = wire_matrix(wires, images=LayeredImages(soil))
        self.network = network_of(conductors, elements=wires, feeds=feeds)
        even = np.linalg.solve(self.coupling, np.ones(len(wires)))
        self.resistance = 1 / even.sum()  # of metal at one potential [Ω]
        self.leakage = even / even.sum()  # of 1 A [A]

    def node(self, x, y):
        """The node nearest to a place in plan."""
        gap = np.linalg.norm(self.network.place[:, :2] - [x, y], axis=1)
        return int(gap.argmin())

    def only(self, node):
        """Where current may enter: at one node."""
        return places_to_feed(self.network, allowed=np.arange(len(self.network.place)) == node)

    def metal(self, material, frequency, places=None):
        """Impedances of the network."""
        places = places_to_feed(self.network) if places is None else places
        return Metal.of(
            self.network,
            conductors=self.conductors,
            bars=[Bar(material, material.permeability[1])] * len(self.conductors.part_names),
            soil=self.soil,
            frequency=frequency,
            fed=np.concatenate(places),
        )

    def drop(self, material, frequency, node=None):
        """Drops of metal that 1 A enters, worst and best."""
        places = places_to_feed(self.network) if node is None else self.only(node)
        return drops(
            self.metal(material, frequency, places), leakage=self.leakage, places=places
        )

    def voltages(self, material, frequency, node):
        """Voltage of each node with 1 A into one of them, all taken into account. [V]"""
        return self.solved(material, frequency, node)[0]

    def solved(self, material, frequency, node):
        """The same, and the leakage of each wire. [V], [A]"""
        metal = self.metal(material, frequency, self.only(node))
        leak, incidence = self.network.leak.toarray(), self.network.incidence.toarray()
        (n, m), b = leak.shape, len(incidence)
        impedance = np.diag(1 / metal.admittance)
        if metal.induction is not None:
            spread = metal.induction.runs.of_branch.toarray()
            impedance = impedance + spread @ metal.induction.mutual @ spread.T
        system = np.zeros((n + m + b,) * 2, dtype=complex)
        system[:n, n : n + m], system[n : n + m, :n] = leak, leak.T
        system[:n, n + m :], system[n + m :, :n] = incidence.T, incidence
        system[n : n + m, n : n + m] = -self.coupling
        system[n + m :, n + m :] = -impedance
        entering = np.zeros(n + m + b)
        entering[node] = 1.0
        found = np.linalg.solve(system, entering)
        return found[:n], found[n : n + m]

    def touch(self, nodes, voltage, leakage, *, apart=(0.3, 1.0)):
        """Voltages between nodes and the soil round them, at two distances in plan. [V]"""
        turns = np.linspace(0, 2 * np.pi, 8, endpoint=False)
        round_it = np.column_stack([np.cos(turns), np.sin(turns), 0 * turns])
        round_it = np.concatenate([each * round_it for each in apart])
        heads = self.network.place[nodes] * [1, 1, 0]
        points = (heads[:, None] + round_it).reshape(-1, 3)
        soil = np.empty(len(points), dtype=complex)
        for rows, block in point_matrix(
            points, wires=self.wires, soil=self.soil, images=LayeredImages(self.soil)
        ):
            soil[rows] = block @ leakage
        return np.abs(np.repeat(voltage[nodes], len(round_it)) - soil)
