"""Every refusal of the limits says what was given and what is allowed."""

import math

import pytest
from disc_feet import feet_in_parallel, feet_in_series, foot_resistance

from ohmscape.solver.errors import CaseError
from ohmscape.solver.limits import (
    Body,
    En50522,
    Iec60479,
    Ieee80,
    Livestock,
    OwnCurrent,
    OwnVoltage,
    Standing,
    curve_current,
    disc_layer_factor,
    rebuilt_touch_voltage,
    surface_layer_factor,
    zone,
)

BARE = Standing(400.0)
BODY = Body("hand to hand")


def permissible(limit, exposure="touch", *, duration=1.0, standing=BARE):
    return lambda: limit.permissible(exposure, duration=duration, standing=standing)


def effect(limit, voltage=10.0, *, exposure="touch", duration=1.0):
    return lambda: limit.effect(exposure, voltage=voltage, duration=duration, standing=BARE)


REFUSED = [
    (lambda: Standing(0.0), "soil resistivity 0 ohm.m: must be positive"),
    (lambda: Standing(400.0, 2500.0), "needs its resistivity and its thickness"),
    (lambda: Standing(400.0, None, 0.1), "needs its resistivity and its thickness"),
    (lambda: Standing(400.0, -1.0, 0.1), "surface layer resistivity -1 ohm.m: must be"),
    (lambda: Standing(400.0, 9.0, math.inf), "surface layer thickness inf m: must be"),
    (lambda: Body("knee to knee"), "no body impedance for the path 'knee to knee'; there are"),
    (lambda: Body("hand to hand", 10), "no body impedance for 10 %; there are 5, 50 and 95"),
    (lambda: Body("hand to hand", 5, "oiled"), "for 'oiled' skin; there are dry, water-wet"),
    (lambda: BODY.impedance(-1.0), "voltage across the body -1 V: must be finite and 0"),
    (lambda: BODY.voltage(math.nan), "body current nan A: must be finite and 0"),
    (lambda: BODY.loaded(-1.0, series=0.0), "prospective voltage -1 V: must be finite"),
    (lambda: BODY.loaded(1.0, series=-2.0), "resistance in series -2 ohm: must be finite"),
    (lambda: foot_resistance(0.0), "resistivity 0 ohm.m: must be positive"),
    (lambda: foot_resistance(1.0, radius=-0.1), "foot radius -0.1 m: must be positive"),
    (lambda: feet_in_parallel(1.0, apart=0.1), "feet 0.1 m apart: discs of 0.08 m radius"),
    (lambda: feet_in_series(1.0, apart=math.nan), "feet nan m apart: discs of 0.08 m"),
    (
        lambda: surface_layer_factor(Standing(400.0, 300.0, 0.1)),
        "300 ohm.m on soil of 400 ohm.m: equation 27 .* put this layer into the soil model",
    ),
    (lambda: surface_layer_factor(Standing(4.0, 30.0, 0.04)), "0.04 m thick.*from 0.05 to"),
    (lambda: surface_layer_factor(Standing(4.0, 30.0, 0.6)), "0.6 m thick: equation 27"),
    (lambda: disc_layer_factor(Standing(1.0, 2e4, 0.1)), "at most 10000 to 1 is allowed"),
    (lambda: disc_layer_factor(Standing(1.0, 9.0, 0.009)), "below 0.01 m it is a film"),
    (
        lambda: disc_layer_factor(Standing(1.0, 9.0, 0.1), radius=0.0),
        "foot radius 0 m: must be positive",
    ),
    (lambda: Ieee80("a", 60.0), "body of 60 kg: IEEE 80 has bodies of 50 kg and 70 kg"),
    (
        permissible(Ieee80("a"), duration=3.01),
        "body current of IEEE 80 holds from 0.03 s to 3 s, not for 3.01 s; for longer .* use",
    ),
    (permissible(Ieee80("a"), duration=0.029), "not for 0.029 s; limits do not rise with"),
    (permissible(Ieee80("a"), "swim"), "IEEE 80 gives no limit for 'swim', only for touch"),
    (
        permissible(Ieee80("a"), standing=Standing(400.0, 9.0, 0.1)),
        "equation 27 of IEEE 80 is for layers that conduct worse",
    ),
    (effect(Ieee80("a"), -1.0), "prospective voltage -1 V: must be finite and 0"),
    (lambda: En50522("a", footwear=-1.0), "resistance of the footwear -1 ohm: must be"),
    (permissible(En50522("a"), "step"), "'step', only for touch, hands; .* use IEEE 80"),
    (permissible(En50522("a"), duration=0.04), "holds from 0.05 s without end, not for 0.04"),
    (effect(En50522("a"), exposure="step"), "EN 50522 gives no limit for 'step'"),
    (lambda: rebuilt_touch_voltage(-0.1), "body current -0.1 A: must be finite"),
    (lambda: Iec60479("a", "c3"), "curve 'c3' is no limit; there are a, b, c1, c2"),
    (lambda: Iec60479("a", path="foot to foot"), "path 'foot to foot' is not one of left"),
    (lambda: Iec60479("a", percentile=7), "no body impedance for 7 %"),
    (lambda: Iec60479("a", skin="oiled"), "no body impedance for 'oiled' skin"),
    (lambda: Iec60479("a", footwear=math.inf), "resistance of one shoe inf ohm: must be"),
    (permissible(Iec60479("a"), "swim"), "IEC 60479-1 gives no limit for 'swim'"),
    (permissible(Iec60479("a"), duration=0.005), "a curve of IEC 60479-1 holds from 0.01 s"),
    (effect(Iec60479("a"), duration=0.005), "a curve of IEC 60479-1 holds from 0.01 s"),
    (lambda: curve_current("d", duration=1.0), "no time-current curve 'd'; there are a, b"),
    (lambda: curve_current("b", duration=math.nan), "not for nan s"),
    (lambda: zone(-0.1, duration=1.0), "body current -0.1 A: must be finite and 0"),
    (lambda: Livestock("a", 0.4), "livestock level 0.4 V: action levels are from 0.5 to 1"),
    (lambda: Livestock("a", contact=-1.0), "contact resistance -1 ohm: must be finite"),
    (lambda: Livestock("a", pace=0.0), "pace of an animal 0 m: must be positive"),
    (permissible(Livestock("a"), "hands"), "level gives no limit for 'hands', only for touch"),
    (permissible(Livestock("a"), duration=-1.0), "the livestock level holds from 0 s without"),
    (effect(Livestock("a"), math.nan), "prospective voltage nan V: must be finite"),
    (lambda: OwnVoltage("a", ()), "a table of limits needs one or more points"),
    (lambda: OwnVoltage("a", ((0.0, 9.0),)), "duration of a limit 0 s: must be positive"),
    (lambda: OwnVoltage("a", ((1.0, 0.0),)), "limit 0 V: must be positive"),
    (
        lambda: OwnVoltage("a", ((1.0, 9.0), (1.0, 8.0))),
        "durations of a table of limits must rise; got 1, 1 s",
    ),
    (
        lambda: OwnVoltage("a", ((1.0, 8.0), (2.0, 9.0))),
        "a limit cannot rise with the duration; got 8, 9 V",
    ),
    (lambda: OwnVoltage("a", ((1.0, 9.0),), 0.0), "body resistance 0 ohm: must be positive"),
    (permissible(OwnVoltage("a", ((1.0, 9.0),)), "swim"), "your own limit gives no limit for"),
    (
        permissible(OwnVoltage("a", ((0.1, 9.0), (2.0, 8.0))), duration=2.1),
        "the table of limit 'a' holds from 0.1 s to 2 s, not for 2.1 s; add a point",
    ),
    (
        permissible(OwnVoltage("a", ((0.1, 9.0), (2.0, 8.0))), duration=0.05),
        "not for 0.05 s; limits do not rise with duration, so the limit at 0.1 s",
    ),
    (effect(OwnVoltage("a", ((1.0, 9.0),)), -1.0), "prospective voltage -1 V: must be"),
    (effect(OwnVoltage("a", ((1.0, 9.0),)), exposure="swim"), "no limit for 'swim'"),
    (lambda: OwnCurrent("a", 0.0, 500.0), "largest body current 0 A: must be positive"),
    (lambda: OwnCurrent("a", 0.01, -1.0), "body resistance -1 ohm: must be positive"),
    (permissible(OwnCurrent("a", 0.01, 1e3), "swim"), "your own limit gives no limit for"),
    (permissible(OwnCurrent("a", 0.01, 1e3), duration=-2.0), "your own limit holds from 0 s"),
    (effect(OwnCurrent("a", 0.01, 1e3), -1.0), "prospective voltage -1 V: must be finite"),
    (effect(OwnCurrent("a", 0.01, 1e3), exposure="swim"), "no limit for 'swim'"),
]


@pytest.mark.parametrize(("call", "message"), REFUSED, ids=[text for _, text in REFUSED])
def test_refused_with_words(call, message):
    with pytest.raises(CaseError, match=message):
        call()
