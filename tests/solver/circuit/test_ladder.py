"""Ladders against the same ladder spelled out pole by pole, and against their limits."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.circuit import Ladder
from ohmscape.solver.errors import CaseError

SPAN, FOOTING = 0.31 + 0.47j, 13.7
ALIKE = 1e-11  # two ways through the same arithmetic, a few hundred operations


def pole_by_pole(spans, *, closed_by=None):
    """Impedance of a ladder reduced from its far end, element by element."""
    seen = math.inf if closed_by is None else closed_by
    for number in range(spans):
        grounded = closed_by is None or number > 0
        inward = (1 / seen if seen != 0 else math.inf) + (1 / FOOTING if grounded else 0.0)
        seen = SPAN + (0.0 if math.isinf(abs(inward)) else 1 / inward)
    return seen


@pytest.mark.parametrize("spans", [1, 2, 3, 8, 150])
def test_an_open_ladder_is_its_spans_and_grounds(spans):
    ladder = Ladder(SPAN, FOOTING, spans=spans)
    assert_allclose(ladder.input_impedance, pole_by_pole(spans), rtol=ALIKE)


@pytest.mark.parametrize("spans", [1, 2, 3, 8, 150])
def test_a_ladder_closed_on_earth_is_its_spans_and_grounds(spans):
    ladder = Ladder(SPAN, FOOTING, spans=spans, end="closed")
    assert_allclose(ladder.input_impedance, pole_by_pole(spans, closed_by=0.0), rtol=ALIKE)


@pytest.mark.parametrize("spans", [1, 2, 7])
def test_a_closed_ladder_is_a_two_port(spans):
    # Loaded at its far end with any impedance it is the pole-by-pole ladder ended by it.
    load = 2.3 + 0.6j
    own, mutual = Ladder(SPAN, FOOTING, spans=spans, end="closed").admittance[0]
    seen = 1 / (own - mutual**2 / (own + 1 / load))
    assert_allclose(seen, pole_by_pole(spans, closed_by=load), rtol=ALIKE)


def test_without_end_it_is_the_driving_point_impedance_of_an_endless_chain():
    # IEC 60909-3 and J. Endrenyi, IEEE Trans. PAS 86, 1967 (both from memory).
    endless = Ladder(SPAN, FOOTING).input_impedance
    assert_allclose(endless, SPAN / 2 + np.sqrt(SPAN**2 / 4 + SPAN * FOOTING), rtol=1e-14)


@pytest.mark.parametrize("end", ["open", "closed"])
def test_a_long_ladder_tends_to_the_endless_one(end):
    endless = Ladder(SPAN, FOOTING).input_impedance
    # The echo from the far end comes back smaller by |λ| per span, there and back.
    decay = abs(1 - SPAN / endless) ** 2
    gaps = [
        abs(Ladder(SPAN, FOOTING, spans=n, end=end).input_impedance - endless)
        for n in (10, 20, 30)
    ]
    # 3 %: the echo that comes back twice still counts after 10 spans.
    assert_allclose(np.divide(gaps[1:], gaps[:-1]), decay**10, rtol=0.03)
    far = Ladder(SPAN, FOOTING, spans=400, end=end).input_impedance
    assert_allclose(far, endless, rtol=1e-13)


def test_more_spans_of_an_open_line_take_more_current():
    taken = [abs(1 / Ladder(SPAN.real, FOOTING, spans=n).input_impedance) for n in range(1, 30)]
    assert (np.diff(taken) > 0).all()


def test_a_broken_line_is_the_open_line_up_to_the_break():
    whole = Ladder(SPAN, FOOTING, spans=9, broken_after=4)
    endless = Ladder(SPAN, FOOTING, broken_after=4)
    short = Ladder(SPAN, FOOTING, spans=4)
    assert whole.input_impedance == endless.input_impedance == short.input_impedance


def test_beyond_the_break_the_rest_hangs_on_a_closed_far_end():
    # Nine spans: four stay at the near end, the fifth is cut, four hang on the far end.
    cut = Ladder(SPAN, FOOTING, spans=9, end="closed", broken_after=4).admittance
    short = 1 / Ladder(SPAN, FOOTING, spans=4).input_impedance
    assert_allclose(cut, np.diag([short, short]), rtol=1e-14)
    at_the_end = Ladder(SPAN, FOOTING, spans=9, end="closed", broken_after=8)
    assert at_the_end.admittance[1, 1] == 0


def test_broken_in_its_first_span_a_line_takes_nothing():
    assert math.isinf(abs(Ladder(SPAN, FOOTING, spans=9, broken_after=0).input_impedance))


@pytest.mark.parametrize("footing", [1e-9, 1e9])
def test_extreme_grounds_keep_their_digits(footing):
    # Good grounds: the first span alone. Next to none: n grounds side by side; the spans
    # between them count some 1e-7 of that.
    open_line = Ladder(SPAN, footing, spans=30).input_impedance
    assert_allclose(open_line, SPAN if footing < 1 else footing / 30, rtol=1e-6)
    assert_allclose(
        Ladder(SPAN, footing, spans=30, end="closed").input_impedance,
        SPAN if footing < 1 else 30 * SPAN,
        rtol=1e-6,  # 30 grounds of 1e9 Ω beside 9 Ω take some 1e-7
    )


@pytest.mark.parametrize(
    ("keys", "message"),
    [
        ({"span": 0j}, r"span of 0\+0j ohm: a span needs an impedance"),
        ({"span": -0.1 + 1j}, "its resistance >= 0"),
        ({"span": complex("nan")}, "a span needs an impedance"),
        ({"footing": 0.0}, "ground of 0 ohm at each pole; it must be above 0"),
        ({"footing": math.inf}, "ground of inf ohm"),
        ({"spans": 0}, "0 spans; a ladder has one or more, or is endless"),
        ({"end": "closed"}, "an endless ladder has no far end to be closed"),
        ({"spans": 4, "broken_after": 4}, "broken after 4 spans; allowed from 0 to 3"),
        ({"broken_after": -1}, "broken after -1 spans; allowed from 0 to inf"),
    ],
)
def test_what_no_ladder_has_is_refused(keys, message):
    with pytest.raises(CaseError, match=message):
        Ladder(**({"span": SPAN, "footing": FOOTING} | keys))
