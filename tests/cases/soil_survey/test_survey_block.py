"""Surveys written in the case file: every array, every refusal with its line."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.loading import case_from, load_case_text
from ohmscape.solver.errors import CaseError

SPACINGS = [0.5, 1, 2, 4, 8, 16]

REST = """
electrodes:
  - name: main
    drive: {current: 100 A}
    parts: [{kind: rod, at: [0 m, 0 m], top_depth: 0 m, length: 3.7 m, diameter: 16 mm}]
"""


def case_of(survey):
    lines = survey.strip("\n").splitlines()
    text = "ohmscape: 1\ntitle: Under test\nsoil:\n  survey:\n"
    return load_case_text(text + "\n".join("    " + line for line in lines) + REST)


def content_with(survey):
    rod = {
        "kind": "rod", "at": ["0 m", "0 m"], "top_depth": "0 m", "length": "3.7 m",
        "diameter": "16 mm",
    }  # fmt: skip
    main = {"name": "main", "drive": {"current": "100 A"}, "parts": [rod]}
    return {
        "ohmscape": 1, "title": "Under test", "soil": {"survey": survey}, "electrodes": [main]
    }  # fmt: skip


def test_all_arrays_come_in_with_their_traverses():
    survey = case_of(
        """
layers: 1
traverses:
  - name: north
    array: wenner
    direction: 30 deg
    date: 2026-05-04
    note: after rain
    pin_depth: 5 cm
    deviation: 4 %
    readings:
      - {spacing: 2 m, resistance: 8 ohm}
      - {spacing: 10 ft, voltage: 2.4 V, current: 500 mA, pin_depth: 0 m, deviation: 2 %}
  - name: east
    array: schlumberger
    readings:
      - half_current_spacing: 10 m
        half_potential_spacing: 1 m
        apparent_resistivity: 101 ohm*m
  - name: along the wall
    array: four positions
    readings:
      - {pins: [0 m, 3 m, 4 m, 9 m], apparent_resistivity: 9900 ohm*cm}
  - name: test rod
    array: driven rod
    diameter: 16 mm
    readings:
      - {driven_length: 2 m, resistance: 45 ohm}
"""
    ).survey.survey
    assert survey.names == ("north", "east", "along the wall", "test rod")
    north = survey.traverses[0]
    assert (north.direction, north.date, north.note) == ("30 deg", "2026-05-04", "after rain")
    assert_allclose(survey.four_pin.pins[1], 3.048 * np.array([-1.5, -0.5, 0.5, 1.5]))
    assert_allclose(survey.four_pin.pins[3], [0, 3, 4, 9])
    assert_allclose(survey.four_pin.pin_depth, [0.05, 0, 0, 0])
    assert_allclose(survey.resistance[:2], [8, 4.8])
    assert_allclose(survey.apparent_resistivity[2:4], [101, 99], rtol=1e-12)
    assert_allclose(survey.deviation, [0.04, 0.02, np.nan, np.nan, np.nan])
    assert_allclose(survey.driven_rod.radius, 0.008)


@pytest.mark.parametrize(
    ("reading", "message"),
    [
        ("{spacing: 2 m}", r"readings\[1\]: no reading; give resistance, voltage and"),
        ("{spacing: 2 ohm, resistance: 3 ohm}", r"readings\[1\].spacing: .* not a unit of len"),
        ("{spacing: 2 m, resistance: 3 m}", r"'m' is not a unit of resistance"),
        ("{spacing: 2 m, apparent_resistivity: 3 ohm}", r"'ohm' is not a unit of resistivity"),
        ("{spacing: 2 m, voltage: 3 V}", r"voltage and current go together"),
        ("{spacing: 2 m, voltage: 3 V, current: 0 A}", r"current: 0 A; a reading needs"),
        ("{spacing: 2 m, voltage: 3 V, current: 1 A, resistance: 3 ohm}", r"not both"),
        ("{spacing: 2 m, resistance: 3 ohm, deviation: 5}", r"5 is no percentage"),
        ("{spacing: 2 m, resistance: 3 ohm, deviation: x %}", r"'x %' is no percentage"),
        ("{spacing: 2 m, resistance: 3 ohm, deviation: 120 %}", r"between 0 % and 100 %"),
        ("{spacing: 2 m, resistance: -3 ohm}", r"text:9: .*resistance -3 Ω must be positive"),
        (
            "{spacing: 2 m, apparent_resistivity: 3 ohm*m, pin_depth: 20 cm}",
            r"text:9: .*readings\[1\]: apparent resistivity with buried pins",
        ),
        (
            "{half_current_spacing: 2 m, resistance: 3 ohm}",
            r"unknown key; did you mean|spacing",
        ),
    ],
)
def test_a_wrong_reading_is_refused_at_its_place(reading, message):
    with pytest.raises(CaseError, match=message):
        case_of(
            "traverses:\n  - name: north\n    array: wenner\n    readings:\n"
            f"      - {reading}\n"
        )


@pytest.mark.parametrize(
    ("survey", "message"),
    [
        ({"layers": 2}, r"exactly one of file, traverses; got none"),
        ({"file": "x.csv", "traverses": []}, r"exactly one of file, traverses; got file and"),
        ({"file": "x.csv"}, r"soil.survey.file: 'x.csv': a case that is not read from"),
        ({"file": "x.csv", "layers": 0}, r"0 is not allowed: from 1 to .*, or 'supported'"),
        ({"file": "x.csv", "layers": "many"}, r"'many' is not a whole number.*or 'supported'"),
        (
            {"traverses": [{"name": "n", "array": "wener", "readings": []}]},
            r"traverses\[1\] 'n'.*: array 'wener' is not known; there are 'wenner', 'schlum",
        ),
        (
            {"traverses": [{"name": "n", "readings": []}]},
            r"'array' is missing: wenner, schlumberger, four positions, driven rod",
        ),
        (
            {"traverses": [{"name": "n", "array": "wenner", "readings": []}]},
            r"traverses\[1\] 'n'.readings: needs 1 or more entries",
        ),
        (
            {
                "traverses": [
                    {
                        "name": "n",
                        "array": "driven rod",
                        "diameter": "16 mm",
                        "readings": [
                            {"driven_length": "2 m", "apparent_resistivity": "50 ohm*m"}
                        ],
                    }
                ]
            },
            r"driven rod: give its resistance",
        ),
    ],
)
def test_a_wrong_survey_is_refused(survey, message):
    with pytest.raises(CaseError, match=message):
        case_from(content_with(survey))


def test_two_traverses_of_one_name_are_refused():
    one = {
        "name": "n",
        "array": "wenner",
        "readings": [{"spacing": "2 m", "resistance": "8 ohm"}],
    }
    with pytest.raises(CaseError, match="traverse name 'n' is taken"):
        case_from(content_with({"traverses": [one, one]}))


def test_soil_is_given_by_layers_or_by_a_survey():
    content = content_with({"file": "x.csv"})
    content["soil"]["layers"] = [{"resistivity": "50 ohm*m"}]
    with pytest.raises(CaseError, match="exactly one of layers, survey; got layers and survey"):
        case_from(content)
    content["soil"] = {}
    with pytest.raises(CaseError, match="exactly one of layers, survey; got none"):
        case_from(content)
