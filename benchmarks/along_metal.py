"""The first-order voltage along metal beside whole solutions, over layouts drawn at random.

Usage: python benchmarks/along_metal.py [SEED] [LAYOUTS]

Grids and wires of copper, steel and galvanised steel in uniform and two-layered soil, each fed
at its corner or end, in its middle and, of grids, half-way along an edge. Metal and soil are
solved together by thin wires (`tests/solver/metal/whole_networks.py`), with the impedances that
the estimate has: it tells what the first order leaves out, not how good those are.
"""

import sys
from itertools import pairwise
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests" / "solver" / "metal"))
from whole_networks import COPPER, GALVANISED, STEEL, Whole, square_grid, wire

from ohmscape.solver.metal.network import Feed
from ohmscape.solver.model import Soil

_wires = 350
_bounds = (0.0, 0.01, 0.05, 0.3, np.inf)  # of the drop, in terms of the rise


def drawn(rng):
    """Metal, soil, material, frequency and the places where it is fed."""
    soil = Soil((10 ** rng.uniform(1, 3.2),))
    if rng.random() < 0.3:
        below = 10 ** rng.uniform(1, 3)
        soil = Soil((*soil.resistivity, below), (rng.uniform(1.5, 6),))
    size = {"diameter": 10 ** rng.uniform(-2.1, -1.6), "depth": rng.uniform(0.4, 1.2)}
    material = (COPPER, STEEL, GALVANISED)[rng.integers(3)]
    frequency = (50.0, 60.0)[rng.integers(2)]
    if rng.random() < 0.25:
        length = rng.uniform(50, 600)
        return wire(length, **size), soil, material, frequency, [(0, 0), (length / 2, 0)]
    meshes, side = int(rng.integers(2, 8)), rng.uniform(20, 300)
    half = side * (meshes // 2) / meshes
    grid = square_grid(side, meshes=meshes, **size)
    return grid, soil, material, frequency, [(0, 0), (half, half), (half, 0)]


def compared(rng):
    """Drop over rise, impedance by it and whole, growth of touch over drop: a row a feed."""
    conductors, soil, material, frequency, feeds = drawn(rng)
    inside = [] if len(conductors.radius) > 1 else [Feed(0, conductors.length[0] / 2)]
    longest = float(conductors.length.sum()) / _wires
    whole = Whole(conductors, soil, longest=longest, feeds=inside)
    for place in feeds:
        node = whole.node(*place)
        drop = whole.drop(material, frequency, node)[0]
        voltage, leakage = whole.solved(material, frequency, node)
        nodes = np.unique([node, *rng.integers(0, len(voltage), 12)])
        before = whole.touch(nodes, np.full(len(voltage), whole.resistance), whole.leakage)
        growth = whole.touch(nodes, voltage, leakage) - before
        yield (
            drop.largest / whole.resistance,
            abs(whole.resistance + drop.voltage[node]) / abs(voltage[node]) - 1,
            growth.max() / drop.largest,
        )


def main(seed=1, layouts=60):
    """Print what the first order leaves out, by how large the drop is."""
    rng = np.random.default_rng(seed)
    rows = np.array([row for _ in range(layouts) for row in compared(rng)])
    print(f"{layouts} layouts, {len(rows)} feeds, seed {seed}")
    print(
        "drop over rise    feeds  impedance by it, over the true one  growth of touch over drop"
    )
    for low, high in pairwise(_bounds):
        some = rows[(rows[:, 0] >= low) & (rows[:, 0] < high)]
        if len(some):
            off, most = 100 * some[:, 1], some[:, 2]
            print(
                f"{100 * low:4.0f} to {100 * high:4.0f} %  {len(some):6d}"
                f"  {off.min():+13.2f} to {off.max():+.2f} %"
                f"  {most.min():18.2f} to {most.max():.2f}"
            )


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
