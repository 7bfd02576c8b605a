"""Runs, reports and earth tests of electrodes behind a contact resistance."""

import csv
from functools import cache

import numpy as np
import pytest
from numpy.testing import assert_allclose
from report_words import words_of

from ohmscape.cases.loading import load_case_text
from ohmscape.jobs.assessing import assess
from ohmscape.jobs.earth_tests import predict_tests
from ohmscape.jobs.run import reassess, run_variants
from ohmscape.solver.results.storage import load, save
from ohmscape.viz.report.sections.result import resistance_section
from ohmscape.viz.tables.metal import write_electrodes
from ohmscape.viz.terminal.summary import summary

CASE = """
ohmscape: 1
title: Pole ground beside a stay
soil: {layers: [{resistivity: 110 ohm*m, thickness: 1.1 m}, {resistivity: 60 ohm*m}]}
electrodes:
  - name: pole
    drive: {circuit: true}
    contact_resistance: 14 ohm
    parts: [{kind: rod, at: [0 m, 0 m], top_depth: 0 m, length: 2.4 m, diameter: 16 mm}]
  - name: stay
    drive: {floating: true}
    parts: [{kind: rod, at: [3 m, 0 m], top_depth: 0 m, length: 1.5 m, diameter: 20 mm}]
circuit:
  frequency: 50 Hz
  supply: {voltage: 240 V, impedance: {resistance: 3 ohm}, to: pole}
bonds: [{name: strap, between: [pole, stay], closed: false}]
variants:
  - {name: bedded in, electrodes: [{name: pole, contact_resistance: 0 ohm}]}
  - {name: strapped, close: [strap]}
study:
  area: {margin: 2 m, spacing: 0.2 m}
  touch: [{name: pole, electrode: pole, points: [[0 m, 0 m]]}]
safety:
  duration: 0.5 s
  limits: [{name: public, ieee_80: {}}]
  exposures: [{name: at the pole, touch: pole, limit: public}]
earth_tests:
  - {name: lifted, method: fall of potential, electrode: pole,
     current_probe: {distance: 40 m}, potential_probe: {count: 3}}
numerics: {accuracy: coarse, second_opinion: always}
"""


@cache
def results():
    return run_variants(load_case_text(CASE))


def test_the_supply_sees_the_contact_in_series_with_the_soil():
    behind, bare, _ = results()
    soil = bare.resistance("pole")
    assert_allclose(behind.resistance("pole"), soil + 14.0, rtol=1e-10)
    assert_allclose(behind.current("pole").real, 240 / (3 + soil + 14), rtol=1e-10)
    # The stay is raised by the soil, and that goes with the current.
    ratio = behind.voltage("stay") / bare.voltage("stay")
    assert_allclose(ratio, behind.current("pole") / bare.current("pole"), rtol=1e-9)


def test_a_foot_beside_the_metal_meets_what_is_over_the_contact():
    behind, bare, _ = results()
    places = np.array([[1.0, 0.3], [-0.4, 0.2]])
    for one in (behind, bare):
        assert one.field.surface_potential(np.zeros((1, 2)))[0] == one.voltage("pole")
    per_ampere = [
        one.field.surface_potential(places) / one.current("pole") for one in (behind, bare)
    ]
    assert_allclose(*per_ampere, rtol=1e-9)
    assert behind.worst[0].voltage / behind.rise > bare.worst[0].voltage / bare.rise


def test_what_leaves_the_metal_is_what_enters_it():
    for one in results():
        assert_allclose(one.field.part_current().sum(), one.operating.current.sum(), rtol=1e-6)


def test_strapped_the_stay_takes_more_of_the_current_than_without_contact():
    _, _, strapped = results()
    (a, m), (_, b) = np.linalg.inv(strapped.solution.current_matrix)
    shares = strapped.operating.current.real / strapped.operating.current.real.sum()
    assert_allclose(shares[0], (b - m) / (a + b + 14.0 - 2 * m), rtol=1e-9)


def test_contacts_need_no_other_solution():
    behind, bare, strapped = results()
    assert behind.solution is bare.solution is strapped.solution
    edited = load_case_text(CASE.replace("14 ohm", "2.5 ohm"))
    again, *_ = reassess(edited, results())
    assert_allclose(again.resistance("pole"), bare.resistance("pole") + 2.5, rtol=1e-10)
    assert again.contact_resistance == (2.5, 0.0)


def test_the_second_opinion_has_the_same_contact():
    for one in results():
        assert one.agreement is not None
        estimates = one.accuracy.estimates
        assert one.agreement.agrees(resistance_error=estimates[0], voltage_error=max(estimates))
    first = results()[0]
    found = assess(load_case_text(CASE), first.second_opinion)
    assert_allclose(found.worst[0].voltage, first.worst[0].voltage, rtol=0.01)
    assert_allclose(found.operated.point.resistance[0, 0], first.resistance(0), rtol=0.01)


def test_a_saved_result_keeps_it(tmp_path):
    first = results()[0]
    save(first, tmp_path / "result.npz")
    again = load(tmp_path / "result.npz")
    assert again.contact_resistance == (14.0, 0.0)
    places = np.array([[0.0, 0.0], [0.5, 0.5]])
    assert_allclose(
        again.field.surface_potential(places), first.field.surface_potential(places), rtol=1e-12
    )


def test_an_earth_tester_reads_it():
    behind, bare, _ = (item.found for item in predict_tests(load_case_text(CASE)))
    assert_allclose(behind.true_resistance - bare.true_resistance, 14.0, rtol=1e-9)
    assert_allclose(behind.reading - bare.reading, 14.0, rtol=1e-9)


def test_summary_and_report_tell_it_with_its_day_and_its_voltage():
    behind, bare, _ = results()
    volts = f"{14 * abs(behind.current('pole')):.1f} V"
    text = summary(behind)
    assert "of it contact in series, and over it" in text.lower()
    assert f"14.0 Ω, {volts}" in text
    mind = "A contact resistance is of the day it was measured"
    assert mind in text
    assert mind not in summary(bare)
    told = words_of([resistance_section([behind])])
    assert f"14.0 Ω, {volts}" in told
    assert "contact" not in words_of([resistance_section([bare])])


@pytest.mark.parametrize("number", [0, 1])
def test_the_table_of_electrodes_has_a_column_for_it_where_there_is_one(tmp_path, number):
    write_electrodes(results()[number], tmp_path / "electrodes.csv")
    lines = (tmp_path / "electrodes.csv").read_text(encoding="utf-8").splitlines()
    rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    column = [row.get("contact in series [ohm]") for row in rows]
    assert column == (["14", "0"] if number == 0 else [None, None])
