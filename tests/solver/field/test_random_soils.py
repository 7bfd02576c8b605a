"""Resistance in soils drawn at random, by the finite elements and by thin conductors.

benchmarks/random_soils.py does the same with more of them and prints what it finds.
"""

import numpy as np
import pytest
from measuring import resistance, solved
from soils_at_random import ELECTRODES, drawn

from ohmscape.solver.thin_wire import second_opinion

SLOW = [pytest.param(seed, marks=pytest.mark.slow) for seed in (3, 5, 6)]


@pytest.mark.parametrize("seed", [4, *SLOW])
@pytest.mark.parametrize("name", ELECTRODES)
def test_two_methods_agree_whatever_the_layers(name, seed):
    soil = drawn(np.random.default_rng([seed, len(name)]))
    solution = solved(ELECTRODES[name], soil=soil)
    opinion = second_opinion(ELECTRODES[name], soil=soil)
    other = float(1.0 / opinion.current_matrix.sum())
    # Of 72 such soils the farthest apart were 0.44 %; as laminates some were 7 and 22 %.
    assert resistance(solution) == pytest.approx(other, rel=0.006), soil
    assert max(solution.checks.iterations) < 40
