"""People on solved feet, from a case file to what is said of them beside the verdict."""

import pickle
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.loading import load_case
from ohmscape.jobs.run import reassess, run_case
from ohmscape.solver.errors import CaseError
from ohmscape.solver.field.solution import Solution
from ohmscape.solver.limits import (
    En50522,
    Iec60479,
    Ieee80,
    OwnCurrent,
    OwnVoltage,
    Standing,
    disc_layer_factor,
)
from ohmscape.viz.feet_words import feet_texts
from ohmscape.viz.report.sections.feet import feet_section
from ohmscape.viz.tables.feet import write_people
from ohmscape.viz.terminal.summary import summary

CASE = """
ohmscape: 1
title: a grid in a yard
soil:
  layers: [{resistivity: 300 ohm*m}]
  bodies: []
electrodes:
  - name: grid
    drive: {current: 10 A}
    parts:
      - {kind: grid, centre: [0 m, 0 m], size: [6 m, 6 m], meshes: [2, 2], depth: 0.4 m,
         diameter: 10 mm}
study:
  area: {margin: 3 m}
  touch:
    - {name: frame, electrode: grid, line: [[-1.5 m, 1.5 m], [-1.4 m, 1.5 m]]}
safety:
  duration: 0.5 s
  solved_feet: {}
  limits: [{name: adults, ieee_80: {}}]
  surface: []
  exposures: [{name: at the frame, touch: frame, limit: adults}]
"""
SLAB = "bodies: [{name: slab, kind: box, corner: [-8 m, -8 m], size: [16 m, 16 m], \
bottom: 0.15 m, resistivity: RHO}]"
GRAVEL = (
    "surface: [{name: gravel, polygon: [[-6 m, -6 m], [6 m, -6 m], [6 m, 6 m], [-6 m, 6 m]],\
 resistivity: 3000 ohm*m, thickness: 0.1 m}]"
)


def run(tmp_path, *changes, accuracy="coarse"):
    text = CASE
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    file = tmp_path / "case.yaml"
    file.write_text(text, encoding="utf-8")
    return run_case(file, accuracy=accuracy)


@pytest.fixture(scope="module")
def bare(tmp_path_factory):
    return run(tmp_path_factory.mktemp("bare"))


def test_feet_on_bare_ground_are_discs_that_act_on_each_other(bare):
    (person,) = bare.verdict.people
    # Of the grid below, at its voltage, comes a little off.
    alone = 0.5 * (300.0 / 0.32 + 300.0 / (2 * np.pi * 0.3))  # rho / 4b, rho / 2 pi d
    assert 0.93 * alone < person.solved < alone
    assert person.by_formula == 450.0
    assert_allclose(person.off, 450.0 / person.solved - 1)
    assert person.voltage == bare.verdict.judgements[0].worst.voltage
    # Ohm: 1000 ohm of body behind the feet.
    assert_allclose(person.effect.body_current, person.voltage / (1000 + person.solved))
    assert_allclose(person.effect.loaded_voltage, 1000 * person.effect.body_current)
    assert_allclose(person.most_current, 0.116 / np.sqrt(0.5))
    feet = np.array(person.feet)
    assert_allclose(np.linalg.norm(feet[0] - feet[1]), 0.3)
    assert_allclose(feet.mean(axis=0), person.place)


def test_feet_change_no_verdict(bare, tmp_path):
    without = run(tmp_path, ("  solved_feet: {}\n", ""))
    assert without.verdict.people == ()
    one, other = bare.verdict.judgements[0], without.verdict.judgements[0]
    assert one.places == other.places
    assert one.outcome == other.outcome
    assert feet_texts([without]) == []
    assert feet_section([without]) is None
    assert "solved feet" not in summary(without)


def test_surface_layers_carry_the_feet(bare, tmp_path):
    found = run(tmp_path, ("surface: []", GRAVEL), ("{}\n  limits", "{places: 2}\n  limits"))
    standing = Standing(300.0, 3000.0, 0.1)
    more = 3000.0 * disc_layer_factor(standing) / 0.32 - 300.0 / 0.32
    person = found.verdict.people[0]
    # Both feet have as much more as a disc on the layer has.
    assert_allclose(person.solved - bare.verdict.people[0].solved, 0.5 * more, rtol=0.01)
    assert "'gravel', 3,000 Ω·m" in person.stands_on
    assert_allclose(person.by_formula, person.solved, rtol=0.1)


@pytest.mark.slow
def test_a_body_under_the_feet_that_the_limit_does_not_know_is_said(tmp_path):
    wet = SLAB.replace("RHO", "15 ohm*m")
    found = run(tmp_path, ("bodies: []", wet), ("10 A", "33.8 A"))
    (judgement,), (person,) = found.verdict.judgements, found.verdict.people
    assert judgement.outcome == "pass"
    assert person.worse
    assert person.solved < 0.2 * person.by_formula
    told = summary(found)
    assert "UNSAFE BY SOLVED FEET, though 'at the frame' keeps its limit" in told
    assert "The verdict goes by what its limits themselves say of feet" in told
    (currents,) = (b for b in feet_section([found]).blocks if b.kind == "table" and b.tones)
    assert currents.tones == ("fail",)


@pytest.mark.slow
def test_poorer_ground_under_the_feet_does_not_rescue_a_verdict(tmp_path):
    dry = SLAB.replace("RHO", "4 kohm*m")
    found = run(tmp_path, ("bodies: []", dry), ("10 A", "72 A"))
    (judgement,), (person,) = found.verdict.judgements, found.verdict.people
    assert judgement.outcome == "fail"
    assert not found.verdict.passes
    assert person.better
    texts = " ".join(text.plain(units="SI", vocabulary="earth") for text in feet_texts([found]))
    assert "'at the frame' fails its limit" in texts
    assert "It stands" in texts


EDGE = GRAVEL.replace("[6 m, 6 m], [-6 m, 6 m]", "[6 m, 0.6 m], [-6 m, 0.6 m]")
AT_EDGE = (
    "at the frame, touch: frame",
    "at the frame, transferred: grid, at: [[-1.5 m, 0.5 m]]",
)


@pytest.mark.parametrize(("layer", "stands_on"), [("3000", "native"), ("30", "'gravel'")])
def test_feet_at_the_edge_of_a_layer_have_the_least_they_can(tmp_path, layer, stands_on):
    edge = EDGE.replace("3000", layer)
    found = run(tmp_path, ("surface: []", edge), AT_EDGE)
    # The same place with the layer as far as it is not near to an edge, and without.
    wide = run(tmp_path, ("surface: []", edge.replace("0.6 m", "2 m")), AT_EDGE)
    bare = run(tmp_path, AT_EDGE)
    solved, *others = (each.verdict.people[0].solved for each in (found, wide, bare))
    assert_allclose(solved, min(others), rtol=1e-9)
    assert max(others) > 1.5 * solved
    (person,) = found.verdict.people
    assert person.stands_on.startswith(stands_on)
    assert "the least that it can be at" in person.stands_on


def test_feet_at_the_edge_of_a_layer_between_better_and_poorer_are_not_solved(tmp_path):
    layers = ("[{resistivity: 300 ohm*m}]", "[{resistivity: 9 kohm*m, thickness: 0.05 m}, ")
    layers = (layers[0], layers[1] + "{resistivity: 300 ohm*m}]")
    found = run(tmp_path, ("surface: []", EDGE), AT_EDGE, layers)
    (person,) = found.verdict.people
    assert person.solved is None
    assert "too near to the edge of 'gravel'" in person.unsolved
    section = feet_section([found])
    assert "not solved" in str(section.blocks)
    write_people(found, found.verdict.people, tmp_path / "people.csv")
    assert "too near to the edge" in (tmp_path / "people.csv").read_text(encoding="utf-8")


def test_report_and_table_say_what_was_found(bare, tmp_path):
    section = feet_section([bare])
    kinds = [block.kind for block in section.blocks]
    assert kinds == ["paragraph", "table", "table", "picture"]
    assert section.blocks[-1].draw("SI", "svg").startswith(b"<?xml")
    write_people(bare, bare.verdict.people, tmp_path / "people.csv")
    lines = (tmp_path / "people.csv").read_text(encoding="utf-8").splitlines()
    header, row = (line for line in lines if not line.startswith("#"))
    assert len(header.split(",")) >= 19
    assert "at the frame" in row


def test_reassessed_feet_are_those_of_the_run(bare, tmp_path):
    (tmp_path / "case.yaml").write_text(CASE.replace("10 A", "20 A"), encoding="utf-8")
    case = load_case(tmp_path / "case.yaml")
    kept = pickle.loads(pickle.dumps(bare.coarse))
    assert isinstance(kept, Solution)
    assert "workings" not in vars(kept)  # made anew
    (again,) = reassess(case, [replace(bare, coarse=kept)])
    one, other = bare.verdict.people[0], again.verdict.people[0]
    assert_allclose(other.solved, one.solved, rtol=1e-6)
    assert_allclose(other.voltage, 2 * one.voltage, rtol=1e-6)


def test_what_cannot_be_asked_is_refused(tmp_path):
    file = tmp_path / "case.yaml"
    for asked, words in (("{apart: 0.1 m}", "0.16"), ("{places: 11}", "10")):
        file.write_text(CASE.replace("solved_feet: {}", f"solved_feet: {asked}"))
        with pytest.raises(CaseError, match=words) as caught:
            load_case(file)
        assert "solved_feet" in str(caught.value)


@pytest.mark.parametrize(
    "limit",
    [
        Ieee80("a"),
        En50522("a", ground=False),
        Iec60479("a"),
        OwnCurrent("a", 0.02, 1000.0),
    ],
)
def test_solved_feet_count_in_every_limit_with_a_body(limit):
    bare, feet = Standing(100.0), Standing(100.0, solved_feet=5000.0)
    asked = {"exposure": "touch", "duration": 0.5}
    less, more = (limit.permissible(**asked, standing=each) for each in (bare, feet))
    current = limit.effect("touch", voltage=200.0, duration=0.5, standing=feet).body_current
    assert more.voltage > less.voltage
    assert current < 200.0 / 5000.0
    with pytest.raises(CaseError, match="resistance of feet"):
        Standing(100.0, solved_feet=0.0)


def test_a_voltage_of_ones_own_is_prospective_whatever_the_feet():
    limit = OwnVoltage("a", ((1.0, 50.0),))
    for standing in (Standing(100.0), Standing(100.0, solved_feet=5000.0)):
        assert limit.permissible("touch", duration=1.0, standing=standing).voltage == 50.0


def test_bedded_ground_is_its_twin_to_a_foot(bare, tmp_path):
    # A disc on soil of 150 and 600 ohm m is one on the root of both.
    bedded = "{resistivity: 150 ohm*m, vertical_resistivity: 600 ohm*m}"
    found = run(tmp_path, ("{resistivity: 300 ohm*m}", bedded))
    one, other = bare.verdict.people[0], found.verdict.people[0]
    assert_allclose(other.solved, one.solved, rtol=0.03)  # the grid is twice as deep to it
    assert other.by_formula == one.by_formula


def test_feet_are_not_solved_on_a_top_that_was_not(tmp_path):
    found = run(tmp_path, ("{}\n  limits", "{}\n  under_feet: 50 ohm*m\n  limits"))
    (person,) = found.verdict.people
    assert person.solved is None
    assert "another top under the feet" in person.unsolved
