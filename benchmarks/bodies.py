"""Resistances and potentials with bodies in the soil, beside values made without this code.

    python benchmarks/bodies.py [ID ...]

How the values were made: *images* exact in planes, thin wire; *series* of Legendre polynomials
of a ball; *axisymmetric* quadratic elements with the rod's true face in the mesh; *panels*,
charges on the faces of the body with the flux through it held to its known value; *thin wires*.
A thin wire with elements of two radii at its ends is 0.04 % above its true cylinder.
"""

import resource
import sys
from dataclasses import dataclass, replace
from time import process_time

import numpy as np

from ohmscape.meshes import build_mesh, mesh_plan
from ohmscape.solver.bodies import Ball, Body, Cylinder, HalfSpace, Prism
from ohmscape.solver.field.at_edges import order_of_error
from ohmscape.solver.field.solution import solve
from ohmscape.solver.model import Conductors, Soil
from ohmscape.solver.results.result import Accuracy

_fineness, _coarser, _growth = 1.6, 1.5, 0.4
_potential_band = 0.003  # of the rise: how well the potentials are known
Places = tuple[tuple[float, float, float], ...]


@dataclass(frozen=True)
class Row:
    """A layout, what it should give [Ω] and [V/A], and how that is known."""

    how: str
    soil: Soil
    metal: Conductors
    resistance: float
    places: tuple[tuple[float, ...], ...] = ()
    potentials: tuple[float, ...] = ()
    band: float = 0.2  # of the value, per cent
    fineness: float = _fineness


def box(
    low: tuple[float, float], high: tuple[float, float], top: float, bottom: float
) -> Prism:
    """A box between two corners in plan and two depths."""
    (a, b), (c, d) = low, high
    return Prism(((a, b), (c, b), (c, d), (a, d)), top, bottom)


def _block(bottom: float) -> Prism:
    return box((-0.5, -0.5), (0.5, 0.5), 0.0, bottom)


def rod(x: float, length: float) -> Conductors:
    """A rod of 16 mm from the surface."""
    return Conductors.bare([[x, 0.0, 0.0]], end=[[x, 0.0, -length]], radius=0.008)


def grid(side: float, depth: float) -> Conductors:
    """A square grid of 2 x 2 meshes about the origin, its wires cut where they meet."""
    half, ends = side / 2, []
    stops = (-half, 0.0, half)
    for y in stops:
        for a, b in ((stops[0], stops[1]), (stops[1], stops[2])):
            ends += [((a, y), (b, y)), ((y, a), (y, b))]
    points = np.array([[(*a, -depth), (*b, -depth)] for a, b in ends])
    return Conductors.bare(points[:, 0], end=points[:, 1], radius=0.005)


def ground(resistivity: float, *shapes: tuple[object, float]) -> Soil:
    """Uniform soil with bodies."""
    bodies = tuple(Body(f"body {k}", shape, value) for k, (shape, value) in enumerate(shapes))
    return Soil((resistivity,), (), bodies)


def contact(
    soil: float, beyond: float, d: float, value: float, potentials: tuple[float, ...]
) -> Row:
    """A rod beside a vertical contact."""
    places = ((-1.0, 0.0), (d / 2, 0.0), (d + 1, 0.0))
    there = ground(soil, (HalfSpace((d, 0.0), (1.0, 0.0)), beyond))
    return Row("images", there, rod(0.0, 3.0), value, places, potentials)


def dyke(soil: float, inside: float, low: float, high: float) -> Soil:
    """A vertical dyke, as wide as the mesh."""
    return ground(soil, (box((low, -400.0), (high, 400.0), 0.0, 400.0), inside))


def across(beyond: float, value: float) -> Row:
    """A horizontal wire half in each side of a contact."""
    wire = Conductors.bare([[-5.0, 0, -0.6]], end=[[5.0, 0, -0.6]], radius=0.005)
    there = ground(100.0, (HalfSpace((0.0, 0.0), (1.0, 0.0)), beyond))
    return Row("images", there, wire, value)


def plug(
    soil: float,
    inside: float,
    radius: float,
    bottom: float,
    length: float,
    value: float,
    at: tuple[float, ...],
    potentials: tuple[float, ...],
) -> Row:
    """A rod on the axis of a cylinder at the surface."""
    there = ground(soil, (Cylinder((0.0, 0.0), radius, 0.0, bottom), inside))
    return Row(
        "axisymmetric", there, rod(0.0, length), value, tuple((r, 0.0) for r in at), potentials
    )


_four = (0.3, 1.0, 1.5, 4.0)
_basement = box((1.0, -3.0), (7.0, 3.0), 0.0, 2.5)
_shallow, _deep = box((-7.0, 0.0), (7.0, 7.0), 0.0, 0.4), box((-7.0, 1.0), (7.0, 8.0), 0.0, 1.5)
_cube = box((0.3, -0.75), (1.8, 0.75), 0.5, 2.0)
_steel = box((0.5, -0.5), (1.5, 0.5), 0.5, 1.5)
_pad = box((-4.0, -4.0), (4.0, 4.0), 0.0, 0.15)
_meshes = ((2.5, -2.5), (2.5, 2.5), (0.0, -6.0))
rows = {
    "K1": contact(100, 400, 1.0, 36.643, (12.144, 17.193, 9.972)),
    "K2": contact(100, 400, 0.3, 39.713, (13.644, 26.344, 12.989)),
    "K3": contact(400, 100, 1.0, 119.02, (26.606, 33.244, 10.010)),
    "K4": contact(400, 100, 0.3, 106.64, (20.488, 43.719, 13.157)),
    "K5": contact(100, 1e4, 1.0, 38.821, (13.880, 19.990, 12.327)),
    "K6": contact(1e4, 100, 1.0, 2756.9, (490.67, 547.86, 12.404)),
    "K7": contact(1e4, 100, 0.3, 2249.5, (238.87, 591.99, 16.365)),
    "K8": contact(100, 25, 1.0, 29.756, (6.652, 8.311, 2.503)),
    "K9": Row("images", dyke(100, 1000, 1, 3), rod(0, 3), 36.647,
              ((-1.0, 0.0), (2.0, 0.0), (4.0, 0.0)), (12.004, 7.818, 2.053)),
    "K10": Row("images", dyke(100, 20, 1, 3), rod(0, 3), 30.668,
               ((-1.0, 0.0), (2.0, 0.0), (4.0, 0.0)), (7.514, 3.710, 2.731)),
    "K11": Row("images", dyke(100, 1000, -1, 1), rod(0, 3), 267.74),
    "K12": across(400, 23.282),
    "K13": across(1e4, 28.815),
    "K14": Row("images", ground(100, (HalfSpace((1.0, 0.0), (1.0, 0.0)), np.inf)), rod(0, 3),
               38.934, ((-1.0, 0.0), (0.5, 0.0), (1.0, 0.0, -2.0)), (13.970, 20.135, 16.916)),
    "K20": Row("series", ground(100, (Ball((0.0, 0.0, 0.0), 2.0), 20)), rod(3, 3), 32.614,
               ((-3.0, 0.0), (4.0, 0.0)), (3.002, 8.962)),
    "K21": Row("series", ground(100, (Ball((0.0, 0.0, 0.0), 2.0), 1e4)), rod(3, 3), 33.743,
               ((-3.0, 0.0), (4.0, 0.0)), (2.182, 9.801)),
    "K22": Row("series", ground(100, (Ball((0.0, 0.0, 0.0), 2.0), 20)), rod(1, 1.2), 21.072,
               ((-1.0, 0.0), (1.0, 0.3)), (7.474, 12.234)),
    "K24": plug(200, 60, 0.5, 1.0, 0.8, 88.131, _four, (50.113, 28.010, 19.914, 7.884)),
    "K25": plug(100, 2000, 0.5, 1.0, 0.8, 1536.0, _four, (208.92, 14.793, 10.235, 3.958)),
    "K26": plug(50, 500, 0.5, 0.6, 2.4, 23.832, _four, (7.616, 4.465, 3.741, 1.849)),
    "K27": plug(400, 20, 0.5, 0.6, 2.4, 96.144, _four, (83.807, 51.747, 37.349, 15.470)),
    "K28": plug(500, 5, 0.4, 0.8, 3.0, 102.48, _four, (100.30, 59.327, 44.034, 19.009)),
    "K29": plug(100, 3000, 3.0, 0.15, 2.0, 49.402, _four, (20.694, 11.479, 8.689, 3.757)),
    "K30": Row("panels", ground(200, (_block(1.0), 60)), rod(0, 0.8), 86.043,
               ((0.3, 0.0), (1.5, 0.0)), (47.75, 19.90)),
    "K31": Row("panels", ground(400, (_block(0.6), 20)), rod(0, 2.4), 91.66,
               ((0.3, 0.0), (1.5, 0.0)), (78.80, 37.70), band=0.3),
    "K32": Row("panels", ground(100, (_basement, np.inf)), rod(0, 3), 35.479,
               ((0.5, 0.0), (-1.0, 0.0), (8.0, 0.0)), (16.830, 11.066, 1.373)),
    "K33": Row("panels", ground(100, (_cube, 5000)), rod(0, 3), 35.04,
               ((1.05, 0.0), (-0.95, 0.0)), (9.338, 10.407)),
    "K34": Row("panels", ground(100, (_steel, 0.001)), rod(0, 3), 32.400,
               ((1.0, 0.0), (-1.0, 0.0)), (9.249, 8.966)),
    "K35": Row("thin wires", Soil((100.0,)), grid(6, 0.4), 7.659,
               ((1.5, 1.5), (3.8, 3.8), (3.5, 0.0), (3.0, 3.0), (0.0, 0.0)),
               (5.566, 3.450, 5.236, 5.334, 6.785)),
    "K36": Row("panels", ground(100, (_pad, 3000)), grid(6, 0.4), 7.833,
               ((1.5, 1.5), (3.8, 3.8), (3.5, 0.0), (3.0, 3.0), (0.0, 0.0)),
               (5.568, 3.351, 5.283, 5.611, 7.07)),
    "K37": Row("panels", ground(200, (_shallow, 20)), grid(10, 0.8), 8.938,
               (*_meshes, (0.0, 8.0)), (6.326, 6.418, 5.752, 4.632)),
    "K38": Row("panels", ground(200, (_deep, 20)), grid(10, 0.6), 6.6575,
               (*_meshes, (0.0, 9.0)), (5.179, 6.148, 4.572, 4.889)),
    "K39": Row("panels", Soil((200.0, 50.0), (2.0,),
                              (Body("box", box((0.5, -1.0), (2.5, 1.0), 0.3, 1.3), 20.0),)),
               rod(0, 1.5), 104.04, ((1.5, 0.0), (-1.5, 0.0)), (9.94, 9.93), band=0.3),
}  # fmt: skip


@dataclass(frozen=True)
class Outcome:
    """What a row comes to: errors and the stated band, of the value; potentials of the rise."""

    ours: float
    error: float
    worst: float
    stated: float
    stated_voltage: float
    unknowns: int
    steps: int
    seconds: float


def outcome_of(row: Row) -> Outcome:
    """A row solved as a run does it, with the coarser mesh that shows how good it is."""
    began = process_time()
    plan = mesh_plan(row.metal, soil=row.soil, fineness=row.fineness, growth_limit=_growth)
    fine = solve(build_mesh(plan), soil=row.soil, conductors=row.metal)
    seconds = process_time() - began
    rough = mesh_plan(
        row.metal,
        soil=row.soil,
        fineness=row.fineness / _coarser,
        cut=None if plan.cut is None else plan.cut.wider(_coarser),
    )
    spread = rough.element_size * plan.spread / plan.element_size
    coarse = solve(
        build_mesh(replace(rough, spread=spread)), soil=row.soil, conductors=row.metal
    )
    places = np.array([(*place, 0.0)[:3] for place in row.places]).reshape(-1, 3)
    found = [
        (one, one * solution.potential(places, voltage=np.ones(1)))
        for solution in (fine, coarse)
        for one in [1 / float(solution.current_matrix[0, 0])]
    ]
    (ours, there), (other, elsewhere) = found
    accuracy = Accuracy(
        growth=plan.growth,
        coarse_growth=rough.growth,
        coarse_elements=len(coarse.mesh.tetrahedra),
        resistance=abs(other / ours - 1),
        touch=float(np.abs(elsewhere - there).max(initial=0.0) / ours),
        step=0.0,
        tolerance=1.0,
        model_resistance=fine.model_doubt[0],
        model_voltage=fine.model_doubt[1],
        order=order_of_error(coarse, ratio=rough.growth / plan.growth),
    )
    return Outcome(
        ours=ours,
        error=ours / row.resistance - 1,
        worst=float(np.abs(there - row.potentials).max(initial=0.0) / ours),
        stated=accuracy.estimates[0],
        stated_voltage=accuracy.estimates[1],
        unknowns=fine.space.size,
        steps=max(fine.checks.iterations),
        seconds=seconds,
    )


heading = (
    "| id | how | value, Ω | ours | error, % | stated | worst potential, % of rise "
    "| stated | held | unknowns | steps | s | GB |\n" + "|---" * 13 + "|"
)


def line_of(name: str, row: Row) -> str:
    """A row of the table."""
    got = outcome_of(row)
    held = abs(got.error) <= got.stated + row.band / 100
    held &= got.worst <= got.stated_voltage + _potential_band
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    return (
        f"| {name} | {row.how} | {row.resistance:g} | {got.ours:.5g} | "
        f"{100 * got.error:+.2f} | "
        f"{100 * got.stated:.2f} | {100 * got.worst:.2f} | {100 * got.stated_voltage:.2f} | "
        f"{'yes' if held else 'NO'} | {got.unknowns:,} | {got.steps} | {got.seconds:.1f} | "
        f"{memory:.2f} |"
    )


def main() -> None:
    """Print the table of all rows, or of those named."""
    print(heading)
    for name in sys.argv[1:] or rows:
        print(line_of(name, rows[name]), flush=True)


if __name__ == "__main__":
    main()
