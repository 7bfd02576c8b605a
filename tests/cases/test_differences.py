"""Variants that change anything a case can say, laid over it and checked at their own lines."""

import json

import jsonschema
import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.fitting import fit_soil
from ohmscape.cases.loading import load_case_text
from ohmscape.cases.schema import case_file_schema
from ohmscape.solver.errors import CaseError

CASE = """\
ohmscape: 1
title: A yard and its fence
soil: {layers: [{resistivity: 310 ohm*m, thickness: 2 m}, {resistivity: 85 ohm*m}]}
electrodes:
  - name: yard
    drive: {current: 90 A}
    parts:
      - {kind: ring, name: ring, ring_diameter: 6 m, depth: 0.5 m, diameter: 9 mm,
         centre: [0 m, 0 m]}
      - {kind: rods, name: rods, points: [[3 m, 0 m]], top_depth: 0.5 m, length: 2 m,
         diameter: 16 mm}
  - name: fence
    drive: {floating: true}
    parts:
      - {kind: rod, name: post, at: [9 m, 0 m], top_depth: 0 m, length: 1.5 m, diameter: 50 mm}
bonds: [{name: lead, between: [yard, fence], closed: false}]
study:
  touch:
    - {name: kiosk, electrode: yard, footprint: true}
    - {name: gate, electrode: fence, points: [[9 m, 0 m]]}
safety:
  duration: 0.4 s
  limits: [{name: adults, ieee_80: {body: 70 kg}}]
  surface:
    - name: rock
      polygon: [[-4 m, -4 m], [4 m, -4 m], [4 m, 4 m], [-4 m, 4 m]]
      resistivity: 3000 ohm*m
      thickness: 0.1 m
  exposures:
    - {name: at the kiosk, touch: kiosk, limit: adults}
    - {name: at the gate, touch: gate, limit: adults}
variants:
"""


def variant(*lines, name="other"):
    """The case with one variant of these lines."""
    text = CASE + f"  - name: {name}\n" + "".join(f"    {line}\n" for line in lines)
    return load_case_text(text)


def only(*lines):
    (found,) = variant(*lines).variants
    return found


def test_a_part_is_added_changed_and_taken_away_by_its_name():
    base = variant("close: [lead]")
    more = only(
        "electrodes:",
        "  - name: yard",
        "    parts:",
        "      - {kind: ring, name: outer, centre: [0 m, 0 m], ring_diameter: 8 m, depth: 1 m,"
        " diameter: 9 mm}",
        "      - {name: rods, length: 3.7 m}",
    )
    assert [part.name for part in more.parts] == ["ring", "rods", "outer", "post"]
    # A circle becomes a polygon whose perimeter is a little short of it.
    added = more.conductors.length.sum() - base.conductors.length.sum()
    assert_allclose(added, np.pi * 8 + 1.7, rtol=0.01)
    less = only("electrodes: [{name: yard, parts: [{name: rods, absent: true}]}]")
    assert [part.name for part in less.parts] == ["ring", "post"]
    # What is not spoken of stays as it is.
    assert less.soil == base.soil
    assert less.drives == base.drives


def test_a_whole_electrode_goes_with_what_speaks_of_it():
    bare = only(
        "electrodes: [{name: fence, absent: true}]",
        "bonds: [{name: lead, absent: true}]",
        "study: {touch: [{name: gate, absent: true}]}",
        "safety: {exposures: [{name: at the gate, absent: true}]}",
    )
    assert bare.conductors.group_names == ("yard",)
    assert bare.bonds == ()
    assert [item.name for item in bare.study.touchables] == ["kiosk"]
    assert [item.name for item in bare.safety.exposures] == ["at the kiosk"]


def test_a_key_takes_the_place_of_those_it_excludes():
    driven = only("electrodes: [{name: yard, drive: {voltage: 230 V}}]")
    assert (driven.drives[0].kind, driven.drives[0].value) == ("voltage", 230.0)
    limited = only("safety: {limits: [{name: adults, own: {voltage: 50 V}}], duration: 1 s}")
    assert limited.safety.exposures[0].limit.durations
    assert limited.safety.duration == 1.0
    forever = only("safety: {continuous: true, limits: [{name: adults, own: {voltage: 50 V}}]}")
    assert forever.safety.duration == np.inf


def test_surface_layers_are_thickened_added_and_taken_away():
    thick = only("safety: {surface: [{name: rock, thickness: 20 cm}]}")
    assert [(layer.thickness, layer.resistivity) for layer in thick.safety.layers] == [
        (0.2, 3000)
    ]
    bare = only("safety: {surface: [{name: rock, absent: true}]}")
    assert bare.safety.layers == ()
    both = only(
        "safety:",
        "  surface:",
        "    - name: asphalt",
        "      polygon: [[5 m, -4 m], [9 m, -4 m], [9 m, 4 m], [5 m, 4 m]]",
        "      resistivity: 10 kohm*m",
        "      thickness: 5 cm",
    )
    assert [layer.name for layer in both.safety.layers] == ["rock", "asphalt"]


def test_soil_is_given_whole_and_switches_are_laid_on_top():
    frozen = only(
        "soil: {layers: [{resistivity: 900 ohm*m, thickness: 1 m}, {resistivity: 60 ohm*m}]}",
        "close: [lead]",
    )
    assert frozen.soil.resistivity == (900.0, 60.0)
    assert frozen.bonds[0].closed
    assert not variant("close: [lead]").bonds[0].closed
    assert frozen.changes == ("soil", "close lead")


def test_a_bond_that_a_variant_adds_can_be_switched_in_it():
    tied = only("bonds: [{name: tie, between: [yard, fence], closed: false}]", "close: [tie]")
    assert [(bond.name, bond.closed) for bond in tied.bonds] == [("lead", False), ("tie", True)]


def test_all_that_is_wrong_with_names_in_variants_is_said_at_once():
    with pytest.raises(CaseError) as raised:
        variant("bonds: [{name: led, absent: true}]", "study: {pace: 1}", "open: [tie]")
    assert len(raised.value.problems) == 3


def test_what_is_not_changed_is_not_built_again():
    case = variant("close: [lead]")
    assert case.variants[0].conductors is case.conductors


@pytest.mark.parametrize(
    ("lines", "where", "message"),
    [
        (
            ["electrodes: [{name: yard, parts: [{name: rods, length: 3}]}]"],
            (1,),
            r"variants\[1\] 'other'\.electrodes\[1\] 'yard'\.parts\[1\] 'rods'\.length: 3 ne",
        ),
        (
            ["electrodes: [{name: yard, parts: [{name: rdos, length: 3 m}]}]"],
            (1,),
            r"variants\[1\] 'other'\.electrodes.*'rdos'.*'kind' is missing",
        ),
        (
            ["electrodes: [{name: yard, parts: [{name: rdos, absent: true}]}]"],
            (1,),
            r"variants\[1\].*no entry of this list to take away 'rdos'; did you mean 'rods'",
        ),
        (
            ["electrodes: [{name: yard, parts: [{name: rods, depht: 1 m}]}]"],
            (1,),
            r"variants\[1\].*'rods'\.depht: unknown key",
        ),
        (
            ["safety: {exposures: [{name: at the kiosk, limit: adlts}]}"],
            (1,),
            r"variants\[1\].*exposures\[1\] 'at the kiosk'\.limit: no limit 'adlts'",
        ),
        (
            ["electrodes: [{name: fence, absent: true}]"],
            ("bonds:", "name: gate,"),
            r"bonds\[1\] 'lead'\.between\[2\]: in variant 'other': no electrode 'fence'",
        ),
        (
            ["safety: {surface: [{name: rock, thickness: 2 m}]}"],
            ("at the kiosk", "at the gate", 1),
            r"at the kiosk': in variant 'other': surface layer 2 m thick",
        ),
        (
            [
                "electrodes:",
                "  - name: yard",
                "    parts:",
                "      - {kind: rod, name: beside, at: [9 m, 0 m], top_depth: 0 m, length: 1 m,"
                " diameter: 9 mm}",
            ],
            ("post",),
            r"'post': in variant 'other': 'beside' of 'yard' and 'post' of 'fence' touch",
        ),
        (
            [
                "electrodes: [{name: fence, absent: true}]",
                "bonds: [{name: lead, absent: true}]",
                "study: {touch: [{name: gate, electrode: fence}]}",
                "safety: {exposures: [{name: at the gate, absent: true}]}",
            ],
            (3,),
            r"variants\[1\] 'other'\.study\.touch\[1\] 'gate'\.electrode: no electrode "
            "'fence'; there are 'yard'; the variant takes it away",
        ),
        (
            ["bonds: [{name: lead, absent: true}]", "close: [lead]"],
            (2,),
            r"variants\[1\] 'other'\.close\[1\]: no bond 'lead'; there are none",
        ),
        (["measured: {}"], (1,), r"variants\[1\] 'other'\.measured: unknown key"),
    ],
)
def test_what_is_wrong_is_said_where_it_was_written(lines, where, message):
    # By the line of the variant, or by what stands in the line of the case.
    first = CASE.count("\n") + 1
    text = CASE.splitlines()
    expected = {
        first + place
        if isinstance(place, int)
        else next(k for k, line in enumerate(text, start=1) if place in line)
        for place in where
    }
    with pytest.raises(CaseError, match=message) as raised:
        variant(*lines)
    assert {problem.line for problem in raised.value.problems} == expected


def test_what_is_wrong_with_the_case_itself_is_said_once():
    text = CASE.replace("length: 2 m", "length: 2") + "  - name: other\n    close: [lead]\n"
    with pytest.raises(CaseError) as raised:
        load_case_text(text)
    assert len(raised.value.problems) == 1


def test_variants_of_one_survey_are_fitted_once(monkeypatch):
    from ohmscape.cases.soil_survey import surveyed

    count = 0
    fit = surveyed.fit_survey

    def counted(*args, **kwargs):
        nonlocal count
        count += 1
        return fit(*args, **kwargs)

    monkeypatch.setattr(surveyed, "fit_survey", counted)
    readings = "".join(
        f"          - {{spacing: {a} m, apparent_resistivity: {rho} ohm*m}}\n"
        for a, rho in ((1, 300), (2, 250), (4, 180), (8, 120), (16, 95))
    )
    survey = (
        "soil:\n  survey:\n    traverses:\n      - name: north\n        array: wenner\n"
        "        readings:\n" + readings
    )
    _, layers, rest = CASE.partition("soil: {layers")
    text = CASE.replace(layers + rest.split("\n", 1)[0] + "\n", survey)
    case = load_case_text(text + "  - name: other\n    close: [lead]\n")
    assert count == 0  # reading solves nothing
    fitted = fit_soil(case)
    assert count == 1
    assert fitted.variants[0].soil == fitted.soil
    again = fit_soil(case, kept=[fitted.survey.found])
    assert count == 1
    assert again.soil == fitted.soil
    with pytest.raises(CaseError, match="not fitted yet"):
        _ = case.soil


def test_editors_complete_and_check_what_differs():
    schema = json.loads(json.dumps(case_file_schema()))
    jsonschema.Draft202012Validator.check_schema(schema)
    check = jsonschema.Draft202012Validator(
        schema["$defs"]["Variant"] | {"$defs": schema["$defs"]}
    )
    rods = {"name": "rods", "length": "3 m"}
    right = {"name": "other", "electrodes": [{"name": "yard", "parts": [rods]}]}
    assert check.is_valid(right)
    assert check.is_valid({"name": "less", "bonds": [{"name": "lead", "absent": True}]})
    wrong = {"name": "other", "electrodes": [{"name": "yard", "partz": [rods]}]}
    assert not check.is_valid(wrong)
