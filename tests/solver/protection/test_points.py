"""Curves that a user gives by points."""

import math

import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.errors import CaseError
from ohmscape.solver.protection import TimeCurrentPoints

MELTING = ((30.0, 300.0), (100.0, 2.0), (1000.0, 0.02))
CLEARING = ((40.0, 400.0), (130.0, 2.6), (900.0, 0.07))


def test_one_curve_is_straight_on_logarithmic_axes():
    # 10 A to 1000 A, 100 s to 1 s: a slope of -1, so the product stays 1000 A s.
    curve = TimeCurrentPoints(((10.0, 100.0), (1000.0, 1.0)))
    for current in (10.0, 37.0, 430.0, 1000.0):
        trip = curve.trip(current)
        assert trip.certainty == "certainly"
        # Logarithms there and back.
        assert_allclose([trip.shortest, trip.longest], 1000 / current, rtol=1e-12)


def test_two_curves_bound_a_band():
    fuse = TimeCurrentPoints(MELTING, CLEARING)
    below, between, above = fuse.trip(29.0), fuse.trip(35.0), fuse.trip(130.0)
    assert (below.certainty, below.longest) == ("never", math.inf)
    assert (between.certainty, between.longest) == ("possibly", math.inf)
    # The straight line from (30, 300) to (100, 2) at 35 A, by hand.
    slope = math.log(2 / 300) / math.log(100 / 30)
    assert_allclose(between.shortest, 300 * (35 / 30) ** slope, rtol=1e-12)
    assert above.certainty == "certainly"
    assert_allclose(above.longest, 2.6, rtol=1e-12)
    assert_allclose(above.shortest, 2 * (130 / 100) ** (math.log10(0.02 / 2)), rtol=1e-12)


def test_beyond_the_last_point_its_time_is_kept():
    trip = TimeCurrentPoints(MELTING, CLEARING).trip(31e3)
    assert_allclose([trip.shortest, trip.longest], [0.02, 0.07], rtol=1e-12)
    assert "beyond the last point" in trip.words
    at_it = TimeCurrentPoints(MELTING, CLEARING).trip(CLEARING[-1][0])
    assert_allclose(at_it.longest, 0.07, rtol=1e-12)
    assert "beyond" not in at_it.words


def test_opening_time_is_added_to_both_curves():
    slow = TimeCurrentPoints(MELTING, CLEARING, opening_time=0.08).trip(400.0)
    bare = TimeCurrentPoints(MELTING, CLEARING).trip(400.0)
    assert_allclose(slow.shortest - bare.shortest, 0.08, rtol=1e-12)
    assert_allclose(slow.longest - bare.longest, 0.08, rtol=1e-12)


@pytest.mark.parametrize(
    ("first", "last", "message"),
    [
        (((30.0, 1.0),), None, "two or more points; got 1"),
        (((0.0, 1.0), (2.0, 1.0)), None, "current of a point 0 A: must be positive"),
        (((1.0, 1.0), (2.0, math.inf)), None, "time of a point inf s: must be positive"),
        (
            ((30.0, 2.0), (30.0, 1.0)),
            None,
            "currents of a time-current curve must rise; got 30",
        ),
        (
            ((30.0, 2.0), (40.0, 3.0)),
            None,
            "times of a time-current curve cannot rise; got 2, 3",
        ),
        (MELTING, ((40.0, 400.0),), "two or more points; got 1"),
        (CLEARING, MELTING, "total clearing starts at 30 A, below minimum melting at 40 A"),
        (MELTING, ((40.0, 400.0), (1000.0, 0.01)), "below minimum melting 0.02 s at 1,000 A"),
        # Only the inner corner of the first curve sticks out.
        (
            ((30.0, 300.0), (100.0, 200.0), (1000.0, 0.02)),
            ((40.0, 299.0), (1000.0, 0.03)),
            "below minimum melting 200 s at 100 A; check that the curves are not swapped",
        ),
    ],
)
def test_points_that_make_no_curve_are_refused(first, last, message):
    with pytest.raises(CaseError, match=message):
        TimeCurrentPoints(first, last)


def test_a_negative_opening_time_is_refused():
    with pytest.raises(CaseError, match=r"opening time -0\.1 s: must be finite and 0 or more"):
        TimeCurrentPoints(MELTING, opening_time=-0.1)
