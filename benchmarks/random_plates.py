"""Plates near the plane between two layers, drawn at random, beside panels without a mesh.

    python benchmarks/random_plates.py [SEED [COUNT]]

A rectangle or a disc, level, tilted or upright, with its nearest corner 0.1 % to 30 % of its
size above or below a plane, across it or in it, in turn; resistivities ten and a hundred apart,
either way. One row each: by panels, by finite elements, their difference and what both
state of themselves, of the resistance and of the potential at four places of the surface.
"""

import sys

import numpy as np
from bodies import Row, outcome_of

from ohmscape.solver.model import Floats, Soil
from ohmscape.solver.patches import bare_plates, disc, rectangle
from ohmscape.solver.thin_wire import second_opinion

_fineness = 0.8  # as runs at normal accuracy have it
_where = ("above", "below", "across", "in")
heading = (
    "| plate | plane, m | gap, m | soil, Ω·m | panels, Ω | stated, % | elements, Ω | stated, % "
    "| apart, % | potentials apart, % of rise | stated, % | held |\n" + "|---" * 12 + "|"
)


def drawn(random: np.random.Generator, where: str) -> tuple[str, Floats, float, float]:
    """A plate by its words, its patches, the depth of the plane, and how far they are apart."""
    tilt = 0.0 if where == "in" else float(random.choice([0.0, 90.0, random.uniform(10, 80)]))
    if where == "across" and tilt == 0:
        tilt = 90.0
    slope = np.radians(tilt)
    along, across = np.array([1.0, 0, 0]), np.array([0, np.cos(slope), -np.sin(slope)])
    sides = random.uniform(0.3, 1.2, size=2)
    if random.random() < 0.4:
        made = disc(np.zeros(3), radius=0.5 * sides[0], along=along, across=across)
        words = f"disc {sides[0]:.2f} across"
    else:
        made = rectangle(np.zeros(3), along=sides[0] * along, across=sides[1] * across)
        words = f"{sides[0]:.2f} x {sides[1]:.2f}"
    half = float(made[..., 2].max())
    gap = float(np.exp(random.uniform(np.log(0.001), np.log(0.3)))) * float(sides.max())
    gap = 0.0 if where in ("across", "in") else gap
    off = {"above": half + gap, "below": -half - gap, "in": 0.0}
    plane = random.uniform(0.3, 1.2) + {"above": 2 * half + gap, "below": 0.0}.get(where, half)
    made[..., 2] += off.get(where, random.uniform(-0.8, 0.8) * half) - plane
    return f"{words}, {tilt:.0f} deg, {where}", made, plane, gap


def main(seed: int = 1, count: int = 20) -> None:
    """Print the table."""
    random = np.random.default_rng(seed)
    apart, held = [], 0
    print(heading)
    for number in range(count):
        soil = (100.0, 100.0 * (10.0, 100.0)[number % 2])[:: random.choice([1, -1])]
        words, patches, plane, gap = drawn(random, _where[number // 2 % len(_where)])
        layers, metal = Soil(tuple(soil), (plane,)), bare_plates([patches])
        opinion = second_opinion(metal, soil=layers)
        ohms = float(opinion.resistance[0, 0])
        places = np.array([[0.7, 0.2, 0.0], [1.5, -0.8, 0.0], [0.1, 3.0, 0.0], [0.0, 0.0, 0.0]])
        volts = ohms * opinion.potential(places, voltage=np.ones(1))
        row = Row(
            "panels",
            layers,
            metal,
            ohms,
            places=tuple(map(tuple, places.tolist())),
            potentials=tuple(volts.tolist()),
            fineness=_fineness,
        )
        got, own = outcome_of(row), opinion.resistance_error
        apart.append(got.error)
        good = abs(got.error) <= got.stated + own and got.worst <= got.stated_voltage + own
        held += good
        print(
            f"| {words} | {plane:.2f} | {gap:.4f} | {soil[0]:g} / {soil[1]:g} | {ohms:.5g} "
            f"| {100 * own:.2f} | {got.ours:.5g} | {100 * got.stated:.2f} "
            f"| {100 * got.error:+.2f} | {100 * got.worst:.2f} "
            f"| {100 * got.stated_voltage:.2f} | {'yes' if good else 'NO'} |",
            flush=True,
        )
    off = np.abs(apart)
    print(f"{held} of {count} held; largest {off.max():.2%}, median {np.median(off):.2%}")


if __name__ == "__main__":
    main(*(int(value) for value in sys.argv[1:3]))
