"""The circuit block: what it becomes, and every way in which it does not fit."""

import jsonschema
import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.circuit.operating import operating_of
from ohmscape.cases.loading import case_from, load_case_text
from ohmscape.cases.schema import case_file_schema
from ohmscape.solver.circuit import Circuit, Ladder, Path, Supply
from ohmscape.solver.errors import CaseError

NEUTRAL = {
    "name": "neutral",
    "between": ["source", "remote earth"],
    "impedance": {"resistance": "2 ohm", "reactance": "-300 mohm"},
}
LINE = {
    "name": "shield wire",
    "between": ["station", "source"],
    "ladder": {
        "span": {"resistance": "0.2 ohm", "reactance": "0.5 ohm"},
        "footing": "15 ohm",
        "spans": 12,
        "end": "closed",
        "broken_after": 3,
    },
    "connected": False,
}
SUPPLY = {
    "voltage": "11 kV",
    "impedance": {"reactance": "1.3 ohm"},
    "to": "station",
    "return": "source",
}
CIRCUIT = {
    "frequency": "50 Hz",
    "supply": SUPPLY,
    "paths": [NEUTRAL, LINE],
    "x_over_r": 14,
    "growth_factor": 1.2,
}
FAULT = {"frequency": "60 Hz", "supply": {"current": "2.6 kA", "to": "station"}}
ATTACHED, FLOATING = {"circuit": True}, {"floating": True}


@pytest.fixture
def build(content, two_electrodes, rod):
    """Content of a case of two rods, the first attached to a circuit."""

    def made(circuit=CIRCUIT, *, drives=(ATTACHED, FLOATING), **blocks):
        second = rod | {"at": ["7 m", "0 m"]}
        electrodes = two_electrodes([rod], [second], drives=drives)
        given = {} if circuit is None else {"circuit": circuit}
        return content(electrodes=electrodes, **given, **blocks)

    return made


def test_a_circuit_in_si(build):
    case = case_from(build())
    line = Ladder(0.2 + 0.5j, 15.0, spans=12, end="closed", broken_after=3)
    assert case.circuit == Circuit(
        frequency=50.0,
        supply=Supply("station", voltage=11e3, impedance=1.3j, returns_at="source"),
        paths=(
            Path("neutral", ("source", "remote earth"), impedance=2 - 0.3j),
            Path("shield wire", ("station", "source"), ladder=line, connected=False),
        ),
        x_over_r=14.0,
        growth_factor=1.2,
    )
    assert [drive.kind for drive in case.drives] == ["circuit", "floating"]


def test_left_out_the_return_is_remote_earth(build):
    case = case_from(build(FAULT | {"split_factor": 0.55}))
    assert case.circuit == Circuit(60.0, Supply("station", current=2600.0), split_factor=0.55)


def test_an_endless_ladder(build):
    path = {
        "name": "poles",
        "between": ["station", "remote earth"],
        "ladder": {"span": {"resistance": "0.1 ohm"}, "footing": "25 ohm", "spans": "endless"},
    }
    case = case_from(build(FAULT | {"paths": [path]}))
    assert case.circuit.paths[0].ladder == Ladder(0.1 + 0j, 25.0)


def test_a_case_without_a_circuit_has_none(build):
    case = case_from(build(None, drives=({"current": "10 A"}, FLOATING)))
    point, operation = operating_of(case, np.diag([0.1, 0.2]))
    assert case.circuit is None
    assert operation is None
    assert_allclose(point.voltage, [100.0, 0.0])


def test_bonds_and_paths_are_switched_by_variants(build):
    content = build(
        bonds=[{"name": "link", "between": ["station", "fence"], "closed": False}],
        variants=[{"name": "all", "close": ["link", "shield wire"], "open": ["neutral"]}],
    )
    case = case_from(content)
    (variant,) = case.variants
    assert [path.connected for path in variant.circuit.paths] == [False, True]
    assert variant.bonds[0].closed
    # The far part of the broken line is what is left to close the loop.
    point, operation = operating_of(variant, np.diag([0.5, 0.05]))
    assert point.voltage[0] == point.voltage[1]
    assert operation.share("neutral") == 0
    assert operation.share("shield wire") > 0


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"frequency": "50"}, r"circuit\.frequency: '50' cannot be read as frequency"),
        ({"frequency": "20 kHz"}, "above the 1000 Hz allowed"),
        ({"frequency": 50}, r"circuit\.frequency: 50 needs a unit: write text such as '50 Hz'"),
        ({"x_over_r": 0}, r"circuit\.x_over_r: 0 is not allowed: from 0\.01 to 1000"),
        ({"growth_factor": 0.9}, "0.9 is not allowed: from 1 to 10"),
        ({"split_factor": 0.5}, "give at most one of paths, split_factor, all_current_in_soil"),
        ({"paths": []}, r"supply\.return: 'source' is no electrode, and nothing else"),
        ({"supply": SUPPLY | {"voltage": "0 V"}}, r"circuit\.supply: supply of 0 V; give an"),
        ({"supply": SUPPLY | {"current": "3 A"}}, "exactly one of voltage, current"),
        ({"supply": SUPPLY | {"to": "source"}}, "goes to 'source' and returns at 'source'"),
        ({"supply": SUPPLY | {"returns": "x"}}, "unknown key; did you mean 'return'"),
        (
            {"supply": SUPPLY | {"to": "statoin"}},
            r"supply\.to: 'statoin' is no electrode, .* did you mean 'station'\?",
        ),
        (
            {"paths": [NEUTRAL, NEUTRAL]},
            r"bond or path name 'neutral' is taken by circuit",
        ),
        (
            {"paths": [NEUTRAL | {"name": "supply"}]},
            r"circuit\.paths\[1\] 'supply': path",
        ),
        ({"supply": SUPPLY | {"impedance": {}}}, "supply: impedance says nothing; give resist"),
        ({"paths": [NEUTRAL | {"impedance": {}}]}, "path 'neutral' has no impedance"),
        ({"paths": [NEUTRAL | {"ladder": LINE["ladder"]}]}, "exactly one of impedance, ladder"),
        (
            {"paths": [NEUTRAL | {"between": ["source", "remote earht"]}]},
            r"paths\[1\] 'neutral'\.between\[2\]: 'remote earht' is .* mean 'remote earth'\?",
        ),
    ],
)
def test_a_wrong_circuit_is_refused_at_its_place(change, message, build):
    with pytest.raises(CaseError, match=message):
        case_from(build(CIRCUIT | change))


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"spans": 0}, r"ladder\.spans: 0 is not allowed: from 1 to 10000, or endless"),
        ({"spans": "many"}, "'many' is no number of spans: write a whole number, or endless"),
        ({"spans": True}, "true is no number of spans"),
        ({"spans": "endless"}, "'end' goes with a number of spans: say open or closed"),
        (
            {"end": "open"},
            r"paths\[2\] 'shield wire': ladder .* open at its far end",
        ),
        ({"footing": "0 ohm"}, r"ladder: ground of 0 ohm at each pole"),
        ({"broken_after": 12}, "broken after 12 spans; allowed from 0 to 11"),
        ({"span": {"resistance": "0 ohm"}}, "a span needs an impedance"),
    ],
)
def test_a_wrong_ladder_is_refused_at_its_place(change, message, build):
    line = LINE | {"ladder": LINE["ladder"] | change}
    with pytest.raises(CaseError, match=message):
        case_from(build(CIRCUIT | {"paths": [NEUTRAL, line]}))


def test_all_current_in_the_soil_must_be_said(build):
    with pytest.raises(CaseError, match=r"circuit: .*say that all current is in the soil"):
        case_from(build(FAULT))
    said = case_from(build(FAULT | {"all_current_in_soil": True}))
    assert said.circuit.all_current_in_soil


@pytest.mark.parametrize(
    ("drives", "message"),
    [
        (({"current": "1 A"}, FLOATING), r"'station'\.drive: the circuit's supply is all that"),
        ((FLOATING, FLOATING), "the circuit is attached to 'station', it does not float"),
        ((ATTACHED, ATTACHED), r"'fence'\.drive: nothing of the circuit ends at 'fence'"),
    ],
)
def test_drives_that_do_not_fit_the_circuit_are_refused(drives, message, build):
    with pytest.raises(CaseError, match=message):
        case_from(build(drives=drives))


def test_driven_by_a_circuit_that_is_not_there(build):
    with pytest.raises(CaseError, match=r"'station'\.drive: is driven by a circuit, but the c"):
        case_from(build(None))


def test_an_electrode_cannot_be_remote_earth(build):
    content = build()
    content["electrodes"][1]["name"] = "remote earth"
    with pytest.raises(CaseError, match=r"name: 'remote earth' is what the circuit calls 0 V"):
        case_from(content)


def test_a_bond_and_a_path_cannot_share_a_name(build):
    bond = {"name": "neutral", "between": ["station", "fence"], "closed": False}
    with pytest.raises(CaseError, match=r"bond or path name 'neutral' is taken by bonds\[1\]"):
        case_from(build(bonds=[bond]))


def test_a_supply_that_drives_nothing_is_refused_where_it_is_made_so(build):
    off = CIRCUIT | {"paths": [NEUTRAL | {"connected": False}, LINE]}
    with pytest.raises(
        CaseError, match=r"circuit: the loop of the supply is open: nothing lea"
    ):
        case_from(build(off))
    variants = [{"name": "cut", "open": ["neutral"]}]
    message = r"variants\[1\] 'cut': the loop of the supply is open.*connect 'neutral' or 'shie"
    with pytest.raises(CaseError, match=message):
        case_from(build(variants=variants))


def test_an_unknown_switch_is_refused_with_bonds_and_paths(build):
    with pytest.raises(CaseError, match=r"no bond or path 'neutrl'; did you mean 'neutral'\? "):
        case_from(build(variants=[{"name": "cut", "open": ["neutrl"]}]))


TEXT = """\
ohmscape: 1
title: Everything wrong at once
soil: {layers: [{resistivity: 120 ohm*m}]}
electrodes:
  - name: rod
    drive: {voltage: 5 V}
    parts: [{kind: rod, at: [0 m, 0 m], top_depth: 0 m, length: 2 m, diameter: 16 mm}]
circuit:
  frequency: 60
  supply:
    voltage: 120 V
    to: rdo
  paths:
    - name: neutral
      between: [rod, remote earth]
      impedance: {resistance: 2}
    - name: neutral
      between: [rod, rod]
      impedance: {resistance: 2 ohm}
"""


def test_all_problems_are_told_at_once_with_their_lines():
    with pytest.raises(CaseError) as refused:
        load_case_text(TEXT)
    lines = [problem.line for problem in refused.value.problems]
    assert lines == [6, 9, 12, 16, 17, 17]
    assert "leads from 'rod' to itself" in str(refused.value)


def test_the_schema_for_editors_agrees(build):
    checker = jsonschema.Draft202012Validator(case_file_schema())

    def faults(content):
        return [fault.json_path for fault in checker.iter_errors(content)]

    assert faults(build()) == []
    assert faults(build(CIRCUIT | {"split_factor": 0.5})) == ["$.circuit"]
    line = LINE | {"ladder": LINE["ladder"] | {"spans": "many"}}
    assert faults(build(CIRCUIT | {"paths": [line]})) == ["$.circuit.paths[0].ladder.spans"]
