"""Vertical rods in backfill or a coating beside their true metal and fill.

Usage: python benchmarks/fills.py SEED COUNT

Cases drawn at random: heads flush or buried, fill of 50 to 300 mm, better or worse than the
soil, with and without cover, uniform soil or two layers. Each row: resistance by finite
elements at normal accuracy, by the axisymmetric solver, the difference, the largest one of the
surface potential in the fill and outside it in % of the rise, and the error a run would state.
"""

import sys
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests" / "solver"))

import field_layouts as lay
from ends import summary
from measuring import _plan, resistance

from ohmscape.jobs.solving import coarsenings
from ohmscape.meshes import build_mesh
from ohmscape.solver.axisymmetric import Cylinder, Fill, solve_axisymmetric
from ohmscape.solver.field.solution import solve
from ohmscape.solver.model import Soil
from ohmscape.solver.results.result import Accuracy
from ohmscape.solver.solved_soil import Field


def _drawn(seed: int, count: int):
    random = np.random.default_rng(seed)

    def log(low: float, high: float) -> float:
        return float(np.exp(random.uniform(np.log(low), np.log(high))))

    for number in range(count):
        metal = SimpleNamespace(radius=log(0.005, 0.02), length=log(0.6, 3.5), top=0.0)
        radius = max(0.5 * log(0.05, 0.3), 1.2 * metal.radius)
        cover = float(random.choice([0.0, log(0.01, 0.2)]))
        if number % 3 == 2:
            metal.top = cover + log(0.02, 1.0)
        fill = Fill(radius=radius, resistivity=log(0.5, 1000.0), cover=cover)
        soil = Soil((log(10.0, 1000.0),))
        if number % 2:
            plane = (metal.top + metal.length) * float(random.uniform(0.3, 1.7))
            soil = Soil((log(10.0, 1000.0), log(10.0, 1000.0)), (plane,))
        yield metal, fill, soil


def _row(metal: SimpleNamespace, fill: Fill, soil: Soil) -> tuple[float, ...]:
    conductors = replace(
        lay.rods([0.0, 0.0], length=metal.length, radius=metal.radius, top=metal.top),
        sheath_radius=np.array([fill.radius]),
        sheath_resistivity=np.array([fill.resistivity]),
        sheath_cover=np.array([fill.cover]),
    )
    layout = SimpleNamespace(conductors=lambda: conductors, soil=soil)
    plans = [_plan(layout, coarser=ratio) for ratio in (1.0, coarsenings[0])]
    fine, coarse = (solve(build_mesh(p), soil=soil, conductors=conductors) for p in plans)
    ohms, change = resistance(fine), abs(resistance(coarse) / resistance(fine) - 1)
    stated = Accuracy(plans[0].growth, plans[1].growth, 0, 0.0, 0.0, 0.0, tolerance=1.0)
    cylinder = Cylinder(radius=metal.radius, length=metal.length, top_depth=metal.top)
    true = solve_axisymmetric(cylinder, soil=soil, fill=fill, fineness=2.0)
    inner = 0.0 if metal.top > 0 else 1.02 * metal.radius
    inside = np.linspace(inner, fill.radius, 9)
    places = np.concatenate([inside, fill.radius * np.geomspace(1.05, 12.0, 12)])
    share = Field(fine, np.ones(1)).potential(np.outer(places, [1.0, 0.0, 0.0]))
    off = np.abs(share - true.potential(places, current=1 / true.resistance))
    error = ohms / true.resistance - 1
    return ohms, true.resistance, error, off[:9].max(), off[9:].max(), stated.estimate(change)


def main(seed: int, count: int) -> None:
    rows = []
    for metal, fill, soil in _drawn(seed, count):
        row = _row(metal, fill, soil)
        rows.append(row[2:])
        print(
            f"{row[0]:>9.3f}{row[1]:>9.3f}{row[2]:>+8.2%}{row[3]:>7.2%}{row[4]:>7.2%}"
            f"{row[5]:>8.2%}  a {1e3 * metal.radius:.3g} b {1e3 * fill.radius:.3g} mm, "
            f"{fill.resistivity:.3g}, cover {1e3 * fill.cover:.3g} mm, top {metal.top:.3g}, "
            f"length {metal.length:.3g} m, {soil.resistivity} {soil.thickness}",
            flush=True,
        )
    off, inside, outside, states = np.abs(np.array(rows)).T
    print(
        f"{summary(off, states=states)}; "
        f"surface {inside.max():.2%} in the fill and {outside.max():.2%} outside at most"
    )


if __name__ == "__main__":
    main(*(int(value) for value in sys.argv[1:3]))
