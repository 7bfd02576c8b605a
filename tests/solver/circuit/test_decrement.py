"""Decrement against the standard's table; growth beside it."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.circuit import Circuit, Supply, decrement_factor
from ohmscape.solver.errors import CaseError

# IEEE Std 80, table of typical decrement factors, 60 Hz (from memory; the formula, computed
# independently, gives the same three decimals). Columns: X/R 10, 20, 30, 40.
TABLE = {
    0.00833: (1.576, 1.648, 1.675, 1.688),
    0.05: (1.232, 1.378, 1.462, 1.515),
    0.1: (1.125, 1.232, 1.316, 1.378),
    0.2: (1.064, 1.125, 1.181, 1.232),
    0.5: (1.026, 1.052, 1.077, 1.101),
    1.0: (1.013, 1.026, 1.039, 1.052),
}


@pytest.mark.parametrize("duration", TABLE)
def test_the_table_of_the_standard(duration):
    found = [decrement_factor(x, frequency=60.0, duration=duration) for x in (10, 20, 30, 40)]
    assert_allclose(found, TABLE[duration], atol=0.5e-3)  # printed to three decimals


def test_it_is_the_effective_value_of_the_offset_current():
    ratio, frequency, duration = 12.0, 50.0, 0.14
    time = (np.arange(200_000) + 0.5) * duration / 200_000
    constant = ratio / (2 * math.pi * frequency)
    # Squares of the alternating part and of the offset add up; the standard leaves out their
    # product. In units of the symmetrical effective value the offset begins at √2.
    squared = 1 + 2 * np.exp(-2 * time / constant)
    found = decrement_factor(ratio, frequency=frequency, duration=duration)
    assert_allclose(found, math.sqrt(squared.mean()), rtol=1e-9)


def test_it_falls_with_duration_to_one():
    found = [decrement_factor(15.0, frequency=50.0, duration=t) for t in (0.01, 0.1, 1, 9, 1e4)]
    assert (np.diff(found) < 0).all()
    assert_allclose(found[-1], 1.0, atol=1e-5)
    assert decrement_factor(15.0, frequency=50.0, duration=math.inf) == 1.0


def test_half_a_cycle_as_the_standards_table_writes_it_is_not_too_short():
    assert decrement_factor(10.0, frequency=60.0, duration=0.00833) > 1.5


def test_right_at_the_start_it_is_the_root_of_three():
    # One offset as high as the crest: 1 + 2 in the mean of the squares.
    found = decrement_factor(1e9, frequency=60.0, duration=0.1)
    assert_allclose(found, math.sqrt(3), rtol=1e-6)


@pytest.mark.parametrize(
    ("ratio", "keys", "message"),
    [
        (0.0, {}, "X/R of 0; it must be above 0 and finite"),
        (math.inf, {}, "X/R of inf"),
        (10.0, {"frequency": 0.0}, "frequency in Hz of 0"),
        (10.0, {"duration": 0.004}, "0.004 s is below half a cycle of 60 Hz"),
        (10.0, {"duration": 0.0083}, "0.0083 s is below half a cycle of 60 Hz"),
        (10.0, {"duration": math.nan}, "duration of nan s is below half a cycle"),
    ],
)
def test_outside_its_range_it_is_refused(ratio, keys, message):
    with pytest.raises(CaseError, match=message):
        decrement_factor(ratio, **({"frequency": 60.0, "duration": 0.5} | keys))


def test_growth_and_decrement_are_stated_apart():
    # 2.6 kA, X/R 10, 0.5 s, growth 1.1, split 0.60: about 1.76 kA, as a design sheet would.
    supply = Supply("grid", current=2600.0)
    circuit = Circuit(60.0, supply, split_factor=0.6, x_over_r=10.0, growth_factor=1.1)
    factors = circuit.factors(0.5)
    assert factors.growth == 1.1
    assert_allclose(factors.decrement, 1.026, atol=0.5e-3)
    assert_allclose(2600.0 * 0.6 * factors.product, 1761, atol=1.0)


def test_without_x_over_r_there_is_no_decrement():
    circuit = Circuit(60.0, Supply("rod", voltage=120.0), growth_factor=1.2)
    assert circuit.factors(0.001).decrement == 1.0
    assert circuit.factors(math.inf).product == 1.2
