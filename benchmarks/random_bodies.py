"""Sites of bodies and metal drawn at random: each is solved, or refused with a reason.

    python benchmarks/random_bodies.py [COUNT [FIRST]]

Soils of one to three layers of 5 to 5000 ohm m with one to four bodies of any shape, of 0.01
to 100,000 ohm m or void, and a rod, a wire, a ring or a grid anywhere among them, from a seed.
"""

import sys
from collections import Counter
from time import process_time

import numpy as np

from ohmscape.meshes import build_mesh, mesh_plan
from ohmscape.solver.bodies import Ball, Body, Cylinder, HalfSpace, Prism, Shape
from ohmscape.solver.bodies.between import reaches_into
from ohmscape.solver.errors import CaseError, OhmscapeError
from ohmscape.solver.field.solution import Solution, solve
from ohmscape.solver.model import Conductors, Soil

_seed, _count = 20_261, 60


def _shape(rng: np.random.Generator) -> Shape:
    """A shape within some metres of the origin, from pads to rock."""
    x, y = rng.uniform(-8, 8, 2)
    size, top = np.exp(rng.uniform(np.log(0.4), np.log(8.0), 2)), 0.0
    if rng.random() < 0.4:
        top = float(rng.uniform(0.1, 1.5))
    deep = top + float(np.exp(rng.uniform(np.log(0.12), np.log(4.0))))
    kind = rng.integers(5)
    if kind == 0:
        return Ball((x, y, float(rng.uniform(-0.3, 2.0))), 0.4 + 0.3 * float(size[0]))
    if kind == 1:
        return Cylinder((x, y), 0.5 * float(size[0]), top, deep)
    if kind == 2:
        angle = rng.uniform(0, 2 * np.pi)
        point = (6 * np.cos(angle), 6 * np.sin(angle))
        return HalfSpace(point, (np.cos(angle), np.sin(angle)), 0.0, np.inf)
    turn, corners = rng.uniform(0, np.pi), np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) / 2
    turned = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    outline = (corners * size) @ turned + [x, y]
    return Prism(tuple((float(a), float(b)) for a, b in outline), top, deep)


def _soil(rng: np.random.Generator) -> Soil:
    """Layers and bodies that do not overlap."""
    layers = int(rng.integers(1, 4))
    resistivity = tuple(np.exp(rng.uniform(np.log(5), np.log(5000), layers)).tolist())
    bodies: list[Body] = []
    for _ in range(int(rng.integers(1, 5))):
        shape = _shape(rng)
        if any(reaches_into(shape, other.shape) for other in bodies):
            continue
        value = float(np.exp(rng.uniform(np.log(0.01), np.log(1e5))))
        value = np.inf if rng.random() < 0.15 else value
        bodies.append(Body(f"body {len(bodies)}", shape, value))
    return Soil(resistivity, tuple(rng.uniform(0.3, 4.0, layers - 1).tolist()), tuple(bodies))


def _metal(rng: np.random.Generator) -> Conductors:
    """A rod, a wire, a ring of eight pieces or a small grid."""
    x, y = rng.uniform(-5, 5, 2)
    depth, kind = float(rng.uniform(0.3, 1.2)), rng.integers(4)
    radius = float(rng.uniform(0.004, 0.01))
    if kind == 0:
        long = float(rng.uniform(1.0, 6.0))
        return Conductors.bare([[x, y, 0.0]], end=[[x, y, -long]], radius=radius)
    if kind == 1:
        far = rng.uniform(-8, 8, 2)
        return Conductors.bare([[x, y, -depth]], end=[[*far, -depth]], radius=radius)
    if kind == 2:
        angle = np.linspace(0, 2 * np.pi, 9)
        plan = (x + 3 * np.cos(angle), y + 3 * np.sin(angle))
        ring = np.column_stack([*plan, np.full(9, -depth)])
        return Conductors.bare(ring[:-1], end=ring[1:], radius=radius)
    half, ends = float(rng.uniform(2, 8)), []
    for v in (-half, 0.0, half):
        for a, b in ((-half, 0.0), (0.0, half)):
            ends += [((a, v), (b, v)), ((v, a), (v, b))]
    points = np.array([[(*(a + np.array([x, y])), -depth) for a in pair] for pair in ends])
    return Conductors.bare(points[:, 0], end=points[:, 1], radius=radius)


def _faults(solution: Solution, soil: Soil) -> str:
    """What of a solution cannot be, in words."""
    rng, unit = np.random.default_rng(1), np.ones(1)
    places = np.column_stack([rng.uniform(-12, 12, (400, 2)), np.zeros(400)])
    leads = np.isfinite(soil.resistivity_at(places))
    potential = solution.potential(places[leads], voltage=unit)
    # At the voltage of the metal, and nowhere, it is only where points lie on metal.
    if not (np.isfinite(potential).all() and potential.min() > -1e-3):
        return f"potential from {potential.min():.3g}"
    if (potential > 1 - 1e-9).sum() > 3:
        return "potential as high as the metal's beside it"
    return ""


def main(count: int = _count, first: int = 0) -> None:
    """Print a line for each site, and how many went which way."""
    tally: Counter[str] = Counter()
    for number in range(first, first + count):
        rng = np.random.default_rng([_seed, number])
        soil, metal = _soil(rng), _metal(rng)
        began = process_time()
        try:
            plan = mesh_plan(metal, soil=soil, fineness=0.8, growth_limit=0.4)
            solution = solve(build_mesh(plan), soil=soil, conductors=metal)
            fault = _faults(solution, soil)
            one = 1 / float(solution.current_matrix[0, 0])
            kind = "wrong" if fault else "solved"
            says = fault or f"{one:.4g} ohm, {solution.space.size:,} unknowns, "
            says += "" if fault else f"{max(solution.checks.iterations)} steps"
        except CaseError as error:
            kind, says = "refused", str(error)
        except OhmscapeError as error:
            kind, says = type(error).__name__, str(error)
        tally[kind] += 1
        print(f"{number:3} {kind:8} {process_time() - began:5.1f} s  {says[:150]}", flush=True)
    print(dict(tally))


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
