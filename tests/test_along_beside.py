"""What stands beside along_metal: trials, far levels, contacts, beds; what `check` counts."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.loading import load_case_text
from ohmscape.jobs.expected_course import course_of
from ohmscape.jobs.expected_time import works_of
from ohmscape.jobs.run import run_case
from ohmscape.jobs.trying import Trials, judged

pytestmark = pytest.mark.slow

# 4 m of copper rod as thick as a fist, with direct current: microohms beside 10 ohms.
SHORT = """
ohmscape: 1
title: Short and thick
soil: {layers: [{resistivity: 100 ohm*m, thickness: 3 m, vertical_resistivity: 250 ohm*m},
  {resistivity: 60 ohm*m}]}
system: {frequency: 0 Hz}
electrodes:
  - name: bar
    drive: {current: 50 A}
    fed_at: [0 m, 0 m]
    contact_resistance: 1.5 ohm
    parts:
      - {kind: conductor, name: bar, points: [[0 m, 0 m], [4 m, 0 m]], depth: 0.8 m,
         diameter: 80 mm, material: annealed copper}
distances: {levels: [{name: far, potential: 20 V}]}
study: {area: {margin: 5 m}}
"""
# 400 m of steel, which are far from one potential.
LONG = """
ohmscape: 1
title: Long
soil: {layers: [{resistivity: 60 ohm*m}]}
system: {frequency: 50 Hz}
electrodes:
  - name: wire
    drive: {current: 100 A}
    fed_at: [0 m, 0 m]
    parts:
      - {kind: conductor, name: wire, points: [[0 m, 0 m], [400 m, 0 m]], depth: 0.8 m,
         diameter: 10 mm, material: zinc-coated steel rod}
along_metal: {}
study:
  area: {corner: [-5 m, -5 m], size: [30 m, 10 m]}
  touch: [{name: near end, electrode: wire, points: [[0 m, 0 m]]}]
safety:
  duration: 0.5 s
  limits: [{name: all, ieee_80: {}}]
  exposures: [{name: at the end, touch: near end, limit: all}]
"""


def test_without_impedance_all_is_as_at_one_potential():
    even = run_case(load_case_text(SHORT), accuracy="coarse")
    along = run_case(load_case_text(SHORT + "along_metal: {}\n"), accuracy="coarse")
    assert along.rise == pytest.approx(even.rise, rel=1e-3)
    (one,), (other,) = even.distances.levels, along.distances.levels
    assert other.distance == pytest.approx(one.distance, rel=1e-3)
    assert along.agreement.resistance_difference < 5e-3
    for a, b in zip(even.worst, along.worst, strict=True):
        assert b.voltage == pytest.approx(a.voltage, rel=2e-3)


def test_a_trial_by_thin_wires_finds_what_a_run_does():
    case = load_case_text(LONG)
    (tried,) = Trials().evaluation(case).conditions
    solved = judged(case, run_case(case, accuracy="normal"))
    assert tried.rise == pytest.approx(solved.rise, rel=0.01)
    assert_allclose(tried.met[0].voltage, solved.met[0].voltage, rtol=0.02)
    even = load_case_text(LONG.replace("along_metal: {}\n", ""))
    (flat,) = Trials().evaluation(even).conditions
    assert tried.rise > 1.3 * flat.rise


def cost(text):
    """Processor seconds of a run without pictures, on the machine of the costs."""
    return course_of(works_of(load_case_text(text), accuracy=None), drawn=False).processor


def test_check_counts_the_solution_along_the_metal():
    # A second port is another solution on both meshes.
    two = LONG.replace(
        "along_metal: {}",
        "along_metal: {places: [{name: far, electrode: wire, at: [400 m, 0 m]}]}\n"
        "circuit:\n  frequency: 50 Hz\n  supply: {current: 100 A, to: wire}\n"
        "  paths: [{name: p, between: [far, remote earth], impedance: {resistance: 2 ohm}}]",
    ).replace("drive: {current: 100 A}", "drive: {circuit: true}")
    two = two.replace("system: {frequency: 50 Hz}\n", "")
    costs = np.array(
        [cost(each) for each in (LONG.replace("along_metal: {}\n", ""), LONG, two)]
    )
    assert (np.diff(costs) > 0.01 * costs[0]).all()
