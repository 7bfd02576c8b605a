"""What holds for every device, and for several together."""

import itertools
import math

import numpy as np
import pytest

from ohmscape.solver.errors import CaseError
from ohmscape.solver.protection import (
    Device,
    FixedTime,
    GroundFaultInterrupter,
    Iec60898Breaker,
    InverseTimeRelay,
    ResidualCurrentDevice,
    TimeCurrentPoints,
    Trip,
    Ul489Breaker,
    amperes,
    clearing,
    fault_clearing,
)

EVERY = [
    Iec60898Breaker(13.0, "B"),
    Iec60898Breaker(63.0, "D"),
    Ul489Breaker(15.0),
    Ul489Breaker(225.0),
    GroundFaultInterrupter(),
    ResidualCurrentDevice(0.010),
    ResidualCurrentDevice(0.030),
    ResidualCurrentDevice(0.300, delayed=True),
    TimeCurrentPoints(((7.0, 40.0), (90.0, 0.3))),
    TimeCurrentPoints(((7.0, 40.0), (90.0, 0.3)), ((9.0, 70.0), (50.0, 2.0), (95.0, 0.4))),
    InverseTimeRelay("standard inverse", pickup=3.7, time_multiplier=0.2, tolerance=0.05),
    InverseTimeRelay("extremely inverse", pickup=3.7, time_multiplier=0.7, opening_time=0.1),
    FixedTime(0.4, pickup=4.3),
    FixedTime(0.4),
]
ORDER = ("never", "possibly", "certainly")


def name_of(device):
    return type(device).__name__


@pytest.mark.parametrize("device", EVERY, ids=name_of)
def test_more_current_is_never_slower_nor_less_certain(device):
    trips = [device.trip(current) for current in (0.0, *np.geomspace(1e-3, 1e5, 600))]
    for less, more in itertools.pairwise(trips):
        assert ORDER.index(more.certainty) >= ORDER.index(less.certainty)
        # 1e-12: logarithms there and back.
        assert more.shortest <= less.shortest * (1 + 1e-12)
        assert more.longest <= less.longest * (1 + 1e-12)
    # The sweep reaches both ends of the band.
    assert trips[-1].certainty == "certainly"
    assert trips[0].certainty == "never"


@pytest.mark.parametrize("device", EVERY, ids=name_of)
def test_times_say_what_the_certainty_says(device):
    for current in np.geomspace(1e-3, 1e5, 600):
        trip = device.trip(current)
        assert 0 <= trip.shortest <= trip.longest
        assert math.isinf(trip.shortest) == (trip.certainty == "never")
        assert math.isfinite(trip.longest) == (trip.certainty == "certainly")
        assert "\n" not in trip.words


@pytest.mark.parametrize("device", EVERY, ids=name_of)
@pytest.mark.parametrize("current", [-1.0, math.nan, math.inf])
def test_a_current_that_is_none_is_refused(device, current):
    with pytest.raises(CaseError, match=r"current through a protective device .* finite and 0"):
        device.trip(current)


@pytest.mark.parametrize("device", EVERY, ids=name_of)
def test_every_device_names_its_source_and_what_it_assumes(device):
    assert device.source
    assert device.caution


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: Iec60898Breaker(0.0, "B"), "rating of a breaker 0 A: must be positive"),
        (lambda: Iec60898Breaker(126.0, "B"), "126 A: IEC 60898-1 ends at 125 A; give"),
        (lambda: Iec60898Breaker(16.0, "K"), "no curve 'K' in IEC 60898-1; there are B, C"),
        (lambda: Ul489Breaker(math.nan), "rating of a breaker nan A: must be positive"),
        (lambda: Ul489Breaker(6001.0), "6001 A: times of UL 489 are held up to 6000 A"),
        (lambda: ResidualCurrentDevice(0.02), "20 mA is not held; there are 10, 30, 100"),
        (lambda: ResidualCurrentDevice(0.03, delayed=True), "delayed devices start at 100 mA"),
        (
            lambda: ResidualCurrentDevice(0.03).earth_voltage(-1.0),
            "resistance of the earth electrode -1 ohm: must be finite",
        ),
        (
            lambda: InverseTimeRelay("inverse", pickup=1.0, time_multiplier=1.0),
            "no relay curve 'inverse'; there are standard inverse, very",
        ),
        (
            lambda: InverseTimeRelay("very inverse", pickup=0.0, time_multiplier=1.0),
            "pickup of a relay 0 A: must be positive",
        ),
        (
            lambda: InverseTimeRelay("very inverse", pickup=1.0, time_multiplier=-0.1),
            "time multiplier of a relay -0.1: must be positive",
        ),
        (
            lambda: InverseTimeRelay(
                "very inverse", pickup=1.0, time_multiplier=1.0, opening_time=-1.0
            ),
            "opening time -1 s: must be finite and 0 or more",
        ),
        (
            lambda: InverseTimeRelay(
                "very inverse", pickup=1.0, time_multiplier=1.0, tolerance=1.0
            ),
            "tolerance 1 of a relay's time: a share of it",
        ),
        (lambda: FixedTime(0.0), "clearing time 0 s: must be positive"),
        (lambda: FixedTime(1.0, pickup=-2.0), "pickup -2 A: must be positive"),
    ],
)
def test_devices_that_do_not_exist_are_refused(make, message):
    with pytest.raises(CaseError, match=message):
        make()


SURE = Trip("certainly", 0.3, 0.7, "sure")
FAST = Trip("certainly", 0.35, 0.5, "fast")
PERHAPS = Trip("possibly", 0.1, math.inf, "perhaps")
NOT = Trip("never", math.inf, math.inf, "not")


def span(trip):
    return trip.certainty, trip.shortest, trip.longest


def test_the_first_device_that_is_certain_ends_the_fault():
    assert span(clearing([SURE, FAST, NOT])) == ("certainly", 0.3, 0.5)
    assert clearing([SURE, FAST]).words == "fast"
    assert span(clearing([SURE, PERHAPS])) == ("certainly", 0.1, 0.7)


def test_with_nothing_certain_the_fault_may_last_for_ever():
    assert span(clearing([PERHAPS, NOT])) == ("possibly", 0.1, math.inf)
    assert span(clearing([NOT, NOT])) == ("never", math.inf, math.inf)
    assert clearing([]).words == "there is no device"


def test_backup_counts_only_where_no_main_device_is_certain():
    assert span(clearing([SURE], backup=[FAST])) == span(SURE)
    assert span(clearing([PERHAPS], backup=[SURE])) == ("certainly", 0.1, 0.7)
    assert span(clearing([NOT], backup=[SURE])) == span(SURE)
    assert span(clearing([NOT], backup=[PERHAPS])) == span(PERHAPS)
    assert span(clearing([NOT], backup=[NOT]))[0] == "never"


@pytest.mark.parametrize("backup", [(), (SURE,), (PERHAPS,)])
def test_one_device_more_never_makes_the_fault_longer(backup):
    for mains in itertools.combinations([SURE, PERHAPS, NOT, FAST], 2):
        for more in (PERHAPS, NOT):
            before = clearing(mains, backup=backup)
            assert clearing([*mains, more], backup=backup).longest <= before.longest


def test_devices_are_asked_for_the_current_they_measure():
    devices = [
        Device("bench breaker", "supply", Ul489Breaker(15.0)),
        Device("upstream", "supply", FixedTime(0.8), backup=True),
        Device("residual", "earth current of rod", ResidualCurrentDevice(0.100)),
    ]
    currents = {"supply": 3 - 4j, "earth current of rod": 0.2}
    found = fault_clearing(devices, current_through=currents.__getitem__)
    assert [answer.current for answer in found.answers] == [5.0, 5.0, 0.2]
    assert [answer.trip.certainty for answer in found.answers] == [
        "never", "certainly", "certainly"
    ]  # fmt: skip
    assert found.trip.longest == 0.15
    assert found.without_main is not None
    assert found.without_main.longest == 0.8
    alone = fault_clearing(devices[:1], current_through=currents.__getitem__)
    assert alone.trip.longest == math.inf
    assert alone.without_main is None


@pytest.mark.parametrize(
    ("current", "words"),
    [(0.0, "0 A"), (0.0061, "6.1 mA"), (1.0, "1 A"), (0.4583, "458 mA"), (2416.0, "2,420 A")],
)
def test_currents_in_words(current, words):
    assert amperes(current) == words
