"""What cannot be by system, soil, metal or contact is told before and after solving."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape import load_case_text
from ohmscape.jobs.run import run_case
from ohmscape.jobs.understood import understood
from ohmscape.solver.drives import System
from ohmscape.solver.errors import CaseError
from ohmscape.solver.results.plausible import (
    bounds_of,
    contact_shares,
    driving_system,
    field_at_metal,
    melting_time,
)
from ohmscape.viz.doubts import doubt_texts
from ohmscape.viz.report.sections.fault import circuit_section
from ohmscape.viz.result_folder import load_result, save_result
from ohmscape.viz.terminal.verdict import verdict_lines

CASE = """
ohmscape: 1
title: One rod
soil: {layers: [{resistivity: 370 ohm*m, thickness: 2.3 m}, {resistivity: 130 ohm*m}]}
SYSTEM
electrodes:
  - name: rod
    drive: DRIVE
    CONTACT
    parts: [{kind: rod, at: [0 m, 0 m], top_depth: 0 m, length: 3.1 m, diameter: 17 mm FILM}]
STUDY
numerics: {accuracy: coarse}
"""
CIRCUIT = """
circuit:
  frequency: 50 Hz
  supply: {SOURCE, to: rod, return: source}
  paths: [{name: neutral, between: [source, remote earth], impedance: {NEUTRAL}}]
"""


def case_of(*, drive="{current: 20 A}", system="", contact="", film="", study=""):
    text = CASE.replace("SYSTEM", system).replace("DRIVE", drive).replace("FILM", film)
    return load_case_text(text.replace("CONTACT", contact).replace("STUDY", study))


def told(**changes):
    """What `check` says cannot be, on one line; empty where it says nothing."""
    text = understood(case_of(**changes))
    assert ("BUT see above" in text) == ("Cannot be" in text)
    return " ".join(text.partition("Cannot be, or not be found")[2].split())


def in_circuit(source, neutral="resistance: 1 ohm"):
    study = CIRCUIT.replace("SOURCE", source).replace("NEUTRAL", neutral)
    return {"drive": "{circuit: true}", "study": study}


def test_a_case_that_can_be_is_not_doubted():
    assert told() == ""
    assert told(system="system: {voltage_between_phases: 12.47 kV}") == ""
    assert told(system="system: {largest_fault_current: 20 A}") == ""


@pytest.mark.parametrize(
    ("system", "drive", "said"),
    [
        # 130 x 600 / (2 pi 3.1085) = 3.99 kV at the least, above 1.1 x 3.3 kV.
        ("voltage_to_earth: 3.3 kV", "{current: 600 A}", "a rise, at the least, of 3.99 kV"),
        ("voltage_between_phases: 5.7 kV", "{current: 600 A}", "3.62 kV (3.29 kV to earth"),
        ("voltage_to_earth: 7.2 kV", "{voltage: 34 kV}", "a given voltage of 34.0 kV"),
        ("largest_fault_current: 600 A", "{current: 650 A}", "where the system drives 600 A"),
    ],
)
def test_what_the_system_cannot_drive_is_told(system, drive, said):
    found = told(system=f"system: {{{system}}}", drive=drive)
    assert "CANNOT BE" in found
    assert said in found


def test_more_than_soil_passes_is_told_before_it_is_solved():
    # 130 x 600 / (2 pi 0.0085 x 3.1) = 471 kV/m even if all of the rod stood below.
    assert "at the least at 471 kV/m" in told(drive="{current: 600 A}")
    assert "kV/m" not in told(drive="{current: 300 A}")


def test_a_source_says_by_itself_what_it_drives():
    # 230 V behind 0.5 ohm: 460 A at most, and no more than 230 V.
    case = case_of(**in_circuit("voltage: 230 V, impedance: {resistance: 0.5 ohm}"))
    assert driving_system(case.system, circuit=case.circuit) == System(230.0, 460.0)
    stated = driving_system(System(None, 100.0), circuit=case.circuit)
    assert stated == System(230.0, 100.0)


def test_a_source_above_its_system_is_told():
    source = in_circuit("voltage: 20 kV, impedance: {resistance: 5 ohm}")
    assert "given voltage of 20.0 kV" in told(
        system="system: {voltage_to_earth: 7.2 kV}", **source
    )


def test_current_that_melts_the_metal_is_doubted():
    # 17 mm: 227 mm^2 of copper carry 64 kA for 1 s, 640 kA for 0.01 s.
    case = case_of()
    time = melting_time(case.conductors, current=np.array([640e3]))
    assert_allclose(time, 0.01, rtol=0.01)
    assert "would melt copper" in told(drive="{current: 640 kA}")
    assert "would melt copper" not in told(drive="{current: 10 kA}")


@pytest.mark.parametrize(
    ("changes", "doubted"),
    [
        ({"contact": "contact_resistance: 2 kohm"}, False),
        ({"contact": "contact_resistance: 20 kohm"}, True),
        ({"film": ", contact_resistivity: 50 ohm*m^2"}, False),
        ({"film": ", contact_resistivity: 5000 ohm*m^2"}, True),
    ],
)
def test_contact_far_above_that_of_the_soil_is_doubted(changes, doubted):
    assert ("the contact of 'rod'" in told(**changes)) == doubted


def test_films_on_some_of_the_metal_are_no_contact():
    """A film through which nothing needs to pass, beside bare metal."""
    rods = (
        "{kind: rod, at: [0 m, 0 m], top_depth: 0 m, length: 3 m, diameter: 17 mm},"
        "{kind: rod, at: [5 m, 0 m], top_depth: 0 m, length: 3 m, diameter: 17 mm,"
        " contact_resistivity: 5000 ohm*m^2}"
    )
    text = CASE.replace("SYSTEM", "").replace("DRIVE", "{current: 1 A}").replace("STUDY", "")
    text = text.replace("CONTACT", "").replace("FILM", "")
    start = text.index("parts: [") + len("parts: [")
    case = load_case_text(text[:start] + rods + text[text.index("]", text.index("17 mm")) :])
    shares = contact_shares(case.conductors, soil=case.soil, contact_resistance=(0.0,))
    assert_allclose(shares, 0.0)


@pytest.mark.parametrize(
    ("system", "message"),
    [
        ("{}", "says nothing; give one of voltage_between_phases"),
        ("{voltage_to_earth: -7 kV}", "effective values above 0"),
        ("{voltage_to_earth: 7 kV, voltage_between_phases: 12 kV}", "at most one of"),
    ],
)
def test_a_system_that_says_nothing_or_twice_is_refused(system, message):
    with pytest.raises(CaseError, match=message):
        case_of(system=f"system: {system}")


def test_touchable_metal_beyond_the_map_is_told():
    study = """
study:
  area: {margin: 4 m}
  touch:
    - {name: gate, electrode: rod, line: [[LEFT m, 0 m], [30 m, 0 m]]}
"""
    # Who stands at the edge of the map, 4 m off, reaches 1 m further.
    assert "touch of 'gate' will be NOT EVALUATED" in told(study=study.replace("LEFT", "5.3"))
    assert told(study=study.replace("LEFT", "4.9")) == ""


@pytest.fixture(scope="module")
def impossible():
    """600 A into one rod of a system of 7.2 kV that drives 500 A."""
    system = "system: {voltage_to_earth: 7.2 kV, largest_fault_current: 500 A}"
    return run_case(case_of(system=system, drive="{current: 600 A}"))


def test_what_is_told_before_is_at_most_what_is_found(impossible):
    case = case_of(drive="{current: 600 A}")
    bounds = bounds_of(
        case.conductors, soil=case.soil, drives=case.drives, bonds=(), circuit=None
    )
    assert 0 < bounds.rise < impossible.rise
    assert (bounds.field < field_at_metal(impossible)).all()


def test_a_result_that_cannot_be_says_so_beside_its_verdict(impossible):
    # Soil of 130 to 370 ohm*m: some 30 to 110 ohm, so that 600 A would be 20 to 60 kV.
    texts = doubt_texts([impossible])
    assert [text.split(":")[0] for text in texts] == [
        "CANNOT BE",
        "CANNOT BE from one phase to earth",
        "CANNOT BE",
    ]
    shown = " ".join(" ".join(verdict_lines([impossible])).split())
    assert "the system drives at most 7.92 kV" in shown
    assert "a fault current of 600 A, where the system drives 500 A at most" in shown


def test_the_system_is_kept_and_reported(impossible, tmp_path):
    save_result(impossible, tmp_path / "out", pictures=False)
    kept = load_result(tmp_path / "out")
    assert kept.system == System(7200.0, 500.0)
    assert "7.20 kV from phase to earth" in str(circuit_section([kept]).blocks[0])


def test_resonance_above_the_source_is_told():
    """Capacitance beside the rod, of the reactance of the source: R / X of its voltage."""
    study = in_circuit("voltage: 230 V, impedance: {reactance: 40 ohm}")
    cable = "{name: cable, between: [rod, source], impedance: {reactance: -40 ohm}}"
    study["study"] = study["study"].replace("paths: [", f"paths: [{cable}, ")
    found = run_case(case_of(**study))
    assert_allclose(found.rise, 230 * found.resistance(0) / 40, rtol=0.02)
    assert [text for text in doubt_texts([found]) if "a rise of" in text]
    assert all("signs of reactances" in text for text in doubt_texts([found]))
