"""Exposures held against limits: one rod at 1 A, so that voltages are those of the field."""

import math
import re
from dataclasses import replace

import numpy as np
import pytest
from measuring import resistance
from numpy.testing import assert_allclose

from ohmscape.solver.errors import CaseError
from ohmscape.solver.exposure.places import TouchableMetal
from ohmscape.solver.exposure.surface import Area, surface_map
from ohmscape.solver.exposure.worst import WorstVoltage
from ohmscape.solver.limits import (
    En50522,
    Iec60479,
    Ieee80,
    Livestock,
    OwnVoltage,
    Standing,
)
from ohmscape.solver.model import Soil
from ohmscape.solver.solved_soil import Field
from ohmscape.solver.verdict import (
    Exposure,
    Safety,
    Scene,
    SurfaceLayer,
    Timing,
    UnderFeet,
    judge,
)
from ohmscape.solver.verdict.alike import distinct
from ohmscape.solver.verdict.ground import Ground
from ohmscape.solver.verdict.rules import rule_for

AREA = Area((-4.0, -4.0), (4.0, 4.0), 0.25)
METAL = TouchableMetal("rod head", 0, "points", np.array([[0.0, 0.0]]), 1.0)
HALF_SECOND = Timing(0.5, 0.5, "given")
FOR_EVER = Timing(0.1, math.inf, "nothing clears it")
PUBLIC = Ieee80("public", 50.0)
TOUCH = Exposure("at the rod", "touch", PUBLIC, ("rod head",), (0,))
STEP = Exposure("walking", "step", PUBLIC)


def volts(limit):
    return OwnVoltage(f"{limit:g} V", ((1.0, limit),))


@pytest.fixture(scope="module")
def scene(rod_solution):
    field = Field(rod_solution, np.array([resistance(rod_solution)]))
    surface = surface_map(AREA, field=field, metals=[METAL], pace=1.0)
    return Scene(field, surface, AREA, (METAL,), 0.05, 0.05, 0.02)


def judged(exposure, *, scene, timing=HALF_SECOND, layers=(), **factors):
    safety = Safety((exposure,), layers=layers)
    (judgement,) = judge(safety, scene=scene, timing=timing, **factors).judgements
    return judgement


def test_touch_is_worst_at_the_end_of_reach(scene):
    found = judged(TOUCH, scene=scene)
    # Exact 23.795 V for 1 A at 1 m (boundary integral, computed independently).
    assert_allclose(found.worst.voltage, 23.795, rtol=0.02)
    # (1000 + 1.5 x 100) 0.116 / sqrt(0.5), IEEE Std 80-2000 equation 32 (from memory).
    assert_allclose(found.worst.limit.voltage, 1150 * 0.116 / math.sqrt(0.5), rtol=1e-12)
    assert found.outcome == "pass"
    assert found.worst.effect.body_current == pytest.approx(found.worst.voltage / 1150)
    assert found.worst.ground == "native soil"


def test_margins_scale_with_current(scene):
    once = judge(Safety((TOUCH, STEP)), scene=scene, timing=HALF_SECOND)
    more = judge(
        Safety((TOUCH, STEP)),
        scene=scene,
        timing=HALF_SECOND,
        growth_factor=1.5,
        decrement_factor=1.2,
    )
    for one, other in zip(once.judgements, more.judgements, strict=True):
        assert_allclose(other.worst.share, 1.8 * one.worst.share, rtol=1e-12)
        assert other.worst.foot == one.worst.foot
        assert_allclose(other.error, 1.8 * one.error, rtol=1e-12)
        assert_allclose(other.share, 1.8 * one.share, rtol=1e-12)


def test_longer_faults_are_never_safer(scene):
    shares = [
        judged(TOUCH, scene=scene, timing=Timing(t, t, "")).worst.share
        for t in (0.03, 0.1, 0.5, 1.0, 3.0, 10.0, math.inf)
    ]
    assert shares == sorted(shares)


def test_the_longest_duration_decides(scene):
    found = judged(TOUCH, scene=scene, timing=Timing(0.1, 2.0, "device"))
    assert found.duration == 2.0


def test_a_limit_that_does_not_hold_for_ever_gives_way_to_one_that_does(scene):
    found = judged(TOUCH, scene=scene, timing=FOR_EVER)
    assert "'public' holds to 3 s and the fault is continuous" in found.instead
    assert "curve b" in found.limit_source
    own = Safety((TOUCH,), long_duration_limit=volts(20.0))
    (other,) = judge(own, scene=scene, timing=FOR_EVER).judgements
    assert (other.limit_name, other.worst.limit.voltage, other.outcome) == (
        "20 V",
        20.0,
        "fail",
    )


def test_a_fault_too_short_for_a_limit_counts_as_its_shortest(scene):
    found = judged(TOUCH, scene=scene, timing=Timing(0.01, 0.01, "relay"))
    assert found.duration == 0.03
    assert "judged as if it lasted that long" in found.instead


def test_a_limit_without_the_exposure_is_refused(scene):
    steps = Exposure("walking", "step", En50522("european"))
    with pytest.raises(CaseError, match="gives no limit for 'step'"):
        judged(steps, scene=scene)


@pytest.mark.parametrize(
    ("share", "outcome"),
    [(0.9, "fail"), (1.0005, "within the numerical error"), (1.1, "pass")],
)
def test_what_lies_within_the_numerical_error_does_not_pass(scene, share, outcome):
    worst = judged(TOUCH, scene=scene).worst.voltage
    exposure = replace(TOUCH, limit=volts(share * worst))
    verdict = judge(Safety((exposure,)), scene=scene, timing=HALF_SECOND)
    assert verdict.judgements[0].outcome == outcome
    assert verdict.passes == (outcome == "pass")


def test_a_lower_limit_may_be_the_one_that_is_too_close(scene):
    found = judged(TOUCH, scene=scene)
    place = found.worst
    on_rock = replace(place, voltage=661.0, limit=replace(place.limit, voltage=696.0))
    on_soil = replace(place, voltage=224.0, limit=replace(place.limit, voltage=238.0))
    assert on_rock.share > on_soil.share
    both = replace(found, places=(on_rock, on_soil), error=20.0)
    assert both.outcome == "within the numerical error"
    assert replace(both, error=10.0).outcome == "pass"


def test_a_voltage_that_is_no_number_does_not_pass(scene):
    found = judged(TOUCH, scene=scene)
    unknown = replace(found, places=(replace(found.worst, voltage=math.nan),))
    assert unknown.outcome == "fail"
    assert replace(found, error=math.nan).outcome == "within the numerical error"


def test_metal_that_nobody_reaches_is_not_judged_and_does_not_pass(scene):
    far = TouchableMetal("mast", 0, "points", np.array([[40.0, 0.0]]), 1.0)
    surface = surface_map(AREA, field=scene.field, metals=[far], pace=1.0)
    away = replace(scene, surface=surface, metals=(far,))
    exposure = Exposure("at the mast", "touch", PUBLIC, ("mast",), (0,))
    verdict = judge(Safety((exposure,)), scene=away, timing=HALF_SECOND)
    assert verdict.judgements[0].outcome == "not evaluated"
    assert not verdict.passes
    assert verdict.tightest is None
    assert math.isnan(verdict.judgements[0].worst_share)


def test_rock_on_one_side_moves_the_worst_place_to_the_other(scene):
    half = np.array([[0.0, -9.0], [9.0, -9.0], [9.0, 9.0], [0.0, 9.0]])
    rock = SurfaceLayer("rock", half, 3000.0, 0.1)
    found = judged(TOUCH, scene=scene, layers=(rock,))
    assert found.worst.foot[0] <= 1e-6
    assert found.worst.ground == "native soil"
    on_rock = [place for place in found.places if place.foot[0] > 0.05]
    assert all(place.ground == "rock" for place in on_rock)
    everywhere = SurfaceLayer("rock", 9 * (half - [4.5, 0.0]), 3000.0, 0.1)
    covered = judged(TOUCH, scene=scene, layers=(everywhere,))
    assert covered.worst.ground == "rock"
    assert_allclose(covered.worst.voltage, found.worst.voltage, rtol=1e-3)
    assert covered.worst.share < 0.5 * found.worst.share


@pytest.mark.parametrize("way", [1, -1])
def test_two_feet_on_two_grounds_have_the_lower_limit(way):
    half = np.array([[0.0, -9.0], [9.0, -9.0], [9.0, 9.0], [0.0, 9.0]])
    rock = SurfaceLayer("rock", half, 3000.0, 0.1)
    ground = Ground(Soil((100.0,)), (rock,))
    rule = rule_for(STEP, safety=Safety((STEP,)), timing=HALF_SECOND, ground=ground)
    native, on_rock = (item.limit.voltage for item in rule.grounds)
    assert on_rock > 2 * native
    feet = [(-0.5, 0.0), (0.5, 0.0)][::way]
    found = rule.judged(10.0, foot=feet[0], other_foot=feet[1])
    assert found.ground == "native soil"
    assert found.limit.voltage == native
    assert rule.judged(10.0, foot=(0.5, 0.0), other_foot=(1.5, 0.0)).ground == "rock"
    share = rule.yardstick().share(np.array([10.0]), *(np.array([foot]) for foot in feet))
    assert_allclose(share, 10.0 / native)


def test_ten_places_worst_first_a_pace_apart(scene):
    found = judged(STEP, scene=scene)
    shares = [place.share for place in found.places]
    assert len(shares) == 10
    assert shares == sorted(shares, reverse=True)
    assert np.nanmax(found.share) <= shares[0] * (1 + 1e-9)


def test_animals_step_further_than_people(scene):
    cows = Exposure("meadow", "step", Livestock("cows", level=1.0))
    found = judged(cows, scene=scene)
    feet = np.array([found.worst.foot, found.worst.other_foot])
    assert_allclose(np.linalg.norm(feet[1] - feet[0]), 1.5, rtol=1e-9)
    assert found.worst.voltage > judged(STEP, scene=scene).worst.voltage


def test_a_carried_voltage_is_met_where_it_is_carried_to(scene):
    rise = float(scene.field.voltage[0])
    far = Exposure("phone", "transferred", PUBLIC, ("rod",), (0,))
    assert_allclose(judged(far, scene=scene).worst.voltage, rise, rtol=1e-12)
    assert judged(far, scene=scene).worst.foot is None
    places = np.array([[2.0, 0.0], [6.0, 0.0]])
    near = replace(far, places=places)
    found = judged(near, scene=scene)
    expected = rise - scene.field.surface_potential(places)
    assert_allclose([place.voltage for place in found.places], expected[::-1], rtol=1e-12)


def test_soil_and_rock_of_the_site_do_not_count_at_remote_earth(scene):
    everywhere = np.array([[-9.0, -9.0], [9.0, -9.0], [9.0, 9.0], [-9.0, 9.0]])
    rock = SurfaceLayer("rock", everywhere, 3000.0, 0.1)
    far = Exposure("phone", "transferred", PUBLIC, ("rod",), (0,))
    worst = judged(far, scene=scene, layers=(rock,)).worst
    # 1000 x 0.116 / sqrt(0.5), IEEE Std 80-2000 (from memory), and 1.5 ohm of the feet.
    assert_allclose(worst.limit.voltage, 1001.5 * 0.116 / math.sqrt(0.5), rtol=1e-12)
    assert worst.ground == ""
    here = judged(replace(far, places=np.array([[2.0, 0.0]])), scene=scene, layers=(rock,))
    assert here.worst.ground == "rock"


def test_hands_between_metals_of_one_potential_meet_nothing(scene):
    same = Exposure("two handles", "hands", PUBLIC, ("rod head", "rod"), (0, 0))
    found = judged(same, scene=scene)
    assert (found.worst.voltage, found.outcome, found.worst.ground) == (0.0, "pass", "")
    # Metal to metal: 1000 x 0.116 / sqrt(0.5) without feet, IEEE Std 80-2000 (from memory).
    assert_allclose(found.worst.limit.voltage, 116 / math.sqrt(0.5), rtol=1e-12)


def test_out_of_phase_voltages_count_by_their_size(scene):
    turned = replace(
        scene, field=Field(scene.field.solution, scene.field.voltage * np.exp(0.7j))
    )
    turned = replace(
        turned, surface=surface_map(AREA, field=turned.field, metals=[METAL], pace=1.0)
    )
    for exposure in (TOUCH, STEP):
        plain = judged(exposure, scene=scene).worst
        assert_allclose(judged(exposure, scene=turned).worst.voltage, plain.voltage, rtol=1e-6)


def test_the_zone_is_told_where_the_limit_set_knows_it(scene):
    exposure = replace(TOUCH, limit=Iec60479("people", curve="c1"))
    # 24 V through 100 Ω·m of feet and a 5 % body: some 10 mA, perception but no injury.
    assert judged(exposure, scene=scene).worst.effect.zone == "AC-2"


def test_the_step_outline_is_a_circle_round_the_rod(scene):
    level = float(np.quantile(scene.surface.step, 0.6))
    safety = Safety((STEP,), step_outline=level)
    outline = judge(safety, scene=scene, timing=HALF_SECOND).step_outline
    assert outline.whole
    assert_allclose(outline.centre, (0.0, 0.0), atol=1e-12)
    radii = np.linalg.norm(outline.segments.reshape(-1, 2), axis=1)
    assert_allclose(radii, outline.radius, rtol=0.03)
    # The field of the rod falls with distance: steps from the outline have that voltage.
    at = np.array([[outline.radius, 0.0], [outline.radius - 1.0, 0.0]])
    one, other = scene.field.surface_potential(at)
    assert_allclose(other - one, level, rtol=0.05)


def test_the_step_outline_holds_the_worst_step_that_was_found(scene):
    # Between the samples of the map the worst step is a little larger than at any of them.
    # All of the flush head is at the voltage of the metal: steps off it are as good as equal
    # all round. The level leaves out the next one that was found, which would set the radius.
    worst, following, *_ = judged(STEP, scene=scene).places
    level = (worst.voltage + max(following.voltage, scene.surface.step.max())) / 2
    assert scene.surface.step.max() < level < worst.voltage
    found = judge(Safety((STEP,), step_outline=level), scene=scene, timing=HALF_SECOND)
    feet = np.array([worst.foot, worst.other_foot])
    assert_allclose(found.step_outline.radius, np.linalg.norm(feet, axis=1).max(), rtol=1e-9)


def test_a_step_of_just_the_voltage_asked_for_is_within_the_outline(scene):
    worst = judged(STEP, scene=scene).worst
    safety = Safety((STEP,), step_outline=worst.voltage)
    outline = judge(safety, scene=scene, timing=HALF_SECOND).step_outline
    assert_allclose(
        outline.radius, np.linalg.norm([worst.foot, worst.other_foot], axis=1).max()
    )
    assert outline.radius > 0.5


def test_the_map_of_steps_counts_the_ground_under_the_foot_the_step_leads_to(scene):
    """Everybody on one side of an edge stands on rock, and on soil on the other."""
    east = np.array([[0.0, -9.0], [9.0, -9.0], [9.0, 9.0], [0.0, 9.0]])
    rock = SurfaceLayer("rock", east, 3000.0, 0.1)
    share = judged(STEP, scene=scene, layers=(rock,)).share
    bare = judged(STEP, scene=scene).share
    surface = scene.surface
    # Towards the rod at the origin or away from it, wherever that is the steepest.
    lead = surface.places[:, 0] + surface.pace * np.cos(surface.step_direction)
    here = surface.places[:, 0]
    both = (here > surface.pace) & (lead > 1e-6)
    one = ((here > 1e-6) & (lead < -1e-6)) | ((here < -1e-6) & (lead > 1e-6))
    assert both.sum() > 100
    assert one.sum() > 20
    assert (share[both] < 0.5 * bare[both]).all()
    assert_allclose(share[one], bare[one], rtol=1e-12)


def test_beside_an_edge_a_smaller_step_onto_a_lower_limit_is_the_worse_one(scene):
    """The edge is no line of symmetry: a pace towards the rod stays on the rock here."""
    rock = SurfaceLayer(
        "rock", np.array([[-1.7, -9.0], [9.0, -9.0], [9.0, 9.0], [-1.3, 9.0]]), 3000.0, 0.1
    )
    found = judged(STEP, scene=scene, layers=(rock,))
    surface, field = scene.surface, scene.field
    edge = -1.5 + 0.4 / 18 * surface.places[:, 1]
    beside = (surface.places[:, 0] > edge) & (surface.places[:, 0] < edge + 0.95)
    places, potential = surface.places[beside], surface.potential[beside]
    largest = np.zeros(len(places))
    for angle in np.linspace(0, 2 * np.pi, 180, endpoint=False):
        others = places + surface.pace * np.array([np.cos(angle), np.sin(angle)])
        voltage = np.abs(potential - field.surface_potential(others))
        limit = np.minimum(found.permissible(places), found.permissible(others))
        largest = np.maximum(largest, voltage / limit)
    # Drawn steps are those of the best direction within 3 %.
    assert (found.share[beside] > 0.97 * largest).all()
    # Many of them lead onto the soil though a larger voltage does not.
    smaller = found.step[beside] < 0.9 * surface.step[beside]
    assert smaller.sum() > 30
    # Share, voltage and direction belong together.
    heading = np.column_stack([np.cos(found.step_direction), np.sin(found.step_direction)])
    others = surface.places + surface.pace * heading
    limits = np.minimum(found.permissible(surface.places), found.permissible(others))
    assert_allclose(found.share, found.step / limits, rtol=1e-12)
    step = np.abs(surface.potential - field.surface_potential(others))
    assert_allclose(found.step, step, rtol=1e-9)


def test_without_an_edge_steps_are_those_of_the_map(scene):
    assert judged(STEP, scene=scene).step is None
    far = SurfaceLayer("rock", 90.0 + np.array([[0, 0], [1, 0], [1, 1.0]]), 3000.0, 0.1)
    assert judged(STEP, scene=scene, layers=(far,)).step is None


def test_an_outline_beyond_the_map_says_so(scene):
    safety = Safety((STEP,), step_outline=1e-3)
    outline = judge(safety, scene=scene, timing=HALF_SECOND).step_outline
    assert not outline.whole
    nowhere = judge(Safety((STEP,), step_outline=1e6), scene=scene, timing=HALF_SECOND)
    assert nowhere.step_outline.radius == 0.0


def test_feet_stand_on_what_is_stated_not_on_the_soil_that_is_solved(scene):
    feet = UnderFeet(Soil((20.0,)), "wet")
    verdict = judge(Safety((TOUCH,), under_feet=feet), scene=scene, timing=HALF_SECOND)
    (item,) = verdict.judgements
    # IEEE Std 80-2000 equation 32 (from memory).
    assert_allclose(item.worst.limit.voltage, 1030 * 0.116 / math.sqrt(0.5), rtol=1e-12)
    assert item.grounds[0].resistivity == 20.0
    assert verdict.under_feet == "wet"


@pytest.mark.parametrize("duration", [0.03, 0.1, 0.2, 0.5, 1.0, 3.0, math.inf])
@pytest.mark.parametrize("people", [("children",), ("wet",), ("children", "wet", "barefoot")])
def test_a_limit_for_those_who_are_there_is_never_above_that_of_adults(scene, people, duration):
    there = replace(TOUCH, people=people)
    timing = Timing(duration, duration, "")
    adult, found = (judged(item, scene=scene, timing=timing) for item in (TOUCH, there))
    assert found.worst.limit.voltage <= adult.worst.limit.voltage
    skin = "water-wet" if "wet" in people else "dry"
    fitting = Iec60479("it", skin=skin)
    bare = Standing(100.0)
    at_most = fitting.permissible("touch", duration=duration, standing=bare).voltage
    assert found.worst.limit.voltage <= at_most
    # The lower of the two, or let-go of wet hands where nothing clears the fault.
    if duration <= 3.0:
        assert found.worst.limit.voltage == min(adult.worst.limit.voltage, at_most)
    assert people[0] in found.protects or "wet skin" in found.protects
    assert "adults" in found.instead


def test_shoes_do_not_count_where_people_go_barefoot(scene):
    shod = Iec60479("shod", footwear=1000.0)
    there = replace(TOUCH, limit=shod, people=("barefoot",))
    found = judged(there, scene=scene)
    bare = judged(replace(TOUCH, limit=Iec60479("bare")), scene=scene)
    assert found.worst.limit.voltage == bare.worst.limit.voltage
    assert "no shoes" in found.protects


@pytest.mark.parametrize(
    ("people", "limit", "reason"),
    [
        (("swimmers",), PUBLIC, "no limit is held for people in water.*60364-7-702"),
        (("children",), Livestock("cows"), "says nothing of people"),
    ],
)
def test_nobody_passes_by_a_limit_for_others(scene, people, limit, reason):
    found = judged(replace(TOUCH, limit=limit, people=people), scene=scene)
    assert found.outcome == "not evaluated"
    assert re.search(reason, found.not_judged)
    assert found.worst is None


def test_every_limit_says_whom_it_protects(scene):
    assert judged(TOUCH, scene=scene).protects == "adults of 50 kg"
    livestock = replace(TOUCH, limit=Livestock("cows"))
    assert judged(livestock, scene=scene).protects == "livestock"


def test_places_all_round_a_rod_are_told_once(scene):
    # A reach of 1 m has room for six places a reach apart, all at its end.
    (worst, *others) = judged(TOUCH, scene=scene).places
    assert_allclose(np.linalg.norm(worst.foot), 1.0, rtol=1e-6)
    assert 3 <= worst.alike <= 5
    for place in others:
        assert place.share < 0.99 * worst.share or np.linalg.norm(place.foot) < 0.9


def test_as_large_a_share_elsewhere_is_no_place_that_is_alike(scene):
    rod = scene.field.solution.conductors
    place = judged(TOUCH, scene=scene).worst
    places = [place, replace(place, ground="rock"), place, replace(place, voltage=0.9)]
    feet = [(1.0, 0.0), (0.0, 1.0), (0.0, 0.5), (-1.0, 0.0)]
    worst = [WorstVoltage("touch", "rod head", 1.0, foot) for foot in feet]
    found = distinct(places, worst=worst, conductors=rod, apart=1.0, most=10)
    assert [more for _, more in found] == [0, 0, 0, 0]
    again = [*worst[:1], WorstVoltage("touch", "rod head", 1.0, (-0.6, 0.8))]
    found = distinct([place, place], worst=again, conductors=rod, apart=1.0, most=10)
    assert [more for _, more in found] == [1]


def test_what_the_voltage_along_the_metal_could_use_up_does_not_pass(scene):
    worst = judged(TOUCH, scene=scene).worst.voltage
    exposure = replace(TOUCH, limit=volts(1.2 * worst))
    apart = replace(scene, drop=0.25 * worst)
    for seen, factor, outcome in (
        (scene, 1.0, "pass"),
        (replace(scene, drop=0.15 * worst), 1.0, "pass"),
        (apart, 1.0, "within the drop along the metal"),
        (apart, 1.15, "within the drop along the metal"),
        (apart, 1.25, "fail"),
    ):
        verdict = judge(
            Safety((exposure,)), scene=seen, timing=HALF_SECOND, growth_factor=factor
        )
        (found,) = verdict.judgements
        assert found.outcome == outcome
        assert found.drop == pytest.approx(factor * seen.drop)
        assert verdict.passes == (outcome == "pass")
    # What the numbers alone leave open comes first.
    close = replace(TOUCH, limit=volts(1.0005 * worst))
    (found,) = judge(Safety((close,)), scene=apart, timing=HALF_SECOND).judgements
    assert found.outcome == "within the numerical error"
