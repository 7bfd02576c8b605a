"""What holds, what gets too hot, what melts."""

import math
from dataclasses import replace

import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.heating import (
    Carried,
    Conductor,
    Heating,
    HeatingPlan,
    heated,
    ieee_80,
    joint_limit,
    material,
)

COPPER = material("annealed copper")
LEAD = Conductor("lead", "lead", COPPER, 35e-6, 0.0, joint_limit("bolted", material=COPPER))
PLAN = HeatingPlan("ieee_80", 40.0, None, (LEAD,))


def judged(amperes, *, lead=LEAD, duration=0.5, error=0.0, factor=1.0, plan=PLAN):
    carried = Carried(amperes, "the current given", error)
    return heated(lead, carried=carried, plan=plan, duration=duration, factor=factor)


# What takes 35 mm² to 250 °C in half a second. [A]
MOST = ieee_80(COPPER).current(section=35e-6, duration=0.5, ambient=40.0, limit=250.0)
MELTS = ieee_80(COPPER).current(section=35e-6, duration=0.5, ambient=40.0, limit=1083.0)


@pytest.mark.parametrize(
    ("amperes", "outcome"),
    [
        (0.97 * MOST, "pass"),
        (0.985 * MOST, "within the numerical error"),
        (1.01 * MOST, "too hot"),
        (0.99 * MELTS, "too hot"),
        (1.01 * MELTS, "melts"),
        (40 * MELTS, "melts"),
    ],
)
def test_the_outcome_follows_the_temperature(amperes, outcome):
    found = judged(amperes, error=0.02)
    assert found.outcome == outcome
    assert Heating("", 40, 0.5, "", 1, 1, True, (found,)).failing == (found,) * (
        outcome != "pass"
    )


def test_joints_that_outlast_the_metal_leave_it_to_melt():
    lead = replace(LEAD, limit=joint_limit("fusing", material=COPPER))
    assert judged(0.99 * MELTS, lead=lead).outcome == "pass"
    assert judged(1.01 * MELTS, lead=lead).outcome == "melts"


def test_growth_decrement_and_share_make_the_current():
    found = judged(4000.0, lead=replace(LEAD, share=0.6), factor=1.25)
    assert_allclose(found.current, 3000.0)
    assert found.current_words == "0.6 of the current given"


def test_corrosion_takes_from_the_section_and_adds_to_what_is_needed():
    new, old = judged(4000.0), judged(4000.0, lead=replace(LEAD, corrosion=0.2))
    assert_allclose(old.corroded, 28e-6)
    assert_allclose(old.needed, new.needed / 0.8)
    # What is needed as new ends at the limit when a fifth of it is gone.
    least = replace(LEAD, corrosion=0.2, section=old.needed)
    assert_allclose(judged(4000.0, lead=least).temperature, 250.0)


def test_sizes_are_those_above_what_is_needed_and_none_for_rods():
    needed = judged(6000.0).needed
    assert_allclose(needed, 35e-6 * 6000.0 / MOST)  # 25.01 mm²
    assert judged(6000.0).sizes == ("35 mm²", "3 AWG")
    assert judged(6000.0, lead=replace(LEAD, use="rod")).sizes == ()
    assert judged(1e6).sizes == ("more than one conductor",)


def test_nothing_is_judged_where_nothing_clears_the_fault():
    found = judged(100.0, duration=math.inf)
    assert found.outcome == "not evaluated"
    assert math.isnan(found.needed)
    assert found.sizes == ()


def test_metal_below_what_a_standard_wants_for_strength_is_told():
    thin = replace(LEAD, section=10e-6)
    assert "16 mm² of copper" in judged(100.0, lead=thin).least
    assert judged(100.0, lead=replace(LEAD, section=16e-6)).least == ""
    assert judged(100.0, lead=thin).outcome == "pass"  # a warning alone
