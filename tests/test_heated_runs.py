"""Metal in the heat of the fault, from the case to the verdict, the files and back."""

import csv
import math
from datetime import datetime

import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.loading import load_case_text
from ohmscape.jobs.assessing import assess
from ohmscape.jobs.run import reassess, run_case
from ohmscape.jobs.understood import understood
from ohmscape.solver.circuit import decrement_factor
from ohmscape.solver.results.storage import load, save
from ohmscape.solver.thin_wire import second_opinion
from ohmscape.viz.report.assembly import sections
from ohmscape.viz.terminal.summary import summary
from ohmscape.viz.terminal.verdict import headline
from ohmscape.viz.writing import write_tables

pytestmark = pytest.mark.slow

CASE = """
ohmscape: 1
title: Ring of a kiosk with two rods
soil:
  layers:
    - {resistivity: 80 ohm*m, thickness: 2 m}
    - {resistivity: 200 ohm*m}
electrodes:
  - name: station
    drive: {circuit: true}
    parts:
      - {kind: ring, name: ring, centre: [0 m, 0 m], ring_diameter: 4 m, depth: 0.5 m,
         stranded: {cross_section: 50 mm^2}, material: hard-drawn copper}
      - {kind: rods, name: rods, along: {part: ring, count: 2}, length: 2.4 m,
         diameter: 16 mm, material: copper-clad steel rod 20 %}
circuit:
  frequency: 50 Hz
  supply: {current: 3 kA, to: station}
  split_factor: 0.4
  x_over_r: 15
  growth_factor: 1.2
protection:
  - {name: relay, measures: supply, fixed: {clearing_time: 0.4 s}}
heating:
  ambient: 40 degC
  joint: bolted
  leads:
    - {name: neutral, stranded: {cross_section: 50 mm^2}, material: annealed copper}
    - {name: old lead, diameter: 2.8 mm, material: annealed copper, share: 0.5}
  parts:
    - {name: ring, joint: brazed}
study:
  area: {margin: 3 m, spacing: 0.5 m}
  touch:
    - {name: kiosk, electrode: station, points: [[0 m, 0 m]]}
safety:
  limits:
    - {name: nobody there, own: {voltage: 90 kV}}
  exposures:
    - {name: at the kiosk, touch: kiosk, limit: nobody there}
numerics: {accuracy: coarse}
"""


@pytest.fixture(scope="module")
def result():
    return run_case(load_case_text(CASE))


def conductor(result, name):
    return next(item for item in result.verdict.heating.conductors if item.name == name)


def test_leads_carry_all_of_the_fault_with_growth_and_offset(result):
    factor = 1.2 * decrement_factor(15.0, frequency=50.0, duration=0.4)
    neutral, old = conductor(result, "neutral"), conductor(result, "old lead")
    assert_allclose(neutral.current, 3e3 * factor)
    assert_allclose(old.current, 1.5e3 * factor)
    # IEEE Std 80-2000, eq. (37) and table 1 (from memory), in its own units.
    heat = 3.42e-4 / (0.00393 * 1.72)  # kA² s/mm⁴
    exponent = (1.5 * factor / (math.pi / 4 * 2.8**2)) ** 2 * 0.4 / heat
    assert_allclose(old.temperature, (234 + 40) * math.exp(exponent) - 234)
    assert (neutral.outcome, old.outcome) == ("pass", "too hot")
    assert neutral.doubtful == neutral.temperature  # a given current has no numerical error


def test_metal_carries_what_enters_it_and_a_rod_what_it_lets_out(result):
    factor = result.verdict.growth_factor * result.verdict.decrement_factor
    ring, rods = conductor(result, "ring"), conductor(result, "rods")
    assert_allclose(ring.current, 3e3 * factor, rtol=1e-9)
    both = abs(result.field.part_current()[1])
    assert_allclose(rods.current, factor * both / 2, rtol=0.01)  # two alike
    assert rods.doubtful > rods.temperature


def test_metal_that_fails_is_a_verdict_that_fails(result):
    verdict = result.verdict
    assert [item.outcome for item in verdict.judgements] == ["pass"]
    assert not verdict.passes
    assert headline(verdict) == (
        "Verdict: METAL FAILS, 1 of 4 conductors and joints do not pass, though 1 of 1 "
        "exposures are within the limits declared (fault of at most 0.4 s)"
    )
    text = summary(result)
    assert "  TOO HOT     old lead: " in text
    assert "below the least for strength and corrosion, 16 mm² of copper" in text
    assert "metal that keeps all heat" in text
    assert "heat" in repr(result)


def test_a_second_method_judges_metal_alike(result):
    case = load_case_text(CASE)
    opinion = second_opinion(case.conductors, soil=case.soil)
    found = assess(case, opinion).verdict.heating
    for one, other in zip(found.conductors, result.verdict.heating.conductors, strict=True):
        assert one.outcome == other.outcome
        assert_allclose(one.current, other.current, rtol=0.02)


def test_heat_is_kept_and_judged_again(result, tmp_path):
    save(result, tmp_path / "kept.npz")
    kept = load(tmp_path / "kept.npz")
    assert kept.verdict.heating == result.verdict.heating
    edited = CASE.replace("2.8 mm, material: annealed copper", "6 mm, material: steel 1020")
    edited = edited.replace("joint: bolted", "limit: 420 degC").replace("0.4 s", "1.1 s")
    (again,) = reassess(load_case_text(edited), [kept])
    old = conductor(again, "old lead")
    assert (old.limit, old.material) == (420.0, "steel 1020")
    factor = 1.2 * decrement_factor(15.0, frequency=50.0, duration=1.1)
    assert_allclose(old.current, 1.5e3 * factor)
    assert_allclose(conductor(again, "ring").current, 3e3 * factor, rtol=1e-9)


def test_the_table_of_conductors(result, tmp_path):
    files = [path.name for path in write_tables(result, tmp_path)]
    assert "heating.csv" in files
    lines = (tmp_path / "heating.csv").read_text(encoding="utf-8").splitlines()
    rows = list(csv.reader(line for line in lines if not line.startswith("#")))
    assert len({len(row) for row in rows}) == 1
    assert [row[0] for row in rows[1:]] == ["neutral", "old lead", "ring", "rods"]
    assert rows[2][2] == "too hot"


def test_the_report_has_a_chapter_and_the_source(result):
    found = {item.key: item for item in sections([result], made=datetime(2026, 1, 1))}
    assert "heating" in found
    assert any("IEEE Std 80-2000" in str(item) for item in found["references"].blocks)


def test_backup_time_heats_metal_longer_than_the_fault_lasts(result):
    longer = CASE.replace("  ambient: 40 degC", "  ambient: 40 degC\n  duration: 1.3 s")
    (again,) = reassess(load_case_text(longer), [result])
    heating = again.verdict.heating
    assert (heating.duration, again.verdict.longest) == (1.3, 0.4)
    shorter = CASE.replace("  ambient: 40 degC", "  ambient: 40 degC\n  duration: 0.2 s")
    (again,) = reassess(load_case_text(shorter), [result])
    assert again.verdict.heating.duration == 0.4


SOIL = "\n  soil: {thermal_conductivity: 1.2 W/m/K, highest_temperature: 90 degC}"


def test_what_lasts_is_no_matter_of_short_heat_but_of_the_soil(result):
    lasting = CASE.replace("clearing_time: 0.4 s", "clearing_time: 0.4 s, pickup: 5 kA")
    (again,) = reassess(load_case_text(lasting), [result])
    heating = again.verdict.heating
    assert math.isinf(heating.duration)
    assert {item.outcome for item in heating.conductors} == {"not evaluated"}
    assert "give heating.soil" in summary(again)
    with_soil = lasting.replace("  joint: bolted", "  joint: bolted" + SOIL)
    (again,) = reassess(load_case_text(with_soil), [result])
    (soil,) = again.verdict.heating.soil
    # The layer that stands least; 50 K above ambient.
    assert_allclose(soil.lasting, math.sqrt(2 * 1.2 * 80 * 50))
    assert_allclose(soil.rise, 1.2 * again.rise)
    assert "ABOVE the 98.0 V that the soil stands" in " ".join(summary(again).split())


def test_without_limits_for_people_metal_is_judged_alone(result):
    alone = CASE[: CASE.index("\nsafety:")] + "\nnumerics: {accuracy: coarse}\n"
    (again,) = reassess(load_case_text(alone), [result])
    assert headline(again.verdict).startswith("Verdict: METAL FAILS, 1 of 4")
    alone = alone.replace("diameter: 2.8 mm", "diameter: 9 mm")
    (again,) = reassess(load_case_text(alone), [result])
    assert headline(again.verdict) == (
        "Verdict: NOT JUDGED, the case declares no limits for people; 4 of 4 conductors and "
        "joints pass"
    )
    text = summary(again)
    assert "no limit has been applied" in text
    assert "Limits protect only" not in text


def test_what_is_known_before_anything_is_solved(result):
    text = understood(load_case_text(CASE))
    part = text[text.index("Conductors and joints") : text.index("\nStudy")]
    assert "✕ TOO HOT" in part
    assert "A run has to tell: 'rods'." in part
    assert "For a qualified engineer" in " ".join(part.split())
    temperature = conductor(result, "ring").temperature
    assert f"{temperature:.0f} °C  450 °C brazed" in part
    # A relay that sees another current may take another time: nothing is known then.
    other = CASE.replace("measures: supply", "measures: earth current of station")
    text = understood(load_case_text(other))
    assert "A run has to tell: 'neutral', 'old lead', 'ring', 'rods'." in text


def test_currents_of_a_case_without_a_circuit():
    text = CASE[: CASE.index("\ncircuit:")].replace("{circuit: true}", "{current: 700 A}")
    text += """
heating:
  ambient: 30 degC
  limit: 300 degC
  equation: en_50522
  duration: 0.7 s
  leads:
    - name: down lead
      strip: [30 mm, 3.5 mm]
      material: steel 1020
      carries: earth current of station
study:
  area: {margin: 3 m, spacing: 0.5 m}
numerics: {accuracy: coarse}
"""
    text = text.replace(", material: copper-clad steel rod 20 %", "")
    found = run_case(load_case_text(text))
    lead, ring = found.verdict.heating.conductors
    assert_allclose([lead.current, ring.current], 700.0, rtol=1e-6)
    # EN 50522 annex D (from memory): K 78 A√s/mm², β 202 °C of steel.
    exponent = (700 / 105 / 78) ** 2 * 0.7
    assert_allclose(lead.temperature, (30 + 202) * math.exp(exponent) - 202, rtol=1e-6)
    assert lead.limit == 300.0
