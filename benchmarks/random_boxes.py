"""Metal beside boxes drawn at random, beside charges on their faces (`box_values.py`).

    python benchmarks/random_boxes.py [COUNT [FIRST [KIND]]]

"beside a box": a rod or wire 0.1 to 1 m from a box of 0.5 to 3 m, from the surface or buried,
10 or 100 times better or poorer than the soil, or of metal. "under a pad": a wire 0.05 to 0.5 m
below a pad of 2 to 6 m and 0.1 to 0.3 m, 10 or 100 times poorer. Solved and stated as in
`random_faces.py`.
"""

import sys

import numpy as np
from box_values import Box, extrapolated
from face_values import Kernel
from random_faces import Pieces, kinds, main

from ohmscape.solver.bodies import Body, Prism
from ohmscape.solver.model import Soil

_contrasts = (100.0, 1 / 100.0, 10.0, 1 / 10.0, 1e5)


def beside_a_box(rng: np.random.Generator) -> tuple[Soil, Pieces, float, Kernel]:
    """A rod or a level wire that looks at the middle of a face, or at an edge."""
    soil = float(np.exp(rng.uniform(np.log(20), np.log(2000))))
    inside = soil / _contrasts[int(rng.integers(len(_contrasts)))]
    size = np.exp(rng.uniform(np.log(0.5), np.log(3.0), 3))
    top = 0.0 if rng.random() < 0.5 else float(rng.uniform(0.2, 1.0))
    gap = float(np.exp(rng.uniform(np.log(0.1), np.log(1.0))))
    aside = float(rng.uniform(-0.6, 0.6)) * size[1]
    low = np.array([gap, aside - size[1] / 2, -top - size[2]])
    high = low + size
    high[2] = -top
    radius, length = float(rng.uniform(0.004, 0.01)), float(rng.uniform(1.0, 4.0))
    if rng.random() < 0.6:
        pieces = [(np.zeros(3), np.array([0.0, 0.0, -length]))]
    else:
        deep = -float(rng.uniform(0.3, 1.0))
        turn = float(rng.uniform(-0.4, 0.4))
        way = length / 2 * np.array([-abs(np.sin(turn)), np.cos(turn), 0.0])
        start = np.array([0.0, -length / 2, deep])
        pieces = [(start, start + 2 * way)]
    plan = ((low[0], low[1]), (high[0], low[1]), (high[0], high[1]), (low[0], high[1]))
    body = Body("box", Prism(plan, top, top + float(size[2])), inside)
    kernel = extrapolated(Box(tuple(low), tuple(high), inside, soil))
    return Soil((soil,), bodies=(body,)), pieces, radius, kernel


def under_a_pad(rng: np.random.Generator) -> tuple[Soil, Pieces, float, Kernel]:
    """A level wire below a pad in the surface, one end anywhere under it or 2 m beside it."""
    soil = float(np.exp(rng.uniform(np.log(20), np.log(500))))
    inside = soil * float(rng.choice([10.0, 100.0]))
    half, bottom = rng.uniform(1.0, 3.0, 2), float(rng.uniform(0.1, 0.3))
    deep = bottom + float(np.exp(rng.uniform(np.log(0.05), np.log(0.5))))
    start = np.array([*rng.uniform(-half - 2.0, half + 2.0), -deep])
    turn, length = float(rng.uniform(0, 2 * np.pi)), float(rng.uniform(2.0, 6.0))
    end = start + length * np.array([np.cos(turn), np.sin(turn), 0.0])
    low, high = (*-half, -bottom), (*half, 0.0)
    corners = (
        (-half[0], -half[1]),
        (half[0], -half[1]),
        (half[0], half[1]),
        (-half[0], half[1]),
    )
    body = Body("pad", Prism(corners, 0.0, bottom), inside)
    kernel = extrapolated(Box(low, high, inside, soil))
    return (
        Soil((soil,), bodies=(body,)),
        [(start, end)],
        float(rng.uniform(0.004, 0.01)),
        kernel,
    )


if __name__ == "__main__":
    kinds |= {"beside a box": beside_a_box, "under a pad": under_a_pad}
    count, first, kind = [*sys.argv[1:], *("12", "0", "beside a box")[len(sys.argv) - 1 :]]
    main(int(count), int(first), kind)
