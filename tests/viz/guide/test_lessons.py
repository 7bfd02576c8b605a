"""Numbers of the lessons: those of a run, and near what others have computed or printed.

Closed forms are written out here from their sources, which are from memory unless it is said.
"""

import math
import re
from functools import cache

import numpy as np
import pytest
from numpy.testing import assert_allclose

import ohmscape
from ohmscape.cases.loading import load_case
from ohmscape.jobs.run import run_variants
from ohmscape.viz.guide.topics import ANSWER, topic, topics

LESSONS = [each for each in topics() if each.cases]
# What runs on another day, with another mesh generator, may differ by.
NOISE = 1.5e-3


@cache
def runs(name):
    """Results of a case by variant, as a user gets them."""
    return {result.variant: result for result in run_variants(load_case(name))}


def judged(result, name):
    return next(each for each in result.verdict.judgements if each.name == name)


def amount(text):
    """Value of a figure, and half a unit of its last digit."""
    number, decimals = re.fullmatch(r"(−?[0-9]+(?:\.([0-9]+))?) (?:Ω|A|V|%|Ω·m)", text).groups()
    return float(number.replace("−", "-")), 0.5 / 10 ** len(decimals or "")


def holds(lesson, **found):
    """All numbers of a lesson are what a run gave, to their last digit."""
    figures = topic(lesson).figures
    assert set(figures) == {name.replace("_", " ") for name in found}
    for name, value in found.items():
        told, rounding = amount(figures[name.replace("_", " ")])
        assert abs(told - value) <= rounding + NOISE * abs(value), (name, told, value)


def dwight(resistivity, *, length, radius):
    """Resistance of a rod that leaks evenly (Dwight 1936). [Ω]"""
    return resistivity / (2 * math.pi * length) * (math.log(4 * length / radius) - 1)


def line(distance, *, resistivity, current, top=0.0, length):
    """Potential of the surface beside a rod that leaks evenly (Sunde 1949). [V]"""
    depths = np.arcsinh((top + length) / distance) - np.arcsinh(top / distance)
    return resistivity * current / (2 * math.pi * length) * depths


@pytest.mark.parametrize("lesson", LESSONS, ids=lambda each: each.key)
def test_a_lesson_asks_before_it_tells(lesson):
    assert lesson.text.count(f"\n## {ANSWER}\n") == 1
    before, after = lesson.text.split(f"\n## {ANSWER}\n")
    assert "## Predict" in before
    for heading in ("## The wrong idea", "## What it is held against"):
        assert heading in after
    assert any(re.search(rf"{name}( --no-pictures)?\n```", after) for name in lesson.cases)


def test_figures_that_are_asked_for_are_not_told_before():
    for lesson in LESSONS:
        told = [each for each in lesson.figures.values() if each not in lesson.question]
        assert len(told) >= len(lesson.figures) / 3, lesson.key


def test_one_rod():
    base, conductor = (runs("bench-rod")[name] for name in ("", "protective conductor"))
    holds(
        "one-rod",
        resistance=base.resistance(0),
        current=base.operation.fault_current,
        rise=base.rise,
        touch=judged(base, "touching the bench").worst.voltage,
        with_a_conductor=conductor.operation.fault_current,
    )
    # Even leakage is 1 % high; 2.3 Ω are wire and service electrode, 0.6 Ω both leads.
    rod = dwight(120.0, length=2.44, radius=0.00795)
    assert_allclose(base.resistance(0), rod, rtol=0.015)
    assert_allclose(base.operation.fault_current, 120 / (rod + 2.3), rtol=0.015)
    assert_allclose(conductor.operation.fault_current, 120 / 0.6, rtol=0.01)
    answers = {each.name: each.trip.certainty for each in base.clearing.answers}
    assert answers["branch breaker"] == "never"


def test_how_far():
    result = runs("driven-rod")[""]
    places = np.array([1.0, 3.0, 10.0])
    expected = line(places, resistivity=120.0, current=result.current(0), length=2.4384)
    profile = np.interp(places, result.profiles[0].distance, result.profiles[0].potential)
    assert_allclose(profile, expected, rtol=0.03)
    assert_allclose(profile[2], expected[2], rtol=0.01)
    holds(
        "how-far",
        rise=result.rise,
        at_one=profile[0],
        at_three=profile[1],
        at_ten=profile[2],
        share_at_one=100 * profile[0] / result.rise,
    )


def test_second_rod():
    found = {name: result.resistance(0) for name, result in runs("two-rods").items()}
    one = found.pop("")
    apart = {spacing: found[f"second rod at {spacing} m"] for spacing in (1, 3, 12)}
    holds(
        "second-rod",
        one=one,
        **{f"at_{spacing}": value for spacing, value in apart.items()},
        **{f"share_at_{spacing}": 100 * value / one for spacing, value in apart.items()},
    )
    alone = dwight(100.0, length=3.0, radius=0.008)
    assert_allclose(one, alone, rtol=0.015)
    for spacing, value in apart.items():
        # The integral that Dwight's series for two rods stand for: mean potential of the one on
        # the other, both with their images.
        u = spacing / 3.0
        mutual = np.arcsinh(2 / u) - (np.sqrt(4 + u**2) - u) / 2
        beside = 100.0 / (2 * math.pi * 3.0) * mutual
        assert_allclose(value, (alone + beside) / 2, rtol=0.015)


def test_contact_or_soil():
    compared = ohmscape.compare_case("measured-fresh-rod")
    fitted = compared.calibration
    assert [each.name for each in fitted.unknowns] == ["soil scale", "contact"]
    apart = compared.case.difference / compared.case.predicted
    soil, contact = 60.0 * fitted.value[0], fitted.value[1]
    # Sunde's line between the two probes at 0.2 m and 0.6 m.
    per_ohm_metre = line(0.2, resistivity=1.0, current=0.9, length=1.8)
    per_ohm_metre -= line(0.6, resistivity=1.0, current=0.9, length=1.8)
    holds(
        "contact-or-soil",
        soil=soil,
        contact=contact,
        hand=3.13 / per_ohm_metre,
        close_by=100 * apart[1],
        far_off=100 * apart[10],
    )
    # What the readings were made from, with noise of 2 %.
    assert_allclose((soil, contact), (38.0, 6.0), rtol=0.03)


def ieee_80(resistivity, *, feet, duration=0.5):
    """What 50 kg bear, 1000 Ω and `feet` of the resistivity (IEEE Std 80-2000). [V]"""
    return (1000 + feet * resistivity) * 0.116 / math.sqrt(duration)


def test_step_and_touch():
    result = runs("pole-on-bare-soil")[""]
    touch, step = judged(result, "hand on the pole"), judged(result, "walking past")
    holds(
        "step-and-touch",
        touch_voltage=touch.worst.voltage,
        step_voltage=step.worst.voltage,
        touch_limit=touch.worst.limit.voltage,
        step_limit=step.worst.limit.voltage,
    )
    assert_allclose(touch.worst.limit.voltage, ieee_80(400.0, feet=1.5), rtol=1e-3)
    assert_allclose(step.worst.limit.voltage, ieee_80(400.0, feet=6.0), rtol=1e-3)
    buried = {"resistivity": 400.0, "current": 2.5, "top": 0.5, "length": 2.4}
    assert_allclose(touch.worst.voltage, result.rise - line(1.0, **buried), rtol=0.02)
    inner = np.linspace(0.05, 1.0, 96)
    steps = line(inner, **buried) - line(inner + 1.0, **buried)
    assert_allclose(step.worst.voltage, steps.max(), rtol=0.06)
    assert (touch.outcome, step.outcome) == ("fail", "pass")


def test_rock():
    bare, rock = (
        judged(runs("pole-on-bare-soil")[name], "hand on the pole")
        for name in ("", "crushed rock")
    )
    holds(
        "rock",
        touch_voltage=rock.worst.voltage,
        touch_limit=bare.worst.limit.voltage,
        limit_on_rock=rock.worst.limit.voltage,
    )
    assert rock.worst.voltage == pytest.approx(bare.worst.voltage, rel=1e-9)
    layer = 1 - 0.09 * (1 - 400.0 / 2500.0) / (2 * 0.102 + 0.09)
    assert_allclose(rock.worst.limit.voltage, ieee_80(2500.0, feet=1.5 * layer), rtol=1e-3)
    assert (bare.outcome, rock.outcome) == ("fail", "pass")


def test_neutral_lost():
    whole, lost = (runs("neutral-lost")[name] for name in ("", "neutral lost"))
    holds(
        "neutral-lost",
        whole=whole.rise,
        lost=lost.rise,
        at_the_tap=judged(lost, "hand on the tap").worst.voltage,
        current_whole=whole.operation.fault_current,
        current_lost=lost.operation.fault_current,
    )
    rod = dwight(100.0, length=2.4, radius=0.008)
    metal = 1 / (1 / 0.2 + 1 / (rod + 5))
    assert_allclose(whole.operation.fault_current, 230 / (23 + metal), rtol=1e-3)
    assert_allclose(whole.rise, 230 * metal / (23 + metal) * rod / (rod + 5), rtol=0.005)
    assert_allclose(lost.operation.fault_current, 230 / (28 + rod), rtol=0.01)
    assert_allclose(lost.rise, 230 * rod / (28 + rod), rtol=0.01)
    tap = lost.rise - line(1.0, resistivity=100.0, current=lost.current(0), length=2.4)
    assert_allclose(judged(lost, "hand on the tap").worst.voltage, tap, rtol=0.01)
    answers = [each.trip.certainty for each in lost.clearing.answers]
    assert answers == ["never"]
    assert 230 * 8 / (28 + 8) > 50 > 230 * 7.7 / (28 + 7.7)  # "less than 8 Ω"


def point(distance, *, upper, lower, thickness):
    """Potential per current between points on two layers (Maxwell). [Ω]"""
    k = (lower - upper) / (lower + upper)
    n = np.arange(1, 400)
    images = (k**n / np.hypot(np.asarray(distance)[..., None], 2 * n * thickness)).sum(axis=-1)
    return upper / (2 * np.pi) * (1 / np.asarray(distance) + 2 * images)


def test_where_618_comes_from():
    on_rock, on_clay = ohmscape.predict_tests("grid-test-on-rock")[:2]
    golden = (math.sqrt(5) - 1) / 2
    assert_allclose(1 / golden - 1 / (1 - golden) + 1, 0, atol=1e-12)
    rock, clay = on_rock.found, on_clay.found
    holds(
        "where-618-comes-from",
        true_on_clay=clay.true_resistance,
        read_on_clay=clay.true_resistance * (1 + clay.usual_error),
        true_on_rock=rock.true_resistance,
        read_on_rock=rock.true_resistance * (1 + rock.usual_error),
        error_on_rock=100 * rock.usual_error,
    )
    # Sverak's formula (IEEE Std 80-2000 eq. 52): 200 m of conductor over 400 m² at 0.5 m.
    area = math.sqrt(20 / 400)
    sverak = 50 * (1 / 200 + area / 20 * (1 + 1 / (1 + 0.5 * area)))
    # It lies above what is computed, for grids of few meshes by a tenth and more.
    assert 0.87 * sverak < clay.true_resistance < sverak
    # The grid as its outline, seen from both probes; what is left of it at the electrode.
    side = np.linspace(-10.0, 10.0, 81)
    x = np.concatenate([side, side, np.full(81, -10.0), np.full(81, 10.0)])
    y = np.concatenate([np.full(81, -10.0), np.full(81, 10.0), side, side])
    soil = {"upper": 50.0, "lower": 500.0, "thickness": 4.0}
    seen = point(np.hypot(60 - x, y), **soil).mean()
    at_probe = point(np.hypot(60 * golden - x, y), **soil).mean()
    between = point(60 * (1 - golden), **soil)
    expected = -(at_probe - between + seen) / rock.true_resistance
    assert_allclose(rock.usual_error, expected, atol=0.015)
