"""Devices against the bands of their standards; most of the numbers are from memory of them."""

import math

import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.protection import (
    WITHIN_AT_200,
    FixedTime,
    GroundFaultInterrupter,
    Iec60898Breaker,
    InverseTimeRelay,
    ResidualCurrentDevice,
    Ul489Breaker,
)

NEVER = ("never", math.inf, math.inf)


def answer(device, current):
    trip = device.trip(current)
    return trip.certainty, trip.shortest, trip.longest


def test_a_20_ampere_breaker_does_not_open_at_9_amperes():
    # Common practice, no source.
    assert answer(Ul489Breaker(20.0), 9.0) == NEVER
    assert answer(Iec60898Breaker(20.0, "B"), 9.0) == NEVER


def test_a_class_a_ground_fault_device_opens_at_about_5_milliamperes():
    # Common practice, no source: 5 mA lies in the middle of the band.
    device = GroundFaultInterrupter()
    assert answer(device, 0.005) == ("possibly", 0.0, math.inf)
    assert "between 4 mA and 6 mA" in device.trip(0.005).words


@pytest.mark.parametrize(
    ("milliamperes", "seconds"),
    # UL 943 by two secondary sources, T = (20/I)^1.43 worked out independently.
    [(6, 5.594), (20, 1.000), (30, 0.560), (100, 0.1001), (264, 0.0250)],
)
def test_class_a_device_opens_within_the_formula_of_ul_943(milliamperes, seconds):
    certainty, _, longest = answer(GroundFaultInterrupter(), 1e-3 * milliamperes)
    assert certainty == "certainly"
    # Half of the last digit given, 0.0250.
    assert_allclose(longest, seconds, rtol=2e-3)


def test_class_a_device_at_the_ends_of_its_range():
    device = GroundFaultInterrupter()
    assert answer(device, 0.00399) == NEVER
    assert answer(device, 0.004)[0] == "possibly"
    assert answer(device, 0.006)[0] == "certainly"
    # The formula ends at 264 mA; no device may take longer at more current.
    assert device.trip(2.41).longest == device.trip(0.264).longest


@pytest.mark.parametrize(
    ("multiple", "expected"),
    # IEC 60898-1, 16 A, curve C: multiples read in a secondary source, times from memory.
    [
        (0.0, NEVER),
        (1.13, NEVER),
        (1.14, ("possibly", 1.0, math.inf)),
        (1.44, ("possibly", 1.0, math.inf)),
        (1.45, ("certainly", 1.0, 3600.0)),
        (2.55, ("certainly", 1.0, 60.0)),
        (2.56, ("certainly", 0.1, 60.0)),
        (5.0, ("certainly", 0.1, 60.0)),
        (5.01, ("certainly", 0.0, 60.0)),
        (10.0, ("certainly", 0.0, 0.1)),
        (400.0, ("certainly", 0.0, 0.1)),
    ],
)
def test_corners_of_the_band_of_a_c16_breaker(multiple, expected):
    assert answer(Iec60898Breaker(16.0, "C"), 16.0 * multiple) == expected


@pytest.mark.parametrize(("curve", "low", "high"), [("B", 3, 5), ("C", 5, 10), ("D", 10, 20)])
def test_instantaneous_band_by_curve(curve, low, high):
    # IEC 60898-1, multiples read in a secondary source.
    breaker = Iec60898Breaker(25.0, curve)
    assert breaker.trip(25.0 * low).shortest == 0.1
    assert breaker.trip(25.0 * low * 1.001).shortest == 0.0
    assert breaker.trip(25.0 * high).longest == 0.1
    assert breaker.trip(25.0 * high * 0.999).longest > 0.1


def test_larger_iec_60898_breakers_may_take_longer():
    # From memory: 120 s above 32 A, 2 h above 63 A.
    assert Iec60898Breaker(40.0, "B").trip(2.6 * 40).longest == 120.0
    assert Iec60898Breaker(63.0, "B").trip(1.5 * 63).longest == 3600.0
    assert Iec60898Breaker(80.0, "B").trip(1.5 * 80).longest == 7200.0


@pytest.mark.parametrize(
    ("multiple", "expected"),
    # UL 489 at 15 A, read in a secondary source.
    [
        (1.0, NEVER),
        (1.01, ("possibly", 0.0, math.inf)),
        (1.34, ("possibly", 0.0, math.inf)),
        (1.35, ("certainly", 0.0, 3600.0)),
        (1.99, ("certainly", 0.0, 3600.0)),
        (2.0, ("certainly", 0.0, 120.0)),
        (50.0, ("certainly", 0.0, 120.0)),
    ],
)
def test_corners_of_the_band_of_a_15_ampere_ul_489_breaker(multiple, expected):
    assert answer(Ul489Breaker(15.0), 15.0 * multiple) == expected


def test_larger_ul_489_breakers_may_take_longer():
    # From memory: 2 h at 135 % above 50 A, 4 min at 200 % up to 50 A, 6 min up to 100 A.
    assert Ul489Breaker(50.0).trip(1.4 * 50).longest == 3600.0
    assert Ul489Breaker(60.0).trip(1.4 * 60).longest == 7200.0
    assert Ul489Breaker(40.0).trip(3 * 40).longest == 240.0
    assert Ul489Breaker(100.0).trip(3 * 100).longest == 360.0
    times = [minutes for _, minutes in WITHIN_AT_200]
    assert times == sorted(set(times))


def test_fifteen_ampere_breaker_on_a_25_ohm_rod_never_opens():
    # 120 V through 25 ohm is 4.8 A: below every band (consequence of the read multiples).
    assert answer(Ul489Breaker(15.0), 120 / 25) == NEVER


@pytest.mark.parametrize(
    ("rating", "multiple", "expected"),
    # IEC 61008-1, general type (from memory).
    [
        (0.100, 0.5, NEVER),
        (0.100, 0.51, ("possibly", 0.0, math.inf)),
        (0.100, 1.0, ("certainly", 0.0, 0.3)),
        (0.100, 2.0, ("certainly", 0.0, 0.15)),
        (0.100, 5.0, ("certainly", 0.0, 0.04)),
        (0.300, 1.99, ("certainly", 0.0, 0.3)),
        (0.010, 2.0, ("certainly", 0.0, 0.15)),
        # Up to 30 mA the fastest time may be proven at 0.25 A in place of 5 times.
        (0.030, 5.0, ("certainly", 0.0, 0.15)),
        (0.030, 0.2501 / 0.030, ("certainly", 0.0, 0.04)),
        (0.010, 25.0, ("certainly", 0.0, 0.04)),
    ],
)
def test_residual_current_device_of_the_general_type(rating, multiple, expected):
    assert answer(ResidualCurrentDevice(rating), rating * multiple) == expected


@pytest.mark.parametrize(
    ("multiple", "expected"),
    # IEC 61008-1, type S (from memory).
    [
        (0.5, NEVER),
        (0.9, ("possibly", 0.13, math.inf)),
        (1.0, ("certainly", 0.13, 0.5)),
        (2.0, ("certainly", 0.06, 0.2)),
        (5.0, ("certainly", 0.05, 0.15)),
        (6.0, ("certainly", 0.04, 0.15)),
        (5001.0, ("certainly", 0.0, 0.15)),
    ],
)
def test_delayed_residual_current_device(multiple, expected):
    assert answer(ResidualCurrentDevice(0.100, delayed=True), 0.100 * multiple) == expected


def test_earth_voltage_of_residual_current_devices():
    # Products, by hand: 109 and 272 ohm with 30 and 300 mA.
    assert_allclose(ResidualCurrentDevice(0.030).earth_voltage(109.0), 3.27, rtol=1e-12)
    assert_allclose(ResidualCurrentDevice(0.300).earth_voltage(272.0), 81.6, rtol=1e-12)


@pytest.mark.parametrize(
    ("curve", "multiple", "seconds"),
    # Trade values at a time multiplier of 1, from memory of relay manuals.
    [
        ("standard inverse", 2, 10.03),
        ("standard inverse", 5, 4.28),
        ("standard inverse", 10, 2.97),
        ("very inverse", 2, 13.5),
        ("very inverse", 10, 1.5),
        ("extremely inverse", 2, 26.67),
        ("extremely inverse", 10, 0.808),
    ],
)
def test_inverse_time_relay_against_printed_times(curve, multiple, seconds):
    relay = InverseTimeRelay(curve, pickup=80.0, time_multiplier=1.0)
    certainty, shortest, longest = answer(relay, 80.0 * multiple)
    assert certainty == "certainly"
    # Three digits are printed.
    assert_allclose([shortest, longest], seconds, rtol=2e-3)


def test_relay_adds_its_tolerance_and_the_breaker():
    relay = InverseTimeRelay(
        "very inverse", pickup=80.0, time_multiplier=0.3, opening_time=0.06, tolerance=0.05
    )
    # 0.3 x 13.5 / 9 is 0.45 s.
    assert_allclose(answer(relay, 800.0)[1:], [0.45 * 0.95 + 0.06, 0.45 * 1.05 + 0.06])


def test_relay_just_above_its_pickup_may_not_start_and_is_level_from_20_times():
    relay = InverseTimeRelay("standard inverse", pickup=80.0, time_multiplier=0.1)
    assert answer(relay, 80.0) == NEVER
    assert answer(relay, 1.29 * 80.0)[::2] == ("possibly", math.inf)
    assert answer(relay, 1.3 * 80.0)[0] == "certainly"
    assert relay.trip(20 * 80.0).longest == relay.trip(90 * 80.0).longest
    assert "level" in relay.trip(90 * 80.0).words


def test_fixed_time_asks_nothing_but_its_pickup():
    assert answer(FixedTime(0.5), 0.001) == ("certainly", 0.5, 0.5)
    assert answer(FixedTime(0.5, pickup=200.0), 200.0) == NEVER
    assert answer(FixedTime(0.5, pickup=200.0), 201.0) == ("certainly", 0.5, 0.5)


@pytest.mark.parametrize("current", [0.0, 1e-13])
def test_fixed_time_does_not_act_where_no_current_flows(current):
    # A path that is open carries none, metal that floats what round-off leaves.
    trip = FixedTime(0.5).trip(current)
    assert (trip.certainty, trip.longest) == NEVER[::2]
    assert "no current flows where it measures" in trip.words
