"""Sites of bodies and metal drawn at random: each is solved, or refused with a reason.

    python benchmarks/random_bodies.py [COUNT [FIRST [KIND ...]]]

Soils of one to three layers of 5 to 5000 ohm m with one to four bodies of any shape, of 0.01
to 100,000 ohm m or void, and a rod, a wire, a ring or a grid anywhere among them, from a seed.
The kinds take turns: such sites, and sites with bodies that touch, metal in fill near faces,
layers of 0.1 to 0.3 m, films on faces, an open cut in the layers. Two have a second way: bodies
of their layer's own resistivity, beside thin wires in the layers and the same mesh without
them; and a body among two rods, each of which is solved alone with the other one away
(reciprocity).
"""

import sys
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from time import process_time

import numpy as np
from bodies import Row, outcome_of

from ohmscape.meshes import build_mesh, mesh_plan
from ohmscape.solver.bodies import Ball, Body, Cylinder, Film, HalfSpace, Prism, Shape
from ohmscape.solver.bodies.between import reaches_into
from ohmscape.solver.errors import CaseError, OhmscapeError
from ohmscape.solver.field.checks import balance_limit
from ohmscape.solver.field.solution import Solution, solve
from ohmscape.solver.model import Conductors, Soil
from ohmscape.solver.thin_wire import second_opinion

_seed, _count = 20_261, 60
_changes_nothing, _alike = 5e-4, 3e-3  # of a resistance; of a transfer resistance, of its rise
Site = tuple[Soil, Conductors]
Draw = Callable[[np.random.Generator], Site]


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


def _layers(rng: np.random.Generator) -> Soil:
    layers = int(rng.integers(1, 4))
    resistivity = tuple(np.exp(rng.uniform(np.log(5), np.log(5000), layers)).tolist())
    return Soil(resistivity, tuple(rng.uniform(0.3, 4.0, layers - 1).tolist()))


def _value(rng: np.random.Generator) -> float:
    """Of a body, a void now and then. [Ω·m]"""
    value = float(np.exp(rng.uniform(np.log(0.01), np.log(1e5))))
    return np.inf if rng.random() < 0.15 else value


def _with_bodies(soil: Soil, rng: np.random.Generator, most: int = 4) -> Soil:
    """Layers with bodies that do not overlap with what is there."""
    bodies = list(soil.bodies)
    for _ in range(int(rng.integers(1, most + 1))):
        shape = _shape(rng)
        if not any(reaches_into(shape, other.shape) for other in bodies):
            bodies.append(Body(f"body {len(bodies)}", shape, _value(rng)))
    return replace(soil, bodies=tuple(bodies))


def _soil(rng: np.random.Generator) -> Soil:
    return _with_bodies(_layers(rng), rng)


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


def touching(rng: np.random.Generator) -> Site:
    """A box with another on its side, one below it or a cylinder under it."""
    low, size = rng.uniform(-4, 2, 2), np.exp(rng.uniform(np.log(0.5), np.log(5.0), 2))
    (a, b), (c, d) = low, low + size
    deep = float(np.exp(rng.uniform(np.log(0.2), np.log(2.5))))
    shapes: list[Shape] = [Prism(((a, b), (c, b), (c, d), (a, d)), 0.0, deep)]
    if rng.random() < 0.6:
        far, start, end = (
            c + rng.uniform(0.4, 3.0),
            b + rng.uniform(-1, 0.5),
            d + rng.uniform(-0.5, 1),
        )
        other = ((c, start), (far, start), (far, end), (c, end))
        shapes.append(Prism(other, 0.0, deep * float(rng.choice([0.5, 1.0, 1.6]))))
    if rng.random() < 0.6:
        below = deep + float(rng.uniform(0.2, 2.0))
        middle = ((a + c) / 2, (b + d) / 2)
        inner = Cylinder(middle, 0.45 * float(size.min()), deep, below)
        whole = Prism(((a, b), (c, b), (c, d), (a, d)), deep, below)
        shapes.append(inner if rng.random() < 0.5 else whole)
    bodies = tuple(Body(f"body {k}", one, _value(rng)) for k, one in enumerate(shapes))
    return replace(_layers(rng), bodies=bodies), _metal(rng)


def in_fill(rng: np.random.Generator) -> Site:
    """Rods or wires in fill of some centimetres among bodies."""
    metal, soil = _metal(rng), _soil(rng)
    wide = metal.radius + float(rng.uniform(0.02, 0.12))
    fill = float(np.exp(rng.uniform(np.log(0.05), np.log(50.0))))
    cover = float(rng.choice([0.0, 0.1]))
    return soil, replace(
        metal,
        sheath_radius=wide,
        sheath_resistivity=np.full(len(wide), fill),
        sheath_cover=np.full(len(wide), cover),
    )


def thin_layers(rng: np.random.Generator) -> Site:
    """One to three layers of 0.1 to 0.3 m at the surface or below, and bodies."""
    thin = int(rng.integers(1, 4))
    above = rng.uniform(0.3, 1.5, int(rng.integers(0, 2)))
    thickness = (*above.tolist(), *rng.uniform(0.1, 0.3, thin).tolist())
    values = np.exp(rng.uniform(np.log(5), np.log(5000), len(thickness) + 1))
    return _with_bodies(Soil(tuple(values.tolist()), thickness), rng, 2), _metal(rng)


def filmed(rng: np.random.Generator) -> Site:
    """Bodies with films on some of their faces or all."""
    soil, faces = _soil(rng), (("bottom",), ("walls", "bottom"), ("top", "walls", "bottom"))
    bodies = []
    for body in soil.bodies:
        resistance = float(np.exp(rng.uniform(np.log(0.1), np.log(1e5))))
        film = Film(resistance, faces[int(rng.integers(3))])
        no_film = body.void or isinstance(body.shape, HalfSpace)
        bodies.append(body if no_film else replace(body, film=film))
    return replace(soil, bodies=tuple(bodies)), _metal(rng)


def cut(rng: np.random.Generator) -> Site:
    """Layers that end at an open cut, as deep as a bench or without a bottom."""
    angle, far = rng.uniform(0, 2 * np.pi), float(rng.uniform(0.5, 6.0))
    way = (float(np.cos(angle)), float(np.sin(angle)))
    deep = np.inf if rng.random() < 0.4 else float(rng.uniform(0.8, 5.0))
    body = Body("cut", HalfSpace((far * way[0], far * way[1]), way, 0.0, deep), np.inf)
    soil = replace(_layers(rng), bodies=(body,))
    return (_with_bodies(soil, rng, 1) if rng.random() < 0.4 else soil), _metal(rng)


def of_own_soil(rng: np.random.Generator) -> Site:
    """Bodies of the resistivity of uniform soil, or of the layer that holds them whole."""
    soil = _layers(rng) if rng.random() < 0.5 else Soil((float(rng.uniform(20, 2000)),))
    made, bodies = _with_bodies(soil, rng), []
    for body in made.bodies:
        low, high = body.shape.bounds()
        first, last = (int(soil.layer_at(depth)) for depth in (-high[2] + 1e-9, -low[2] - 1e-9))
        if first == last:
            bodies.append(replace(body, resistivity=soil.resistivity[first]))
    if not bodies:
        bodies = [Body("body 0", Cylinder((1.0, 0.5), 1.2, 0.0, 0.25), soil.resistivity[0])]
    return replace(soil, bodies=tuple(bodies)), _metal(rng)


def between_rods(rng: np.random.Generator) -> Site:
    """A rod in or beside a body, another one beyond it, each a group."""
    soil = _with_bodies(Soil(_layers(rng).resistivity[:1]), rng, 1)
    spots, length = rng.uniform(-6, 6, (2, 2)), rng.uniform(0.5, 3.0, 2)
    spots[1] = spots[0] + max(1.0, np.linalg.norm(spots[1] - spots[0])) * _unit(
        spots[1] - spots[0]
    )
    top = np.column_stack([spots, np.zeros(2)])
    tip = top - np.column_stack([np.zeros((2, 2)), length])
    return soil, Conductors.bare(top, end=tip, radius=0.008, group=[0, 1])


def _unit(way: np.ndarray) -> np.ndarray:
    return np.asarray(way / np.linalg.norm(way))


kinds: dict[str, Draw] = {
    "any": lambda rng: (_soil(rng), _metal(rng)),
    "touching": touching,
    "in fill": in_fill,
    "thin layers": thin_layers,
    "films": filmed,
    "cut": cut,
    "own soil": of_own_soil,
    "between rods": between_rods,
}


def _solved(soil: Soil, metal: Conductors) -> Solution:
    plan = mesh_plan(metal, soil=soil, fineness=0.8, growth_limit=0.4)
    return solve(build_mesh(plan), soil=soil, conductors=metal)


def _faults(solution: Solution, soil: Soil) -> str:
    """What of a solution cannot be, in words."""
    rng, unit = np.random.default_rng(1), np.ones(len(solution.current_matrix))
    places = np.column_stack([rng.uniform(-12, 12, (400, 2)), np.zeros(400)])
    leads = np.isfinite(soil.resistivity_at(places))
    potential = solution.potential(places[leads], voltage=unit)
    checks = solution.checks
    if max(checks.balance, checks.energy) > balance_limit:
        return f"balance {checks.balance:.1e}, energy {checks.energy:.1e}"
    # At the voltage of the metal, and nowhere, it is only where points lie on metal.
    if not (np.isfinite(potential).all() and potential.min() > -1e-3):
        return f"potential from {potential.min():.3g}"
    if (potential > 1 - 1e-9).sum() > 3:
        return "potential as high as the metal's beside it"
    return ""


def _second_way(
    kind: str, soil: Soil, metal: Conductors, solution: Solution
) -> tuple[str, str]:
    """What a second way says of a solution: a fault, and the figures. Empty without one."""
    if kind == "own soil":
        return _without_them(soil, metal, solution)
    if kind == "between rods":
        return _both_ways(soil, metal)
    return "", ""


def _without_them(soil: Soil, metal: Conductors, solution: Solution) -> tuple[str, str]:
    layers = soil.layers_alone
    alone = solve(solution.mesh, soil=layers, conductors=metal)
    change = float(solution.current_matrix[0, 0] / alone.current_matrix[0, 0] - 1)
    wires = second_opinion(metal, soil=layers)
    value = 1 / float(wires.current_matrix[0, 0])
    row = Row("thin wires", soil, metal, value, fineness=0.8)
    got = outcome_of(row)
    says = (
        f"changes {100 * change:+.4f} %; {100 * got.error:+.2f} % beside thin wires, which "
        f"state {100 * wires.resistance_error:.2f}, {100 * got.stated:.2f} stated"
    )
    fault = abs(change) > _changes_nothing
    fault |= abs(got.error) > got.stated + wires.resistance_error
    return (says if fault else ""), says


def _both_ways(soil: Soil, metal: Conductors) -> tuple[str, str]:
    """The potential at one rod that is away by the other, and the reverse."""
    found, doubt = [], 0.0
    alone = [
        Conductors.bare(metal.start[[k]], end=metal.end[[k]], radius=metal.radius[[k]])
        for k in (0, 1)
    ]
    solved = [_solved(soil, one) for one in alone]
    for one, other in ((0, 1), (1, 0)):
        there, here = solved[one], solved[other]
        weight = here.current[0] / here.current[0].sum()
        mean = weight @ there.potential(here.elements.middle, voltage=np.ones(1))
        found.append(float(mean / there.current_matrix[0, 0]))
        doubt = max(doubt, 1 / float(there.current_matrix[0, 0]))
    change = (found[0] - found[1]) / max(abs(found[0]), 1e-12)
    off = abs(found[0] - found[1]) / doubt
    says = f"transfer {found[0]:.4g} and {found[1]:.4g} ohm, {100 * change:+.2f} %"
    return (says if off > _alike and abs(change) > _alike else ""), says


def main(count: int = _count, first: int = 0, *chosen: str) -> None:
    """Print a line for each site, and how many went which way."""
    names, tally = list(chosen or kinds), Counter[tuple[str, str]]()
    for number in range(first, first + count):
        kind = names[number % len(names)]
        soil, metal = kinds[kind](np.random.default_rng([_seed, number]))
        began = process_time()
        try:
            solution = _solved(soil, metal)
            fault = _faults(solution, soil)
            other, says = _second_way(kind, soil, metal, solution)
            fault = fault or other
            one = 1 / float(solution.current_matrix[0, 0])
            way = "wrong" if fault else "solved"
            says = fault or (
                f"{one:.4g} ohm, {solution.space.size:,} unknowns, "
                f"{max(solution.checks.iterations)} steps; {says}"
            )
        except CaseError as error:
            way, says = "refused", str(error)
        except OhmscapeError as error:
            way, says = type(error).__name__, str(error)
        tally[kind, way] += 1
        spent = process_time() - began
        print(f"{number:3} {kind:12} {way:8} {spent:5.1f} s  {says[:180]}", flush=True)
    for (kind, way), many in sorted(tally.items()):
        print(f"{kind}: {many} {way}")


if __name__ == "__main__":
    main(*(int(each) for each in sys.argv[1:3]), *sys.argv[3:])
