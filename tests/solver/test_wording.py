"""Numbers in the sentences of the solver."""

import math

import pytest

from ohmscape.solver.limits import Iec60479, OwnVoltage, Standing, duration_in_words
from ohmscape.solver.protection import (
    GroundFaultInterrupter,
    Iec60898Breaker,
    InverseTimeRelay,
    TimeCurrentPoints,
)
from ohmscape.solver.wording import AS_GIVEN, figures_apart, percent_text, plain, spoken


def test_what_was_worked_out_has_three_figures():
    assert plain(0.024983) == "0.025"
    assert plain(879.93) == "880"
    assert plain(12971.3) == "13,000"
    assert duration_in_words(86400.0) == "86,400 s"
    assert duration_in_words(0.083333) == "0.0833 s"
    limit = Iec60479("a").permissible("touch", duration=0.37, standing=Standing(131.7))
    # 1.5 × 131.7 = 197.55
    assert "feet and shoes 198 Ω" in limit.words


def test_what_was_given_is_left_as_it_is():
    # 0.1 + 0.2 is 0.30000000000000004.
    assert plain(0.1 + 0.2, figures=AS_GIVEN) == "0.3"
    own = OwnVoltage("mine", ((1.0, 52.34),)).permissible(
        "touch", duration=1.0, standing=Standing(100.0)
    )
    assert own.words == "52.34 V for every duration"
    trip = InverseTimeRelay("very inverse", pickup=120.5, time_multiplier=1.0).trip(2416.4)
    assert "2,420 A is 20.1 times the pickup 120.5 A" in trip.words


def test_a_number_shows_on_which_side_of_a_limit_it_lies():
    assert figures_apart(107.13, 100.0) == 3
    assert plain(100.04, 100.0) == "100.04"
    assert plain(99.96, 100.0) == "99.96"
    assert plain(100.0, 100.0) == "100"
    # Both limits, and round-off that no figure shows.
    assert plain(1.1304, 1.0, 1.13) == "1.1304"
    assert plain(1 + 1e-13, 1.0) == "1"


@pytest.mark.parametrize(
    ("device", "current", "words"),
    [
        (Iec60898Breaker(16.0, "B"), 16.0 * 1.1302, "is 1.1302 times the rating 16 A: between"),
        (Iec60898Breaker(16.0, "B"), 16.0 * 1.1298, "is 1.1298 times the rating 16 A: up to"),
        (GroundFaultInterrupter(), 3.9996e-3, "3.9996 mA: below 4 mA it stays closed"),
        (TimeCurrentPoints(((20.0, 9.0), (90.0, 1.0))), 19.998, "19.998 A is below"),
    ],
)
def test_a_device_near_its_threshold_says_on_which_side(device, current, words):
    assert words in device.trip(current).words


def test_shares_in_per_cent():
    assert percent_text(0.0234, decimals=1) == "2.3 %"
    assert percent_text(-0.1519, decimals=1, signed=True) == "−15.2 %"
    assert percent_text(0.02, signed=True) == "+2 %"
    assert percent_text(-1e-9, decimals=1, signed=True) == "0.0 %"


def test_numbers_without_end():
    assert plain(math.inf) == "inf"
    assert spoken(1.2, 1500.0, figures=2) == "1.2 to 1,500 m (3.9 to 4,900 ft)"
