"""Drafts: what has not moved is kept, and what comes out is as if all had been done anew."""

from dataclasses import fields

import numpy as np
import pytest

from ohmscape.cases.loading import load_case, load_case_text
from ohmscape.jobs.drafting import Drafter, spline_error
from ohmscape.jobs.run import run_case
from ohmscape.jobs.steps import operate
from ohmscape.solver.results.draft import Draft, DraftMap
from ohmscape.solver.solved_soil import Field
from ohmscape.solver.thin_wire import KeptWires, second_opinion

_yard = """
ohmscape: 1
title: Yard that is being drawn
soil:
  layers:
    - {{resistivity: 200 ohm*m, thickness: {thick} m}}
    - {{resistivity: 60 ohm*m}}
electrodes:
  - name: yard
    drive: {{current: 400 A}}
    parts:
      - {{kind: grid, name: mesh, corner: [0 m, 0 m], size: [12 m, 8 m], meshes: [3, 2],
         depth: 0.5 m, diameter: 10 mm}}
      - {{kind: rod, name: moved, at: [{x} m, {y} m], top_depth: {top} m, length: 3 m,
         diameter: 16 mm}}
{more}
  - name: fence
    drive: {{floating: true}}
    parts:
      - {{kind: conductor, points: [[-3 m, -3 m], [15 m, -3 m]], depth: 0.3 m, diameter: 8 mm}}
study:
  area: {{margin: 4 m}}
  touch:
    - name: frames
      electrode: yard
      polygon: [[0 m, 0 m], [12 m, 0 m], [12 m, 8 m], [0 m, 8 m]]
    - {{name: rail, electrode: fence, line: [[-3 m, -3 m], [15 m, -3 m]]}}
safety:
  duration: 0.5 s
  limits:
    - {{name: adults, ieee_80: {{body: 50 kg}}}}
  exposures:
    - {{name: frames, touch: frames, limit: adults}}
    - {{name: walking, step: anywhere, limit: adults}}
"""
_ring = """
      - {kind: ring, name: more, centre: [6 m, 4 m], ring_radius: 8 m, depth: 0.6 m,
         diameter: 10 mm}
"""


def yard(x=14.0, y=2.0, *, top=0.5, thick=2.5, more=""):
    return load_case_text(_yard.format(x=x, y=y, top=top, thick=thick, more=more))


MOVES = (
    {},
    {"x": 14.3},
    {"x": 15.1, "y": 3.7},
    {"x": 15.1, "y": 3.7, "more": _ring},
    {"x": 12.0, "y": 8.0, "more": _ring},  # on a corner of the grid: both are cut there
    {"x": 15.1, "y": 3.7, "top": 0.0},
    {"x": 15.1, "y": 3.7, "top": 0.0, "thick": 2.7},
    {"x": 16.0, "y": 3.7},
)


def assert_same(one, other):
    """Two drafts of one case are the same but for round-off and time."""
    for field in fields(one):
        mine, others = getattr(one, field.name), getattr(other, field.name)
        if isinstance(mine, np.ndarray):
            assert_near(mine, others)
        elif isinstance(mine, DraftMap):
            assert_same(mine, others)
        elif isinstance(mine, tuple) and mine and hasattr(mine[0], "__dataclass_fields__"):
            assert len(mine) == len(others)
            for each, its in zip(mine, others, strict=True):
                assert_same(each, its)
        elif isinstance(mine, float) and field.name != "seconds":
            assert mine == pytest.approx(others, rel=1e-6)


def assert_near(one, other):
    largest = max(np.nanmax(np.abs(one), initial=0.0), 1e-12)
    np.testing.assert_allclose(one, other, rtol=0, atol=1e-8 * largest)


def potentials(draft: Draft):
    return draft.map.potential


def test_moves_come_to_what_a_fresh_draft_gives():
    kept = Drafter()
    seen = []
    for move in MOVES:
        case = yard(**move)
        found, fresh = kept.draft(case, moving=True), Drafter().draft(case, moving=True)
        assert_near(potentials(found), potentials(fresh))
        for one, other in zip(found.electrodes, fresh.electrodes, strict=True):
            assert one.resistance == pytest.approx(other.resistance, rel=1e-10)
            assert one.rise == pytest.approx(other.rise, rel=1e-10)
        for one, other in zip(
            (*found.worst, *found.judged), (*fresh.worst, *fresh.judged), strict=True
        ):
            assert one.voltage == pytest.approx(other.voltage, rel=1e-6)
            assert one.limit == other.limit
        seen.append(found.electrodes[0].resistance)
    # Each move does change something: nothing was simply kept.
    assert len(set(np.round(seen, 9))) == len(MOVES)


def test_kept_matrix_is_that_of_all_wires_at_once():
    kept = KeptWires(yard().soil)
    for move in MOVES[:6]:
        case = yard(**move)
        found = kept.solved(case.conductors, wires=300)
        fresh = KeptWires(case.soil).solved(case.conductors, wires=300)
        np.testing.assert_allclose(found.current, fresh.current, rtol=1e-9)
    exact = second_opinion(case.conductors, soil=case.soil)
    # Tables and fewer wires against 600 wires and all images.
    np.testing.assert_allclose(found.current_matrix, exact.current_matrix, rtol=0.01)


@pytest.mark.parametrize("move", [{}, {"top": 0.0}, {"more": _ring, "thick": 0.4}])
def test_surface_is_read_as_all_wires_together_make_it(move):
    case = yard(**move)
    drafter = Drafter()
    solution = drafter._solved(case)
    operated = operate(case, solution)
    field, exact = operated.field, Field(solution.opinion, operated.field.voltage)
    chance = np.random.default_rng(3)
    low, high = np.array([-5.0, -5.0]), np.array([17.0, 13.0])
    places = low + chance.random((400, 2)) * (high - low)
    # Over wires, beside and on the head of the rod, where it is sharpest.
    over = np.array([[6.0, 0.01], [4.0, 4.0], [14.0, 2.0], [14.02, 2.0], [6.0, -3.0]])
    places = np.concatenate([places, over])
    apart = field.surface_potential(places) - exact.surface_potential(places)
    rise = np.abs(field.voltage).max()
    assert np.abs(apart).max() < spline_error * rise


@pytest.mark.parametrize(
    ("name", "word"),
    [
        ("yard-on-a-rock-edge", "bodies"),
        ("kiosk-by-a-cable", "along"),
    ],
)
def test_cases_that_take_finite_elements_say_so(name, word):
    draft = Drafter().draft(load_case(name))
    assert draft.map is None
    assert draft.electrodes == ()
    assert any(word in note and "finite elements" in note for note in draft.notes)


def test_plates_take_finite_elements_too():
    plate = """
      - {kind: plate, centre: [14 m, 6 m], depth: 1 m, size: [0.9 m, 0.9 m]}
"""
    draft = Drafter().draft(yard(more=plate))
    assert draft.map is None
    assert any("plates" in note for note in draft.notes)


def test_shares_are_those_of_the_limits_at_the_places():
    draft = Drafter().draft(yard(), moving=True)
    judged = {item.name: item for item in draft.judged}
    touch, step = draft.map.shares
    largest = np.nanmax(touch.share)
    assert largest <= judged["frames"].share * (1 + 1e-9)
    assert largest > 0.9 * judged["frames"].share
    met = np.isfinite(touch.share)
    share = touch.factor * np.abs(draft.map.touch[0]) / touch.permissible
    np.testing.assert_allclose(touch.share[met], share[met], rtol=1e-9)
    assert np.nanmax(step.share) <= judged["walking"].share * (1 + 1e-9)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["pad-transformer", "substation-grid"])
def test_draft_and_finite_elements_agree_within_their_bands(name):
    case = load_case(name)
    draft, result = Drafter().draft(case), run_case(case, accuracy="coarse")
    point = result.operating
    band = result.accuracy.estimates[0] + draft.error
    for group, one in enumerate(draft.electrodes):
        ohms = point.resistance[point.bonded_set[group], point.bonded_set[group]]
        assert one.resistance == pytest.approx(ohms, rel=band)
    rise = float(np.abs(point.voltage).max())
    volts = (max(result.accuracy.estimates) + draft.error) * rise
    for mine, its in zip(draft.worst, result.worst, strict=True):
        assert (mine.kind, mine.name) == (its.kind, its.name)
        assert mine.voltage == pytest.approx(its.voltage, abs=volts)
