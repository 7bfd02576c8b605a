"""One small result for all tests of pictures and files: two rods, layers, metal to touch."""

import pytest

from ohmscape.cases.loading import load_case_text
from ohmscape.jobs.run import run_case
from ohmscape.solver.results.result import Result

_case = """
ohmscape: 1
title: Rod beside a floating rod $x$
units: US
soil:
  layers:
    - {resistivity: 130 ohm*m, thickness: 1.3 m}
    - {resistivity: 40 ohm*m}
electrodes:
  - name: feeder
    drive: {current: 37 A}
    parts:
      - {kind: rod, name: long, at: [0.2 m, 0.1 m], top_depth: 0.1 m, length: 2.1 m, diameter: 16 mm}
      - {kind: conductor, name: tail, points: [[0.2 m, 0.1 m], [1.4 m, 0.1 m]], depth: 0.1 m, diameter: 10 mm}
  - name: idle
    drive: {floating: true}
    parts:
      - {kind: rod, name: short, at: [2.6 m, 1.1 m], top_depth: 0.2 m, length: 1.7 m, diameter: 14 mm}
study:
  area: {corner: [-1.5 m, -1.5 m], size: [5 m, 4 m], spacing: 0.25 m}
  touch:
    - {name: box, electrode: feeder, polygon: [[0 m, 0 m], [0.6 m, 0 m], [0.6 m, 0.5 m], [0 m, 0.5 m]]}
    - {name: tap, electrode: idle, points: [[2.6 m, 1.1 m]]}
    - {name: far pole, electrode: feeder, points: [[40 m, 0 m]]}
  profiles:
    - {name: across, start: [-1 m, 0.3 m], end: [3 m, 0.3 m], spacing: 0.1 m}
    - {name: below, start: [-1 m, 0.3 m], end: [3 m, 0.3 m], depth: 0.8 m, spacing: 0.1 m}
safety:
  duration: 0.5 s
  limits:
    - {name: yard, ieee_80: {}}
  surface:
    - {name: gravel, polygon: [[0.3 m, -1 m], [2 m, -1 m], [2 m, 2 m], [0.3 m, 2 m]], resistivity: 2000 ohm*m, thickness: 10 cm}
  exposures:
    - {name: at the box, touch: box, limit: yard}
    - {name: on the lawn, step: anywhere, inside: [[-1 m, -1 m], [3 m, -1 m], [3 m, 2 m], [-1 m, 2 m]], limit: yard}
    - {name: at the pole, touch: far pole, limit: yard}
    - {name: box to tap, hands: [box, tap], limit: yard}
  step_outline: 150 V
numerics: {accuracy: coarse}
"""  # noqa: E501


@pytest.fixture(scope="session")
def result() -> Result:
    return run_case(load_case_text(_case))
