"""Worst voltages and verdict from any solved soil, beside the full run of the same case."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.loading import load_case_text
from ohmscape.jobs import steps
from ohmscape.jobs.assessing import assess
from ohmscape.jobs.run import run_case
from ohmscape.jobs.steps import operate
from ohmscape.solver.thin_wire import second_opinion

CASE = """
ohmscape: 1
title: Ring round a kiosk
soil:
  layers:
    - {resistivity: 90 ohm*m, thickness: 1 m}
    - {resistivity: 40 ohm*m}
electrodes:
  - name: ring
    drive: {current: 20 A}
    parts:
      - kind: loop
        points: [[-1.5 m, -1 m], [1.5 m, -1 m], [1.5 m, 1 m], [-1.5 m, 1 m]]
        depth: 0.5 m
        diameter: 8 mm
      - kind: rods
        points: [[-1.5 m, -1 m], [1.5 m, 1 m]]
        top_depth: 0.5 m
        length: 2 m
        diameter: 16 mm
study:
  area: {margin: 4 m}
  touch:
    - {name: kiosk, electrode: ring, points: [[0 m, 0 m]]}
safety:
  duration: 0.5 s
  limits:
    - {name: people, ieee_80: {body: 50 kg}}
  exposures:
    - {name: at the kiosk, touch: kiosk, limit: people}
    - {name: walking, step: anywhere, limit: people}
numerics: {accuracy: coarse}
"""


@pytest.fixture(scope="module")
def case():
    return load_case_text(CASE)


@pytest.fixture(scope="module")
def result(case):
    return run_case(case)


def test_the_same_field_gives_the_worst_voltages_of_the_run_from_a_coarser_raster(case, result):
    found = assess(case, result.solution)
    assert len(found.worst) == len(result.worst) == 2
    for mine, theirs in zip(found.worst, result.worst, strict=True):
        assert (mine.kind, mine.name) == (theirs.kind, theirs.name)
        assert_allclose(mine.voltage, theirs.voltage, rtol=2e-3)
    shares = [
        [judgement.worst_share for judgement in verdict.judgements]
        for verdict in (found.verdict, result.verdict)
    ]
    assert_allclose(*shares, rtol=2e-3)
    assert_allclose(found.operated.point.voltage, result.operating.voltage, rtol=1e-12)


def test_thin_conductors_alone_give_the_same_verdict(case, result):
    found = assess(case, second_opinion(case.conductors, soil=case.soil))
    rise = result.rise
    for mine, theirs in zip(found.worst, result.worst, strict=True):
        error = found.operated.field.voltage_error + rise * result.accuracy.estimate(
            result.accuracy.touch
        )
        assert abs(mine.voltage - theirs.voltage) <= error < 0.03 * rise
    outcomes = [
        [judgement.outcome for judgement in verdict.judgements]
        for verdict in (found.verdict, result.verdict)
    ]
    assert outcomes[0] == outcomes[1]
    assert found.verdict.judgements[0].error == found.operated.field.voltage_error


def test_operating_needs_no_map(case, result, monkeypatch):
    def refuse(*_args, **_kwargs):
        msg = "a map was made"
        raise AssertionError(msg)

    monkeypatch.setattr(steps, "surface_map", refuse)
    operated = operate(case, result.solution)
    assert_allclose(operated.point.current, [20.0])
    assert_allclose(operated.field.element_current.sum(), 20.0)
    assert np.abs(operated.field.voltage).max() == result.rise
