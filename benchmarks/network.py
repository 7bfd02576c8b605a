"""Metal with impedance and its soil solved together: against other code, and what it takes.

Usage: python benchmarks/network.py [quick]

Impedances, far ends and touch voltages 1 m aside of the feed, of wires and square grids 0.8 m
deep, beside values computed for this purpose by other code (thin wires with the image in the
surface; 0.2 %, touch 0.5 to 1.5 %); then what large metal takes of a processor. `quick` leaves
out the grids.
"""

import sys
from dataclasses import replace
from pathlib import Path
from time import process_time

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests" / "solver" / "metal"))
from whole_networks import COPPER, GALVANISED, STEEL, metal_of, square_grid, wire

from ohmscape.meshes import build_mesh, mesh_plan
from ohmscape.solver.field.along_metal import solve_along
from ohmscape.solver.field.driven import Driven
from ohmscape.solver.field.solution import solve
from ohmscape.solver.metal.internal import Bar
from ohmscape.solver.metal.places import Feed
from ohmscape.solver.metal.wiring import REMOTE_EARTH, Lead, Port, Terminal, Wiring
from ohmscape.solver.model import Conductors, Soil

# Length, metal, diameter, resistivity, frequency: impedance, far end over fed end, touch.
WIRES = [
    (200, COPPER, 0.008, 10, 50, (0.14950, 0.7132, 0.0873)),
    (500, COPPER, 0.008, 10, 50, (0.1355, 0.1940, 0.0800)),
    (500, COPPER, 0.008, 100, 0, (0.5900, 0.8591, 0.3196)),
    (500, COPPER, 0.008, 100, 50, (0.6072, 0.8296, 0.3309)),
    (500, STEEL, 0.010, 100, 50, (1.0452, 0.3129, 0.5973)),
    (1000, COPPER, 0.008, 100, 50, (0.4720, 0.4783, 0.2587)),
    (1000, COPPER, 0.008, 1000, 50, (3.025, 0.9372, 1.570)),
    (2000, STEEL, 0.010, 1000, 50, (3.553, 0.2274, 1.893)),
]
# Side, metal, resistivity, frequency: of the corner, impedance, far corner, touch outward.
GRIDS = [
    (200, COPPER, 10, 0, (0.02861, 0.02303, 0.00829)),
    (200, COPPER, 10, 50, (0.03798, 0.02132, 0.01372)),
    (200, COPPER, 10, 60, (0.04097, 0.02083, 0.01533)),
    (200, GALVANISED, 10, 50, (0.1144, 0.01303, 0.0537)),
    (200, COPPER, 100, 50, (0.24533, 0.2371, 0.06264)),
    (200, GALVANISED, 100, 50, (0.33269, 0.22359, 0.1089)),
    (200, GALVANISED, 1000, 50, (2.4702, 2.3707, 0.6324)),
    (500, COPPER, 10, 50, (0.04886, 0.00394, 0.0200)),
    (500, COPPER, 100, 50, (0.1307, 0.0930, 0.0382)),
    (500, GALVANISED, 100, 50, (0.3444, 0.0667, 0.135)),
]


def bars(material, conductors):
    """All parts of one material."""
    return (Bar(material, material.permeability[1]),) * len(conductors.part_names)


def row(name, conductors, soil, mesh, *, material, frequency, ends, touched, expected):
    """One line of the table: impedance, voltage of the far end, touch voltage at the feed."""
    ports = tuple(Port(str(k), feed) for k, feed in enumerate(ends))
    wiring = Wiring(bars(material, conductors), float(frequency), ports)
    begun = process_time()
    found = solve_along(mesh, soil=soil, conductors=conductors, wiring=wiring)
    seconds = process_time() - begun
    matrix = found.port_matrix
    soil_there = Driven(found, np.array([1.0, 0.0])).potential(np.array([[*touched, 0.0]]))[0]
    values = abs(matrix[0, 0]), abs(matrix[1, 0]), abs(matrix[0, 0] - soil_there)
    off = [100 * (value / known - 1) for value, known in zip(values, expected, strict=True)]
    print(
        f"{name:34s} {values[0]:9.5f} {off[0]:+6.2f} %  {off[1]:+6.2f} %  {off[2]:+6.2f} %"
        f"  {len(found.sources):5d} {max(found.checks.iterations):4d} {seconds:6.2f} s"
        f"  {found.checks.power:7.0e} {found.checks.symmetry:7.0e}",
        flush=True,
    )


def of_wires():
    """Rows of wires fed at an end."""
    for length, material, diameter, resistivity, frequency, expected in WIRES:
        conductors, soil = wire(length, diameter=diameter), Soil((float(resistivity),))
        impedance, far, touch = expected
        row(
            f"wire {length} m, {resistivity} ohm m, {frequency} Hz",
            conductors,
            soil,
            build_mesh(mesh_plan(conductors, soil=soil, fineness=0.8)),
            material=material,
            frequency=frequency,
            ends=[Feed(0, 0.0), Feed(0, float(length))],
            touched=(0.0, 1.0),
            expected=(impedance, far * impedance, touch),
        )


def of_grids():
    """Rows of square grids of 10 by 10 meshes fed at a corner."""
    meshes = {}
    for side, material, resistivity, frequency, expected in GRIDS:
        conductors, soil = square_grid(side), Soil((float(resistivity),))
        if side not in meshes:
            meshes[side] = build_mesh(mesh_plan(conductors, soil=soil, fineness=0.8))
        last = int(np.flatnonzero((conductors.end[:, :2] == side).all(axis=1))[0])
        out = -np.sqrt(0.5)
        row(
            f"grid {side} m, {resistivity} ohm m, {frequency} Hz",
            conductors,
            soil,
            meshes[side],
            material=material,
            frequency=frequency,
            ends=[Feed(0, 0.0), Feed(last, float(conductors.length[last]))],
            touched=(out, out),
            expected=expected,
        )


def of_large_metal():
    """What long and much metal takes."""
    pipe = Conductors.bare([[0, 0, -1.5]], end=[[20_000, 0, -1.5]], radius=0.2191 / 2)
    steel = Bar(metal_of(2.0e-7, 300.0), 300.0, wall=0.0063)
    for name, coating in (("pipe of 20 km, coated", 1e4), ("pipe of 20 km, bare", 0.0)):
        coated = replace(pipe, contact=np.full(1, coating))
        timed(name, coated, Soil((10.0,)), (steel,), [Feed(0, 0.0), Feed(0, 20_000.0)])
    start, leads = Feed(0, 0.0), []
    for k in range(2_000):
        end, route = Terminal(str(k)), ((200.0 * k, 0.0, 20.0), (200.0 * (k + 1), 0.0, 20.0))
        leads += [
            Lead(f"span {k}", (start, end), bar=Bar(STEEL, 200.0), radius=0.005, route=route),
            Lead(f"footing {k}", (end, REMOTE_EARTH), impedance=10.0),
        ]
        start = end
    short = wire(50, diameter=0.01)
    timed("2,000 spans", short, Soil((100.0,)), bars(COPPER, short), [Feed(0, 0.0)], leads)


def timed(name, conductors, soil, metal, feeds, leads=()):
    """Print what the network takes beside metal at one potential on the same mesh."""
    mesh = build_mesh(mesh_plan(conductors, soil=soil, fineness=0.8))
    begun = process_time()
    solve(mesh, soil=soil, conductors=conductors)
    even = process_time() - begun
    ports = tuple(Port(str(k), feed) for k, feed in enumerate(feeds))
    wiring = Wiring(tuple(metal), 50.0, ports, leads=tuple(leads))
    begun = process_time()
    found = solve_along(mesh, soil=soil, conductors=conductors, wiring=wiring)
    seconds = process_time() - begun
    print(
        f"{name:34s} {len(found.sources):6d} elements, {len(feeds)} ports:"
        f" {seconds:6.2f} s, at one potential {even:6.2f} s"
    )


def main(how=""):
    """Print the tables."""
    print(
        f"{'':34s} {'ohm':>9s} {'off':>8s}  {'far':>8s}  {'touch':>8s}"
        f"  {'parts':>5s} {'step':>4s} {'time':>8s}  {'power':>7s} {'symm.':>7s}"
    )
    of_wires()
    if how != "quick":
        of_grids()
    of_large_metal()


if __name__ == "__main__":
    main(*sys.argv[1:])
