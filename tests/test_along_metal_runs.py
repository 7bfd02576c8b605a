"""Cases with voltages along their metal, run from their files to what is written of them."""

import csv

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.loading import load_case, load_case_text
from ohmscape.cases.shipped import shipped_case_path
from ohmscape.jobs.assessing import assess
from ohmscape.jobs.run import reassess, run_case, run_variants
from ohmscape.solver.errors import CaseError, ResultError
from ohmscape.solver.results.along_metal import along_told
from ohmscape.solver.results.storage import load, save
from ohmscape.solver.thin_wire import second_opinion
from ohmscape.viz.canvas.figures import draw_all
from ohmscape.viz.drawing import along_pictures
from ohmscape.viz.report.sections.along_metal import along_section
from ohmscape.viz.terminal.summary import summary
from ohmscape.viz.writing import write_tables

pytestmark = pytest.mark.slow

TWO_RINGS = """
ohmscape: 1
title: Two rings and a lead
soil:
  layers:
    - resistivity: 100 ohm*m
system: {frequency: 50 Hz}
electrodes:
  - name: station
    drive: {current: 100 A}
    fed_at: [0 m, 0 m]
    parts:
      - kind: loop
        name: ring
        points: [[0 m, 0 m], [20 m, 0 m], [20 m, 20 m], [0 m, 20 m]]
        depth: 0.8 m
        diameter: 11 mm
        material: annealed copper
  - name: other
    drive: {floating: true}
    parts:
      - kind: loop
        name: other ring
        points: [[200 m, 0 m], [220 m, 0 m], [220 m, 20 m], [200 m, 20 m]]
        depth: 0.8 m
        diameter: 11 mm
        material: annealed copper
along_metal:
  places:
    - {name: here, electrode: station, at: [20 m, 0 m]}
    - {name: there, electrode: other, at: [200 m, 0 m]}
  leads:
    - name: lead
      between: [here, there]
      made_of:
        material: annealed copper
        diameter: 8 mm
        route: [[20 m, 0 m, -1.1 m], [200 m, 0 m, -1.1 m]]
  joints:
    - {name: clamp, part: ring, at: [10 m, 0 m], resistance: 0 ohm}
study:
  area: {corner: [-4 m, -4 m], size: [28 m, 28 m]}
variants:
  - name: lead cut
    open: [lead]
  - name: clamp off
    open: [clamp]
"""


@pytest.fixture(scope="module")
def rings():
    return run_variants(load_case_text(TWO_RINGS), accuracy="coarse")


def phasor(size, degrees):
    return size * np.exp(1j * np.radians(degrees))


def test_two_rings_with_a_lead_are_as_computed_apart(rings):
    # Thin wires with a network, apart from this code, 0.3 %: 1.5033 Ω at 1.39°, the other ring
    # at 1.4686 V/A and -1.18°, 0.4941 A in the lead; without it 2.891 Ω and 0.0797 V/A.
    told, cut = along_told(rings[0]), along_told(rings[1])
    assert abs(told.ports[0].impedance / phasor(1.5033, 1.39) - 1) < 4e-3
    turn = told.ports[0].current / 100.0
    there = next(place for place in told.places if place.name == "there")
    assert abs(there.voltage / turn / phasor(146.86, -1.18) - 1) < 4e-3
    assert abs(told.leads[0].current / turn / phasor(49.41, -1.3) - 1) < 4e-3
    assert abs(cut.ports[0].impedance / phasor(2.891, 0.07) - 1) < 4e-3
    assert cut.leads == ()


def test_the_second_opinion_agrees(rings):
    for result in rings:
        assert result.agreement.resistance_difference < 3e-3
        assert result.one_potential is None
    # With the clamp off, the middle of the ring is as near to metal on both sides of the cut.
    for result in rings[:2]:
        assert result.agreement.voltage_difference < 3e-3


def test_a_clamp_off_a_ring_sends_all_current_the_other_way_round(rings):
    told, off = along_told(rings[0]), along_told(rings[2])
    # The short way from the feed to the lead is cut; 60 m of copper of 0.18 mΩ/m are left.
    longer = abs(off.ports[0].impedance) - abs(told.ports[0].impedance)
    assert 1e-3 < longer < 0.03
    far, near = (
        next(place for place in each.places if place.name == "here") for each in (off, told)
    )
    assert abs(far.voltage) < abs(near.voltage)


def test_touch_goes_by_the_metal_that_is_near(rings):
    result = rings[0]
    field, metal = result.field, result.metals[0]
    places = result.surface.places[metal.within_reach(result.surface.places)]
    held = field.metal_voltage(metal.group, places=places)
    expected = np.abs(held - field.surface_potential(places))
    row = result.surface.touch[0]
    assert_allclose(row[~np.isnan(row)], expected, rtol=1e-9)
    # At the feed it is the voltage of the feed.
    at_feed = field.metal_voltage(metal.group, places=np.array([[-0.3, -0.3]]))
    assert_allclose(abs(at_feed[0]), result.rise, rtol=1e-9)


def test_a_result_comes_back_from_its_file(rings, tmp_path):
    path = tmp_path / "result.npz"
    save(rings[0], path)
    back = load(path)
    assert_allclose(back.along.port_matrix, rings[0].along.port_matrix)
    places = np.array([[3.0, 4.0], [-1.0, 8.0]])
    assert_allclose(
        back.field.surface_potential(places), rings[0].field.surface_potential(places)
    )


def test_an_edited_case_is_judged_anew_but_not_wired_anew(rings):
    twice = load_case_text(TWO_RINGS.replace("current: 100 A", "current: 200 A"))
    again = reassess(twice, rings)
    assert_allclose(again[0].rise, 2 * rings[0].rise, rtol=1e-9)
    other = load_case_text(TWO_RINGS.replace("diameter: 8 mm", "diameter: 6 mm"))
    with pytest.raises(ResultError, match="wired as it is"):
        reassess(other, rings)


def test_tables_and_words_say_what_was_found(rings, tmp_path):
    names = {path.name for path in write_tables(rings[0], tmp_path)}
    assert {"along-metal.csv", "ports.csv", "leads.csv"} <= names
    lines = (tmp_path / "leads.csv").read_text(encoding="utf-8").splitlines()
    rows = list(csv.reader(line for line in lines if not line.startswith("#")))
    lead = along_told(rings[0]).leads[0]
    assert rows[1][0] == "lead"
    assert_allclose(complex(float(rows[1][1]), float(rows[1][2])), lead.current, rtol=1e-5)
    text = summary(rings[0])
    assert "Voltage along the metal" in text
    assert "1.50 Ω ∠ 1.4°" in text
    assert "NOT AT ONE POTENTIAL" not in text
    assert along_section(rings) is not None


def test_commands_for_metal_at_one_potential_refuse_it():
    case = load_case_text(TWO_RINGS)
    with pytest.raises(CaseError, match="asks for voltages along its metal"):
        assess(case, second_opinion(case.conductors, soil=case.soil))


def test_with_direct_current_all_is_real_and_between_bounds():
    short = TWO_RINGS.replace("system: {frequency: 50 Hz}", "system: {frequency: 0 Hz}")
    thick = short.replace("annealed copper", "own metal").replace(
        "study:",
        "heating:\n  ambient: 40 degC\n  duration: 1 s\n  limit: 250 degC\n  materials:\n"
        "    - {name: own metal, source: none, resistivity: 1e-8 ohm*m,\n"
        "       temperature_coefficient: 0.004 K^-1, fusing: 1000 degC,\n"
        "       heat_capacity: 3.4 J/cm^3/K}\n"
        "study:",
    )
    case = load_case_text(thick.split("variants:")[0])
    found = run_case(case, accuracy="coarse")
    # With the lead both rings are one electrode of half the resistance, nearly: 180 m of lead
    # and 80 m of rings have 40 mΩ at the most.
    bonded = 1 / found.solution.current_matrix.sum()
    assert bonded < abs(found.along.port_matrix[0, 0]) < bonded + 0.04
    assert not np.iscomplexobj(found.along.port_matrix)


@pytest.fixture(scope="module")
def kiosk():
    return run_variants(load_case(shipped_case_path("kiosk-by-a-cable")), accuracy="coarse")


def test_the_sheath_takes_what_a_lumped_circuit_says(kiosk):
    # R_s / (R_s + R + Z_m), the earths by thin wires, each lifting the other too; Z_m is the
    # reactance of 409.5 m of wire in soil, about 0.25 Ω.
    earths = second_opinion(kiosk[0].solution.conductors, soil=kiosk[0].solution.soil)
    between = np.array([1.0, -1.0])
    soil = between @ earths.resistance @ between
    sheath = 1.72e-8 * 409.5 / 16e-6
    expected = abs(sheath / (sheath + 0.001 + soil + 0.25j))
    assert_allclose(kiosk[0].operation.split_factor, expected, rtol=0.01)
    assert_allclose(kiosk[1].operation.split_factor, 1.0, rtol=1e-6)
    bad = abs((sheath + 2.0) / (sheath + 2.0 + soil + 0.25j))
    assert_allclose(kiosk[2].operation.split_factor, bad, rtol=0.01)


def test_the_summary_of_a_circuit_with_leads_is_told(kiosk):
    text = summary(kiosk[0], variants=kiosk[1:])
    assert "The current divides between the soil and the leads." in text
    assert "'kiosk earth' passes 0.0362 of it into the soil" in text


def test_the_kiosk_fails_without_its_sheath(kiosk):
    outcomes = [result.verdict.judgements[0].outcome for result in kiosk]
    assert outcomes == ["pass", "fail", "fail", "pass"]
    assert all(result.operation.power_balance < 1e-8 for result in kiosk)


@pytest.fixture(scope="module")
def yard():
    return run_variants(load_case(shipped_case_path("yard-beside-a-pipe")), accuracy="coarse")


def test_a_floating_pipe_lets_out_what_its_coating_lets_in(yard):
    for result in yard:
        pipe = result.group("water main")
        field = result.field
        mine = result.solution.conductors.group[result.elements.piece] == pipe
        leakage = field.element_current[mine]
        assert abs(leakage.sum()) < 1e-9 * np.abs(field.element_current).sum()
        (coat,) = along_told(result).coats
        # Nearest to the yard the soil is lifted most and the pipe is not: V is at the most the
        # rise of the soil there less that of the pipe, ρ t / a the film of its coating.
        over = abs(field.metal_voltage(pipe, places=np.array([coat.at[:2]]))[0])
        soil = abs(field.potential(np.array([[*coat.at[:2], coat.at[2] - 0.2]]))[0])
        assert_allclose(coat.voltage, abs(soil - over), rtol=0.03)


def test_straps_share_the_current_evenly_and_one_takes_it_all(yard):
    told, one, none = (along_told(result) for result in yard)
    north, south = told.leads
    assert_allclose(abs(north.current), abs(south.current), rtol=1e-3)
    assert_allclose(abs(one.leads[0].current), abs(north.current + south.current), rtol=0.03)
    assert none.leads == ()
    assert_allclose(yard[2].operation.split_factor, 1.0, rtol=1e-6)
    for result in yard:
        assert result.agreement.resistance_difference < 5e-3
        assert result.agreement.voltage_difference < 5e-3


def test_the_picture_of_the_yard_is_drawn(yard, tmp_path):
    png, svg = draw_all(along_pictures(yard[0]), tmp_path)
    assert png.stat().st_size > 20_000
    assert svg.stat().st_size > 20_000
