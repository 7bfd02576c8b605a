"""Body, curves and zones of IEC 60479-1; every outside number here is from memory of it."""

import itertools
import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.limits import (
    HEART_CURRENT_FACTOR,
    TOTAL_IMPEDANCE,
    Body,
    curve_current,
    zone,
)
from ohmscape.solver.limits.time_current import zone_or_none

PERCENTILES = (5, 50, 95)
CURVES = ("a", "b", "c1", "c2", "c3")
ZONES = ("AC-1", "AC-2", "AC-3", "AC-4.1", "AC-4.2", "AC-4.3")


@pytest.mark.parametrize(
    ("voltage", "impedances"),
    # IEC TS 60479-1:2005, hand to hand, dry, large contact: from memory, the 50 % column
    # confirmed through the touch voltages of EN 50522.
    [
        (25, (1750, 3250, 6100)),
        (50, (1375, 2500, 4600)),
        (75, (1125, 2000, 3600)),
        (100, (990, 1725, 3125)),
        (125, (900, 1550, 2675)),
        (150, (850, 1400, 2350)),
        (175, (825, 1325, 2175)),
        (200, (800, 1275, 2050)),
        (225, (775, 1225, 1900)),
        (400, (700, 950, 1275)),
        (500, (625, 850, 1150)),
        (700, (575, 775, 1050)),
        (1000, (575, 775, 1050)),
    ],
)
def test_total_impedance_of_the_dry_body(voltage, impedances):
    found = [Body("hand to hand", percentile).impedance(voltage) for percentile in PERCENTILES]
    assert found == list(impedances)
    # Limbs of equal impedance: both arms in parallel, or a hand against two legs.
    for path, share in (("left hand to both feet", 0.75), ("both hands to both feet", 0.5)):
        assert_allclose(Body(path, 50).impedance(voltage), share * impedances[1], rtol=1e-15)


@pytest.mark.parametrize("skin", TOTAL_IMPEDANCE)
def test_impedances_of_a_population_are_spread_on_a_logarithmic_scale(skin):
    """The 50 % value is the geometric mean of the 5 and the 95 % values."""
    _, low, middle, high = np.array(TOTAL_IMPEDANCE[skin]).T
    # Within 8.5 % for dry skin, 1 % where it is wet with salt water.
    assert_allclose(np.sqrt(low * high), middle, rtol=0.09)
    assert len(middle) > 10


def test_below_the_table_the_impedance_is_kept():
    assert Body("hand to hand", 5).impedance(0.0) == 1750
    assert Body("hand to hand", 5).impedance(3e3) == 575


@pytest.mark.parametrize("skin", TOTAL_IMPEDANCE)
def test_impedance_falls_with_voltage_and_rises_with_percentile(skin):
    rows = np.array(TOTAL_IMPEDANCE[skin])
    assert (np.diff(rows[:, 0]) > 0).all()
    assert (np.diff(rows[:, 1:], axis=0) <= 0).all()
    assert (np.diff(rows[:, 1:], axis=1) > 0).all()


@pytest.mark.parametrize("percentile", PERCENTILES)
def test_wet_skin_conducts_better_until_skin_no_longer_matters(percentile):
    dry, water, salt = (Body("hand to hand", percentile, skin) for skin in TOTAL_IMPEDANCE)
    for voltage in (10.0, 25.0, 60.0, 99.0):
        found = [body.impedance(voltage) for body in (dry, water, salt)]
        assert found == sorted(set(found), reverse=True)
    assert water.impedance(140.0) == dry.impedance(140.0)
    assert salt.impedance(140.0) < dry.impedance(140.0)
    assert salt.impedance(430.0) == dry.impedance(430.0)


def test_heart_current_factors():
    # IEC 60479-1:2005 table 12.
    for path, factor in (
        ("left hand to both feet", 1.0),
        ("both hands to both feet", 1.0),
        ("hand to hand", 0.4),
        ("right hand to both feet", 0.8),
        ("back to right hand", 0.3),
        ("back to left hand", 0.7),
        ("chest to right hand", 1.3),
        ("chest to left hand", 1.5),
        ("seat to hands", 0.7),
        ("foot to foot", 0.04),
    ):
        assert HEART_CURRENT_FACTOR[path] == factor


@pytest.mark.parametrize("skin", TOTAL_IMPEDANCE)
def test_body_current_rises_with_voltage_and_falls_with_what_is_in_series(skin):
    body = Body("right hand to both feet", 50, skin)
    currents = [body.loaded(u, series=370.0)[1] for u in np.geomspace(0.1, 5e3, 60)]
    assert (np.diff(currents) > 0).all()
    currents = [body.loaded(230.0, series=r)[1] for r in np.geomspace(1.0, 1e5, 60)]
    assert (np.diff(currents) < 0).all()


@pytest.mark.parametrize(("prospective", "series"), [(43.0, 0.0), (230.0, 700.0), (9e3, 51.0)])
def test_loaded_voltage_and_series_drop_add_up(prospective, series):
    body = Body("left hand to both feet", 5)
    across, current = body.loaded(prospective, series=series)
    # 1e-9: the root is sought to 1e-12 of the prospective voltage.
    assert_allclose(across + series * current, prospective, rtol=1e-9)
    assert_allclose(body.voltage(current), across, rtol=1e-9)


def test_no_voltage_no_current():
    body = Body("hand to hand")
    assert body.loaded(0.0, series=10.0) == (0.0, 0.0)
    assert body.voltage(0.0) == 0.0


@pytest.mark.parametrize(
    ("curve", "duration", "milliamperes"),
    [
        ("a", 0.3, 0.5),
        ("b", 0.01, 200.0),
        ("b", math.inf, 5.0),
        # The 500 mA of c1 also read in a secondary source.
        ("c1", 0.01, 500.0),
        ("c1", 0.1, 400.0),
        ("c1", 1.0, 50.0),
        ("c1", 3.0, 40.0),
        ("c1", math.inf, 40.0),
        ("c2", 0.05, 900.0),
        ("c2", 0.5, 200.0),
        ("c2", 1.0, 80.0),
        ("c2", 10.0, 50.0),
        ("c2", math.inf, 50.0),
        ("c3", math.inf, 80.0),
    ],
)
def test_points_of_the_time_current_curves(curve, duration, milliamperes):
    # Logarithms there and back.
    found = 1e3 * curve_current(curve, duration=duration)
    assert_allclose(found, milliamperes, rtol=1e-12)


def test_zones_begin_with_the_curves_at_ten_milliseconds():
    assert zone_or_none(0.03, duration=0.01) == zone(0.03, duration=0.01) == "AC-2"
    assert zone_or_none(0.03, duration=0.0099) == ""


def test_let_go_lies_below_the_curve_of_the_1994_edition():
    # 10 mA + 10 mA s / t (from memory), from 10 ms to its end at 10 s.
    for duration in np.geomspace(0.01, 10.0, 40):
        assert curve_current("b", duration=duration) < 0.010 + 0.010 / duration


def test_curves_do_not_rise_nor_cross():
    durations = [*np.geomspace(0.01, 30.0, 200), math.inf]
    table = np.array(
        [[curve_current(curve, duration=t) for t in durations] for curve in CURVES]
    )
    # 1e-12: logarithms there and back.
    assert (table[:, 1:] <= table[:, :-1] * (1 + 1e-12)).all()
    assert (np.diff(table, axis=0) > 0).all()


@pytest.mark.parametrize("duration", [0.01, 0.07, 0.43, 2.9, math.inf])
def test_each_curve_divides_two_zones(duration):
    for curve, (below, above) in zip(CURVES, itertools.pairwise(ZONES), strict=True):
        current = curve_current(curve, duration=duration)
        assert zone(current, duration=duration) == below
        assert zone(1.001 * current, duration=duration) == above


def test_zone_worsens_with_current_and_with_duration():
    durations = [0.01, 0.1, 0.3, 1.0, 4.0, math.inf]
    for current in np.geomspace(1e-4, 2.0, 40):
        ranks = [ZONES.index(zone(current, duration=t)) for t in durations]
        assert ranks == sorted(ranks)
    for duration in durations:
        ranks = [ZONES.index(zone(i, duration=duration)) for i in np.geomspace(1e-4, 5.0, 90)]
        assert ranks == sorted(ranks)
        assert set(ranks) == set(range(len(ZONES)))


def test_heart_current_factor_weighs_fibrillation_but_not_muscles():
    assert zone(0.060, duration=math.inf, heart_factor=1.0) == "AC-4.2"
    assert zone(0.060, duration=math.inf, heart_factor=0.4) == "AC-3"
    assert zone(0.006, duration=math.inf, heart_factor=0.04) == "AC-3"
