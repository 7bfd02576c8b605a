"""Finite elements beside thin conductors in soils drawn at random: two independent methods.

Usage: python benchmarks/random_soils.py [SEED [COUNT]]

Two to five layers of 0.2 to 8 m and 3 to 5000 ohm m, with a rod, a ring or a grid in turn. One
row each: resistance by finite elements, its difference from the other method, the largest
difference of the potential at three places in % of the rise, steps of the solver, layers.
"""

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests" / "solver"))

from measuring import resistance, solved
from soils_at_random import ELECTRODES, drawn

from ohmscape.solver.solved_soil import Field
from ohmscape.solver.thin_wire import second_opinion

PLACES = np.array([[4.0, 3.0, 0.0], [12.0, -7.0, 0.0], [30.0, 1.0, 0.0]])


def main(seed: int = 1, count: int = 24) -> None:
    random = np.random.default_rng(seed)
    names = list(ELECTRODES)
    off = []
    print(f"{'':<6}{'ohm':>10}{'off':>9}{'off at places':>15}{'steps':>7}  layers [ohm m / m]")
    for number in range(count):
        name, soil = names[number % len(names)], drawn(random)
        opinion = second_opinion(ELECTRODES[name], soil=soil)
        other = float(1.0 / opinion.current_matrix.sum())
        solution = solved(ELECTRODES[name], soil=soil)
        ohms = resistance(solution)
        here = Field(solution, np.array([ohms])).potential(PLACES) / ohms
        there = opinion.potential(PLACES, voltage=np.array([other])) / other
        off.append(ohms / other - 1)
        parts = [f"{value:.3g}" for value in soil.resistivity]
        for place, value in enumerate(soil.thickness):
            parts[place] += f" / {value:.2g}"
        print(
            f"{name:<6}{ohms:>10.4g}{off[-1]:>+9.2%}{np.abs(here - there).max():>14.2%} "
            f"{max(solution.checks.iterations):>7}  {' / '.join(parts)}",
            flush=True,
        )
    print(f"largest {np.abs(off).max():.2%}, median {np.median(np.abs(off)):.2%}")


if __name__ == "__main__":
    main(*(int(value) for value in sys.argv[1:3]))
