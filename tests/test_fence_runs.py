"""Fences run from their files: joined they are one electrode, parted each its own."""

import csv

import fence_case
import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.loading import load_case_text
from ohmscape.jobs.run import run_case
from ohmscape.solver.results.along_metal import along_told, driven_of, rail_lines
from ohmscape.viz.canvas.figures import draw_all
from ohmscape.viz.drawing import along_pictures
from ohmscape.viz.raised import raised_plan
from ohmscape.viz.writing import write_tables

pytestmark = pytest.mark.slow

FENCE = fence_case.FENCE.replace("south", "wire").replace(
    "[[0 m, 0 m], [20 m, 0 m], [20 m, 12 m]]", "[[0 m, 0 m], [30 m, 0 m]]"
)
GATE = "        gates: [{at: 12 m, width: 3 m, bonded: false}]\n"
POSTS = """  - name: {name}
    drive: {drive}
    parts:
      - kind: rods
        line: {{start: [{low} m, 0 m], end: [{high} m, 0 m], count: {count}}}
        top_depth: 0 m
        length: 0.7 m
        diameter: 48 mm
"""


@pytest.fixture(scope="module")
def parted():
    return run_case(load_case_text(FENCE + GATE + "along_metal: {}\n"), accuracy="coarse")


def test_a_whole_fence_is_its_posts_at_one_potential_but_for_its_rail():
    even = run_case(load_case_text(FENCE), accuracy="coarse")
    along = run_case(load_case_text(FENCE + "along_metal: {}\n"), accuracy="coarse")
    # 30 m of steel tube have some 30 mΩ, beside 11 Ω.
    assert even.rise < along.rise < 1.003 * even.rise
    assert along.raised.shape == (10, 2, 2)
    (rail,) = along_told(along).leads
    assert rail.name == "rail of wire fence"
    # All but what the first post lets out goes along the first span.
    assert 8 < abs(rail.current) < 9.5


def test_a_gate_that_is_not_bonded_makes_two_electrodes_of_a_fence(parted):
    # The same posts as two electrodes at one potential each, the second floating.
    head = FENCE.split("electrodes:")[0] + "electrodes:\n"
    near = POSTS.format(name="near", drive="{current: 10 A}", low=0, high=12, count=5)
    far = POSTS.format(name="far", drive="{floating: true}", low=15, high=30, count=6)
    two = run_case(load_case_text(head + near + far), accuracy="coarse")
    voltage = np.abs(two.operating.voltage)
    (rise,) = along_told(parted).rises
    assert_allclose([abs(rise.highest), abs(rise.lowest)], voltage, rtol=2e-3)


def test_the_rail_is_drawn_and_tabled_with_its_voltage(parted, tmp_path):
    rails = rail_lines(driven_of(parted))
    assert len(rails.part) == 9
    assert_allclose(rails.start[:, 2], 1.6)
    assert abs(rails.first[0]) > 3 * abs(rails.first[-1])
    plan = raised_plan(parted)
    assert plan.segments.shape == (9, 2, 2)
    assert len(plan.joins) == 11
    png, _ = draw_all(along_pictures(parted), tmp_path)
    assert png.stat().st_size > 20_000
    write_tables(parted, tmp_path)
    lines = (tmp_path / "along-metal.csv").read_text(encoding="utf-8").splitlines()
    rows = list(csv.reader(line for line in lines if not line.startswith("#")))[1:]
    assert sum(float(row[3]) == 1.6 for row in rows) == 9


def test_hands_on_either_side_of_the_gate_meet_other_voltages(parted):
    field = parted.field
    near, far = np.abs(field.metal_voltage(0, places=np.array([[6.0, 0.5], [20.0, 0.5]])))
    assert near > 3 * far
    line = parted.metals[0]
    assert line.vertices.shape == (2, 2)
