"""Whole runs of cases with a fault circuit."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape import load_case, load_case_text
from ohmscape.cases.shipped import shipped_case_path
from ohmscape.jobs.evaluating import evaluate
from ohmscape.jobs.run import run_case, run_variants
from ohmscape.jobs.solving import Solved
from ohmscape.jobs.understood import understood
from ohmscape.viz.result_folder import load_result, save_result
from ohmscape.viz.terminal.summary import summary

# Of a coarse mesh; the estimated error that each result states is about 0.3 %.
COARSE = 0.01

BENCH = """
ohmscape: 1
title: One rod put on a 120 V circuit
soil: {layers: [{resistivity: 120 ohm*m}]}
electrodes:
  - name: test rod
    drive: {circuit: true}
    parts: [{kind: rod, at: [0 m, 0 m], top_depth: 0 m, length: 2.44 m, diameter: 15.9 mm}]
circuit:
  frequency: 60 Hz
  supply: {voltage: 120 V, impedance: {resistance: 0.3 ohm}, to: test rod, return: neutral}
  paths:
    - name: service electrode
      between: [neutral, remote earth]
      impedance: {resistance: 2 ohm}
    - name: protective conductor
      between: [test rod, neutral]
      impedance: {resistance: 0.21 ohm}
      connected: false
variants: [{name: frame earthed, close: [protective conductor]}]
study:
  area: {margin: 12 m}
  profiles: [{name: outwards, start: [0 m, 0 m], end: [10 m, 0 m], spacing: 1 m}]
numerics: {accuracy: coarse}
"""

WORKSHOP = """
ohmscape: 1
title: TT loop of a workshop
soil: {layers: [{resistivity: 150 ohm*m}]}
electrodes:
  - name: workshop
    drive: {circuit: true}
    parts: [{kind: rod, at: [0 m, 0 m], top_depth: 0 m, length: 1.2 m, diameter: 14.2 mm}]
  - name: source earth
    drive: {circuit: true}
    parts:
      - {kind: rod, at: [9 m, 0 m], top_depth: 0 m, length: 6 m, diameter: 20 mm}
circuit:
  frequency: 50 Hz
  supply:
    voltage: 230 V
    impedance: {resistance: 0.5 ohm, reactance: 0.2 ohm}
    to: workshop
    return: source earth
numerics: {accuracy: coarse}
"""

YARD = """
ohmscape: 1
title: Ring by a shield wire and a cable sheath
soil: {layers: [{resistivity: 300 ohm*m, thickness: 2 m}, {resistivity: 80 ohm*m}]}
electrodes:
  - name: yard
    drive: {circuit: true}
    parts: [{kind: ring, centre: [0 m, 0 m], ring_radius: 6 m, depth: 0.5 m, diameter: 13 mm}]
  - name: pump
    drive: {circuit: true}
    parts: [{kind: rod, at: [15 m, 0 m], top_depth: 0 m, length: 3 m, diameter: 16 mm}]
circuit:
  frequency: 60 Hz
  supply: {current: 2.6 kA, to: yard}
  x_over_r: 10
  growth_factor: 1.1
  paths:
    - name: shield wire
      between: [yard, remote earth]
      ladder:
        span: {resistance: 0.3 ohm, reactance: 0.7 ohm}
        footing: 15 ohm
        spans: 20
        end: open
    - name: pump cable
      between: [yard, pump]
      impedance: {resistance: 0.4 ohm, reactance: 6 ohm}
SAFETY
numerics: {accuracy: coarse}
"""


@pytest.fixture(scope="module")
def bench():
    return run_variants(load_case_text(BENCH))


@pytest.fixture(scope="module")
def workshop():
    return run_case(load_case_text(WORKSHOP))


@pytest.fixture(scope="module")
def yard():
    return run_case(load_case_text(YARD.replace("SAFETY", "")))


def test_a_rod_on_120_volts(bench):
    # Computed independently for this rod and soil: 47.5 Ω, 2.41 A, 114 V on the rod, 276 W in
    # the soil; 30, 19, 8.9 and 4.6 V on the surface at 1, 2, 5 and 10 m; 85 V of touch at 1 m.
    alone, _ = bench
    operation = alone.operation
    assert_allclose(alone.resistance(0), 47.5, rtol=COARSE)
    assert_allclose(operation.fault_current, 2.41, rtol=COARSE)
    assert_allclose(alone.operating.voltage, [114.0], rtol=COARSE)
    assert_allclose(operation.point.power, 276.0, rtol=COARSE)
    # Printed to two figures.
    assert_allclose(alone.profiles[0].potential[[1, 2, 5, 10]], [30, 19, 8.9, 4.6], rtol=0.025)
    assert_allclose(alone.worst[0].voltage, 85.0, rtol=COARSE)


def test_a_protective_conductor_takes_the_current_out_of_the_soil(bench):
    alone, earthed = bench
    assert earthed.solution is alone.solution  # a path needs no new solution
    assert earthed.operation.fault_current > 200
    assert_allclose(
        earthed.operation.share("protective conductor") + earthed.operation.split_factor,
        1.0,
        rtol=1e-12,
    )
    assert earthed.operation.split_factor < 0.005


def test_the_loop_current_is_that_of_its_resistances(workshop):
    # Computed independently: the short rod has 109 Ω.
    own, other = workshop.operating.resistance.diagonal()
    mutual = workshop.operating.resistance[0, 1]
    assert_allclose(own, 109.0, rtol=COARSE)
    # Far apart two rods are points: ρ/(2π·9 m) = 2.65 Ω; the 6 m rod is nearer to a line.
    assert_allclose(mutual, 150 / (2 * np.pi * 9), rtol=0.1)
    loop = abs(own + other - 2 * mutual + 0.5 + 0.2j)
    assert_allclose(workshop.operation.fault_current, 230 / loop, rtol=1e-4)
    assert_allclose(workshop.operating.current.sum(), 0.0, atol=1e-4)


@pytest.mark.slow
def test_voltages_out_of_phase_go_through_maps_and_files(yard, tmp_path):
    assert np.iscomplexobj(yard.operating.voltage)
    assert yard.operating.voltage[0].imag == 0
    assert yard.operation.split_factor < 0.9
    save_result(yard, tmp_path / "out")
    again = load_result(tmp_path / "out")
    assert again.operation.branches == yard.operation.branches
    assert_allclose(again.operation.node_voltage, yard.operation.node_voltage)
    header = (tmp_path / "out" / "electrodes.csv").read_text(encoding="utf-8")
    assert "90 deg ahead [V]" in header


def test_division_and_resistance_belong_together(yard):
    # The pump hangs on the ring by its cable: seen from the supply, soil and cable are one.
    operation = yard.operation
    shield = 1 / (1 / operation.driving_impedance - _soil_admittance(yard))
    span, footing = 0.3 + 0.7j, 15.0
    assert_allclose(shield, _open_ladder(span, footing, 20), rtol=1e-4)


def _soil_admittance(result):
    """Current into ring and pump cable per volt, with the solved resistances by hand."""
    (a, m), (_, b) = result.operating.resistance
    cable = 0.4 + 6j
    # Mesh current round the cable: V_ring − V_pump = cable · I.
    pump = (a - m) / (a + b - 2 * m + cable)  # share of the current that goes to the pump
    return 1 / (a * (1 - pump) + m * pump)


def _open_ladder(span, footing, count):
    seen = span + footing
    for _ in range(count - 1):
        seen = span + 1 / (1 / footing + 1 / seen)
    return seen


@pytest.mark.slow
def test_currents_are_evaluated_again_without_solving(yard):
    louder = load_case_text(YARD.replace("SAFETY", "").replace("2.6 kA", "5.2 kA"))
    again = evaluate(louder, Solved.of(yard))
    assert again.solution is yard.solution
    assert_allclose(again.rise, 2 * yard.rise, rtol=1e-12)


@pytest.mark.slow
def test_growth_and_decrement_reach_the_verdict_and_nothing_else(yard):
    safety = """
safety:
  duration: 0.5 s
  limits: [{name: public, ieee_80: {}}]
  exposures: [{name: anywhere, step: anywhere, limit: public}]
"""
    judged = evaluate(load_case_text(YARD.replace("SAFETY", safety)), Solved.of(yard))
    assert_allclose(judged.rise, yard.rise, rtol=1e-12)
    assert judged.verdict.growth_factor == 1.1
    assert_allclose(judged.verdict.decrement_factor, 1.026, atol=0.5e-3)
    (item,) = judged.verdict.judgements
    assert_allclose(
        item.worst.voltage,
        1.1 * judged.verdict.decrement_factor * yard.worst[-1].voltage,
        rtol=0.02,  # both look for the worst step in their own way
    )


def test_the_summary_prints_currents_shares_and_both_factors_apart(yard):
    text = summary(yard)
    for words in (
        "Fault circuit at 60 Hz (effective values of today's symmetrical current)",
        "supply: fault current 2.60 kA, to 'yard', returning at remote earth",
        "path 'shield wire', 'yard' to remote earth",
        "earth current of 'pump'",
        "% of the supply",
        "division: 'yard' passes 0.",
        "(split factor), with",
        "NOT in these values: growth factor 1.1; decrement factor 1.125 for 0.1 s, 1.026 for",
        "nothing is induced in a path",
        "(in the circuit)",
        "Current divides as the circuit of the case says",
    ):
        assert words in text


def test_a_path_that_is_not_connected_is_said_to_be(bench):
    assert "'test rod' to 'neutral'  not connected" in summary(bench[0])


def test_one_of_a_thing_is_not_spoken_of_as_many():
    ladder = "ladder: {span: {resistance: 1 ohm}, footing: 9 ohm, spans: 1, end: open}"
    text = BENCH.replace("impedance: {resistance: 2 ohm}", ladder)
    told = understood(load_case_text(text))
    assert "1 rod, 2.44 m" in told
    assert "in 1 straight piece with 0 joints" in told
    assert "a pole, 1 span, open end" in told


def test_what_was_understood_names_the_circuit():
    text = understood(load_case_text(BENCH))
    for words in (
        "test rod: in the fault circuit",
        "supply: 120 V behind 0.300 Ω, to 'test rod', returning at 'neutral'",
        "path 'protective conductor', 'test rod' to 'neutral': 0.210 Ω, NOT CONNECTED",
        "Nodes that are no electrode: neutral",
        "growth factor 1; no decrement factor, X/R is not given",
    ):
        assert words in text
    yard = understood(load_case_text(YARD.replace("SAFETY", "")))
    assert "ladder of 0.300 + j 0.700 Ω a span and 15.0 Ω a pole, 20 spans, open end" in yard


def test_what_was_understood_names_devices_that_a_variant_fits():
    text = understood(load_case(shipped_case_path("bench-rod")))
    assert ": fit ground-fault device" in text


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ("split_factor: 0.6", "Split factor given: 0.600 of it enters the soil."),
        ("all_current_in_soil: true", "All of the fault current was said to enter the soil."),
    ],
)
def test_what_was_said_of_the_division_is_repeated(said, words):
    supply = "circuit:\n  frequency: 60 Hz\n  supply: {current: 20 A, to: test rod}\n  "
    text = BENCH[: BENCH.index("\ncircuit:") + 1] + supply + said + "\n"
    assert words in understood(load_case_text(text))
