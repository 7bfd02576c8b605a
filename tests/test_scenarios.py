"""Whole jobs with known answers: a rod on 120 V, a substation, a pasture, a TT workshop.

Unless it says otherwise, what is expected was computed independently, by line sources and
their images with even leakage, to two or three digits. The potential of an even leakage is
some 1 % off that of the real one away from the rod, and more beside it.
"""

from functools import cache

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.loading import load_case
from ohmscape.cases.shipped import shipped_case_path
from ohmscape.jobs.run import run_variants
from ohmscape.viz.terminal.verdict import verdict_lines
from ohmscape.viz.verdict_words import carried_split_texts


@cache
def results(name, accuracy="normal"):
    """Results of a shipped case and its variants, by the name of the variant."""
    case = load_case(shipped_case_path(name))
    return {result.variant: result for result in run_variants(case, accuracy=accuracy)}


def judgement(result, name):
    return next(item for item in result.verdict.judgements if item.name == name)


def answer(result, name):
    return next(item for item in result.clearing.answers if item.name == name)


def along(result, distances):
    """Potential at distances along the first profile. [V]"""
    profile = result.profiles[0]
    return np.interp(distances, profile.distance, np.real(profile.potential))


class TestRodOn120V:
    def test_resistance_current_and_heat(self):
        result = results("bench-rod")[""]
        assert_allclose(result.resistance(0), 47.5, rtol=0.01)
        # 120 V over rod, wire and service electrode, by hand.
        assert_allclose(result.operation.fault_current, 120 / (47.5 + 2.3), rtol=0.01)
        assert_allclose(result.rise, 114, rtol=0.01)
        assert_allclose(result.operation.point.power, 276, rtol=0.015)

    def test_a_fresh_rod_draws_a_few_amperes(self):
        # Common practice, no source: 2 to 10 A from 120 V.
        assert 2 < results("bench-rod")[""].operation.fault_current < 10

    def test_voltage_falls_off_across_the_yard(self):
        result = results("bench-rod")[""]
        found = along(result, [1.0, 2.0, 5.0, 10.0, 30.0])
        assert_allclose(found, [30, 19, 8.9, 4.6, 1.5], rtol=0.04)
        assert_allclose(along(result, 0.3), 51, rtol=0.04)
        # Far away a rod is a point, V = rho I / (2 pi r); at 10 m it is 1 % less of one.
        point = 120 * result.operation.fault_current / (2 * np.pi * 10)
        assert_allclose(found[3] / point, np.arcsinh(0.244) / 0.244, rtol=0.003)

    def test_the_frame_is_not_safe(self):
        result = results("bench-rod")[""]
        touch = judgement(result, "touching the bench")
        assert_allclose(touch.worst.voltage, 85, rtol=0.01)
        assert touch.outcome == "fail"
        assert "'adults' holds to 3 s and the fault is continuous" in touch.instead
        assert touch.limit_name == "let go"

    def test_body_current_by_the_usual_resistances(self):
        # With the device fitted the limit is IEEE 80's: 1000 ohm + 1.5 rho.
        touch = judgement(results("bench-rod")["ground-fault device"], "touching the bench")
        assert_allclose(touch.worst.effect.body_current, 72e-3, rtol=0.01)
        # A step from 0.3 m to 1.3 m, 1000 ohm + 6 rho.
        one, other = along(results("bench-rod")[""], [0.3, 1.3])
        assert_allclose(one - other, 25, rtol=0.05)
        assert_allclose((one - other) / 1720, 15e-3, rtol=0.05)

    def test_the_breaker_does_not_see_it_and_the_ground_fault_device_does(self):
        result = results("bench-rod")[""]
        breaker = answer(result, "branch breaker")
        assert_allclose(breaker.current / 15, 0.16, rtol=0.01)
        assert breaker.trip.certainty == "never"
        assert answer(result, "magnetic release of the breaker").trip.certainty == "never"
        device = answer(result, "ground-fault device")
        assert (device.fitted, device.trip.certainty) == (False, "certainly")
        fitted = results("bench-rod")["ground-fault device"]
        assert fitted.verdict.longest < 0.03

    def test_a_protective_conductor_carries_nearly_all_of_it(self):
        result = results("bench-rod")["protective conductor"]
        operation = result.operation
        # 120 V over two leads of 0.3 ohm, the rod beside one of them.
        assert_allclose(operation.fault_current, 200, rtol=0.01)
        assert operation.share("earth current of bench rod") < 0.01
        for name in ("branch breaker", "magnetic release of the breaker"):
            assert answer(result, name).trip.certainty == "certainly"
        assert result.verdict.longest == 0.02
        assert judgement(result, "touching the bench").outcome == "pass"
        assert_allclose(result.rise, 60 * 47.5 / 49.5, rtol=0.02)


@pytest.mark.slow
class TestSubstation:
    """Computed at 60 Hz (decrement 1.026); the case has 50 Hz, 1.031 by the same formula."""

    expected_rise = 2690 * 1.031 / 1.026

    def test_resistance_and_rise(self):
        result = results("switchyard", "coarse")[""]
        assert_allclose(result.resistance(0), 1.53, rtol=0.01)
        verdict = result.verdict
        assert_allclose(verdict.decrement_factor, 1.031, rtol=1e-3)
        total = result.rise * verdict.growth_factor * verdict.decrement_factor
        assert_allclose(total, self.expected_rise, rtol=0.01)

    def test_touch_inside_fails_on_rock(self):
        inside = judgement(results("switchyard", "coarse")[""], "inside the yard")
        # In the corner mesh, 34.4 % of the rise.
        assert_allclose(inside.worst.voltage, 0.344 * self.expected_rise, rtol=0.02)
        assert_allclose(inside.worst.limit.voltage, 696, rtol=0.002)
        assert (inside.outcome, inside.worst.ground) == ("fail", "crushed rock")

    def test_touch_at_the_fence_fails_on_bare_soil(self):
        result = results("switchyard", "coarse")[""]
        fence = judgement(result, "at the fence from outside")
        assert_allclose(fence.worst.limit.voltage, 238, rtol=0.002)
        assert (fence.outcome, fence.worst.ground) == ("fail", "native soil")
        # 47 % is 1 m out along x and along y from a corner: beyond an arm's length of the
        # fence, where a person reaching it meets less.
        corner = result.rise - result.field.surface_potential(np.array([[-1.0, -1.0]]))[0]
        assert_allclose(corner / result.rise, 0.47, atol=0.01)
        assert fence.worst.voltage < 0.47 * self.expected_rise

    def test_step_at_the_corner_fails_on_bare_soil_and_not_on_rock(self):
        step = judgement(results("switchyard", "coarse")[""], "walking anywhere")
        assert_allclose(step.worst.limit.voltage, 459, rtol=0.002)
        assert step.outcome == "fail"
        # 18.8 % of the rise by even leakage along each conductor.
        assert_allclose(step.worst.voltage, 0.188 * self.expected_rise, rtol=0.06)
        rock = next(ground for ground in step.grounds if ground.name == "crushed rock")
        assert_allclose(rock.limit.voltage, 2292, rtol=0.002)

    def test_the_averaged_soil_hides_the_failure_inside(self):
        layered, averaged = (
            judgement(results("switchyard", "coarse")[name], "inside the yard")
            for name in ("", "averaged soil")
        )
        assert layered.outcome == "fail"
        assert averaged.outcome == "pass"
        assert_allclose(averaged.worst.voltage, 588 * 1.031 / 1.026, rtol=0.03)
        assert_allclose(averaged.worst.limit.voltage, 685, rtol=0.002)
        assert_allclose(
            results("switchyard", "coarse")["averaged soil"].resistance(0), 1.93, rtol=0.01
        )

    def test_a_split_factor_carried_into_other_soil_is_told(self):
        case, *variants = results("switchyard", "coarse").values()
        frost, averaged = sorted(carried_split_texts([case, *variants]), reverse=True)
        assert "'frozen top' keeps the split factor 0.600" in frost
        assert "so that less of the fault current" in frost
        assert "'averaged soil'" in averaged
        # Rock on the ground moves no resistance: nothing to say.
        told = " ".join(" ".join(verdict_lines([case, *variants])).split())
        assert told.count("split factor 0.600") == 2

    def test_frost_raises_resistance_and_touch(self):
        result = results("switchyard", "coarse")["frozen top"]
        assert_allclose(result.resistance(0), 3.8, rtol=0.01)
        touch = max(item.voltage for item in result.worst if item.name == "structures")
        assert_allclose(touch / result.rise, 0.57, atol=0.02)


class TestPasture:
    @pytest.mark.slow
    def test_steps_of_a_cow_fall_off_from_the_pole(self):
        result = results("pasture-pole")[""]
        assert_allclose(result.resistance(0), 36, rtol=0.02)
        assert_allclose(result.rise, 4.0, rtol=0.002)
        start = np.array([0.5, 1.0, 2.0, 3.0])
        steps = along(result, start) - along(result, start + 1.5)
        # To two digits; the second rod, floating 6 m away, moves the last by 1 mV.
        assert_allclose(steps, [0.79, 0.48, 0.24, 0.15], atol=0.012)

    def test_the_trough_is_well_above_the_action_level(self):
        drinking = judgement(results("pasture-pole")[""], "drinking")
        assert_allclose(drinking.worst.voltage, 3.0, rtol=0.025)
        assert (drinking.outcome, drinking.worst.limit.voltage) == ("fail", 0.5)

    def test_step_is_below_the_level_beyond_a_metre_or_so(self):
        # From 1 m outward 0.48 V; the outline counts the outer foot of the same step too.
        outline = results("pasture-pole")[""].verdict.step_outline
        pole = np.linalg.norm(outline.segments.reshape(-1, 2), axis=1)
        assert_allclose(pole.max(), 2.5, atol=0.15)
        assert outline.whole
        # The same from the live rod: the dead one, 6 m off, does not count.
        assert_allclose(outline.distance, pole.max(), atol=0.02)
        assert outline.centre == (0.0, 0.0)
        (polygon,) = outline.polygons
        assert_allclose(np.linalg.norm(polygon, axis=1), 2.5, atol=0.15)

    def test_a_second_rod_lowers_the_resistance_and_hardly_the_voltage(self):
        alone, joined = (results("pasture-pole")[name] for name in ("", "second rod joined"))
        assert joined.resistance(0) < 0.6 * alone.resistance(0)
        assert joined.rise > 0.95 * alone.rise


class TestWorkshop:
    @pytest.mark.slow
    def test_fault_current_and_voltage_of_the_frame(self):
        result = results("tt-workshop")[""]
        assert_allclose(result.resistance(0), 109, rtol=0.01)
        assert_allclose(result.operation.fault_current, 2.0, rtol=0.02)
        assert_allclose(result.rise, 220, rtol=0.01)
        touch = judgement(result, "touching the lathe").worst.voltage
        assert_allclose(touch, 180, rtol=0.01)

    def test_the_breaker_never_opens_and_the_residual_device_does(self):
        result = results("tt-workshop")[""]
        assert answer(result, "B16").trip.certainty == "never"
        device = answer(result, "30 mA device")
        assert device.trip.certainty == "certainly"
        # 109 ohm x 30 mA = 3.3 V.
        assert device.remark.startswith("resistance x rated residual current 3.2")
        assert "keeps to the 50 V" in device.remark
        assert judgement(result, "touching the lathe").outcome == "pass"

    def test_a_dry_summer_multiplies_the_resistance(self):
        assert_allclose(results("tt-workshop")["dry summer"].resistance(0), 272, rtol=0.01)

    def test_without_the_residual_device_nothing_clears_the_fault(self):
        result = results("tt-workshop")["no residual-current device"]
        assert result.verdict.longest == np.inf
        assert judgement(result, "touching the lathe").outcome == "fail"
