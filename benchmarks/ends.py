"""Tips near layer planes, heads near the surface and short fat rods beside their true metal.

Usage: python benchmarks/ends.py [SEED COUNT]

Without a seed the table of offsets, contrasts and radii; with one, cases drawn at random, each
third with its head below the surface by 0.01 to 4 radii. Each row: resistance by finite
elements at normal accuracy, by the axisymmetric solver, the difference, the largest one of the
surface potential from the face (over a head below the surface: from the axis) to ten radii in
% of the rise, and the error that a run would state.
"""

import sys
from pathlib import Path
from types import SimpleNamespace

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests" / "solver"))

import field_layouts as lay
from measuring import _plan, resistance

from ohmscape.jobs.solving import coarsenings
from ohmscape.meshes import build_mesh
from ohmscape.solver.axisymmetric import Cylinder, solve_axisymmetric
from ohmscape.solver.field.solution import solve
from ohmscape.solver.model import Soil
from ohmscape.solver.results.result import Accuracy
from ohmscape.solver.solved_soil import Field


def _table():
    for radius in (0.008, 0.02):
        for low in (40.0, 4.0):
            for resistivity in ((400.0, low), (low, 400.0)):
                for offset in (-0.05, -0.003, 0.0, 0.003, 0.05):
                    yield 2.4 + offset, radius, 0.0, Soil(resistivity, (2.4,))
    for radii in (20, 9, 7, 5, 3):
        yield radii * 0.05, 0.05, 0.0, Soil((100.0,))


def _drawn(seed: int, count: int):
    random = np.random.default_rng(seed)
    for number in range(count):
        radius = float(np.exp(random.uniform(np.log(0.006), np.log(0.06))))
        resistivity = np.exp(random.uniform(np.log(5.0), np.log(3000.0), 2))
        if number % 2:
            length = radius * float(np.exp(random.uniform(np.log(3.0), np.log(40.0))))
            offset = length * float(random.uniform(-0.5, 0.5))
        else:
            length = float(random.uniform(0.8, 3.6))
            offset = radius * float(random.choice([0.0, random.uniform(-8.0, 8.0)]))
        top = 0.0
        if number % 3 == 2:
            top = radius * float(np.exp(random.uniform(np.log(0.01), np.log(4.0))))
        depth = max(top + length - offset, 0.1)
        yield length, radius, top, Soil(tuple(resistivity.tolist()), (depth,))


def _row(length: float, radius: float, top: float, soil: Soil) -> tuple[float, ...]:
    conductors = lay.rods([0.0, 0.0], length=length, radius=radius, top=top)
    layout = SimpleNamespace(conductors=lambda: conductors, soil=soil)
    plans = [_plan(layout, coarser=ratio) for ratio in (1.0, coarsenings[0])]
    fine, coarse = (solve(build_mesh(p), soil=soil, conductors=conductors) for p in plans)
    ohms, change = resistance(fine), abs(resistance(coarse) / resistance(fine) - 1)
    stated = Accuracy(plans[0].growth, plans[1].growth, 0, 0.0, 0.0, 0.0, tolerance=1.0)
    metal = Cylinder(radius=radius, length=length, top_depth=top)
    true = solve_axisymmetric(metal, soil=soil, fineness=2.0)
    over = np.linspace(0.0, 1.0, 9) if top > 0 else np.zeros(0)
    away = radius * np.concatenate([over, np.geomspace(1.1, 10.0, 12)])
    share = Field(fine, np.ones(1)).potential(np.outer(away, [1.0, 0.0, 0.0]))
    off = np.abs(share - true.potential(away, current=1 / true.resistance)).max()
    return ohms, true.resistance, ohms / true.resistance - 1, off, stated.estimate(change)


def main(seed: int | None = None, count: int = 40) -> None:
    cases = _table() if seed is None else _drawn(seed, count)
    print(
        f"{'length':>8}{'radius':>8}{'top':>9}{'ohm':>10}{'true':>10}{'off':>8}{'rise':>7}{'states':>8}"
    )
    rows = []
    for length, radius, top, soil in cases:
        row = _row(length, radius, top, soil)
        rows.append(row[2:])
        print(
            f"{length:>8.4g}{radius:>8.3g}{top:>9.2g}{row[0]:>10.4f}{row[1]:>10.4f}{row[2]:>+8.2%}"
            f"{row[3]:>7.2%}{row[4]:>8.2%}  {soil.resistivity} {soil.thickness}",
            flush=True,
        )
    off, rise, states = np.abs(np.array(rows)).T
    print(f"{summary(off, states=states)}; surface {rise.max():.2%} at most")


def summary(off: np.ndarray, *, states: np.ndarray) -> str:
    """How far resistances are off, and how much of that was stated."""
    return (
        f"off {np.median(off):.2%} in the median, {off.max():.2%} at most; within what is "
        f"stated {np.mean(off <= states):.0%}; states {np.median(states):.2%} in the median"
    )


if __name__ == "__main__":
    main(*(int(value) for value in sys.argv[1:3]))
