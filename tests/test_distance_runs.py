"""Distances from the case to the result, the tables and back."""

import csv
import math
from dataclasses import replace
from datetime import datetime

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.loading import load_case_text
from ohmscape.jobs.run import reassess, run_case
from ohmscape.solver.circuit import decrement_factor
from ohmscape.solver.distances import WideField
from ohmscape.solver.results.storage import load, save
from ohmscape.viz.report.assembly import sections
from ohmscape.viz.terminal.summary import summary
from ohmscape.viz.writing import write_tables

pytestmark = pytest.mark.slow

CASE = """
ohmscape: 1
title: Rods of a mast
soil:
  layers:
    - {resistivity: 140 ohm*m}
electrodes:
  - name: mast
    drive: {circuit: true}
    parts:
      - {kind: rods, name: rods, points: [[0 m, 0 m], [3 m, 0 m]], top_depth: 0.5 m,
         length: 2 m, diameter: 16 mm}
      - {kind: conductor, name: joint, points: [[0 m, 0 m], [3 m, 0 m]], depth: 0.5 m,
         diameter: 8 mm}
circuit:
  frequency: 50 Hz
  supply: {current: 60 A, to: mast}
  all_current_in_soil: true
  x_over_r: 12
  growth_factor: 1.25
distances:
  levels:
    - {name: wide zone, potential: 4 V}
    - {name: cattle, step: 9 V}
  separations:
    - {name: far fence, voltage: 2 V, azimuth: 90 deg}
study:
  area: {margin: 2 m, spacing: 0.5 m}
numerics: {accuracy: coarse}
"""


@pytest.fixture(scope="module")
def result():
    return run_case(load_case_text(CASE))


def test_far_field_of_finite_elements(result):
    """Their currents give ρ I / 2 π r within half a percent, beyond the mesh too."""
    current = abs(result.operating.current[0])
    for distance in (90.0, 700.0, 2e4):
        place = np.array([[1.5, distance]])
        expected = 140.0 * current / (2 * np.pi * distance)
        assert_allclose(WideField(result.field).surface(place), expected, rtol=0.005)


def test_voltages_include_growth_and_what_they_reach_is_beyond_the_map(result):
    found = result.distances
    assert found.factor == 1.25  # nobody says how long the fault lasts: no decrement
    zone, cattle = found.levels
    assert zone.whole
    expected = 1.25 * 140.0 * 60.0 / (2 * np.pi * 4.0)
    assert_allclose(zone.distance, expected, rtol=0.005)  # from the metal's side or its middle
    assert 0 < cattle.distance < zone.distance
    (fence,) = found.separations
    assert_allclose(fence.distance, 2 * expected, rtol=0.005)
    # √(ρ/(π f μ₀)), by hand: 503 √(140/50) m.
    assert_allclose(found.plain_to, 503.3 * math.sqrt(140 / 50), rtol=1e-3)


def test_a_known_duration_brings_the_decrement(result):
    edited = (
        CASE + "protection:\n  - {name: r, measures: supply, fixed: {clearing_time: 0.2 s}}\n"
    )
    edited += "safety:\n  limits: [{name: a, ieee_80: {}}]\n  exposures:\n"
    edited += "    - {name: walking, step: anywhere, limit: a}\n"
    (again,) = reassess(load_case_text(edited), [result])
    factor = 1.25 * decrement_factor(12.0, frequency=50.0, duration=0.2)
    assert_allclose(again.distances.factor, factor)
    before, after = (item.distances.levels[0].distance for item in (result, again))
    assert_allclose(after / before, factor / 1.25, rtol=0.005)


def test_distances_are_kept_and_told(result, tmp_path):
    save(result, tmp_path / "kept.npz")
    kept = load(tmp_path / "kept.npz").distances
    assert kept.separations == result.distances.separations
    assert_allclose(kept.levels[0].polygons[0], result.distances.levels[0].polygons[0])
    text = " ".join(summary(result).split())
    assert "Distances from live metal" in text
    assert "No statement of safety" in text
    assert "the depth to which current of this frequency enters the soil" in text
    assert "distances" in {s.key for s in sections([result], made=datetime(2026, 1, 1))}


def test_the_tables_of_distances(result, tmp_path):
    names = {path.name for path in write_tables(result, tmp_path)}
    assert {"distances.csv", "distance-outlines.csv", "separations.csv"} <= names

    def rows(name):
        lines = (tmp_path / name).read_text(encoding="utf-8").splitlines()
        return list(csv.reader(line for line in lines if not line.startswith("#")))

    header, *outward = rows("distances.csv")
    assert len(header) == len(outward[0])
    for row in outward:  # potential and voltage to the metal make up the rise
        total = float(row[5]) + float(row[7])
        assert_allclose(total, result.distances.rise, rtol=1e-6)
    header, *corners = rows("distance-outlines.csv")
    assert {row[0] for row in corners} == {"wide zone", "cattle"}
    header, fence = rows("separations.csv")
    assert len(header) == len(fence)
    assert_allclose(float(fence[-1]), 2.0, rtol=1e-4)


def test_the_table_counts_in_round_feet_where_the_case_has_feet(result):
    text = summary(replace(result, units="US"))
    rows = [line.split() for line in text.splitlines() if " ft " in f"{line} "]
    table = [row for row in rows if len(row) == 6 and row[1] == "ft"]
    assert [row[0] for row in table[:6]] == ["5", "10", "20", "50", "100", "200"]
    along, across, *_ = [line.azimuth for line in result.distances.lines_in_feet]
    for row in table:
        for azimuth, value, unit in ((along, row[2], row[3]), (across, row[4], row[5])):
            scale = {"V": 1.0, "mV": 1e-3, "kV": 1e3}[unit]
            away = float(row[0].replace(",", "")) * 0.3048
            # From the middle of the metal, 3 m long, whose ends are the nearest along it.
            ahead = away + 1.5 * abs(np.cos(azimuth))
            places = [
                [1.5 + sign * ahead * np.cos(azimuth), sign * ahead * np.sin(azimuth)]
                for sign in (1, -1)
            ]
            potential = 1.25 * np.abs(WideField(result.field).surface(np.array(places))).max()
            assert_allclose(float(value) * scale, potential, rtol=0.006)
    metric = summary(result)
    assert "1.00 m " in metric
    assert "3.28 ft" not in text[text.index("Distances from") : text.index("Mesh and")]


def test_results_without_feet_are_told_in_metres_turned_into_feet(result):
    old = replace(result, units="US", distances=replace(result.distances, lines_in_feet=()))
    assert " 3.28 ft " in summary(old)


def test_a_case_that_asks_for_none_has_none(result):
    without = CASE[: CASE.index("distances:")] + CASE[CASE.index("study:") :]
    (again,) = reassess(load_case_text(without), [result])
    assert again.distances is None
    assert "Distances from" not in summary(again)
