"""Layers of a case file that conduct otherwise upright than sideways, and what is refused."""

import pytest

from ohmscape.cases.loading import load_case_text
from ohmscape.solver.errors import CaseError

CASE = """
ohmscape: 1
title: Rod in beds
soil:
  layers:
    - {resistivity: 60 ohm*m, thickness: 1.2 m}
    - {resistivity: 40 ohm*m, vertical_resistivity: 0.36 kohm*m}
electrodes:
  - name: pole
    drive: {current: 10 A}
    parts:
      - kind: rod
        name: deep rod
        at: [0 m, 0 m]
        top_depth: 0 m
        length: 6 m
        diameter: 16 mm
      - kind: conductor
        name: strip
        points: [[0 m, 0 m], [4 m, 0 m]]
        depth: 0.6 m
        diameter: 9 mm
"""


def loaded(*changes):
    text = CASE
    for before, after in changes:
        assert before in text
        text = text.replace(before, after)
    return load_case_text(text)


def test_layers_take_a_vertical_resistivity_with_any_unit():
    soil = loaded().soil
    assert soil.resistivity == (60.0, 40.0)
    assert soil.vertical_resistivity == (60.0, 360.0)
    assert "60 Ω·m of 1.2 m over 40 Ω·m (vertically 360 Ω·m)" in repr(loaded())


def test_one_that_says_the_same_as_the_other_is_even_soil():
    even = loaded(("vertical_resistivity: 0.36 kohm*m", "vertical_resistivity: 40 ohm*m")).soil
    assert even == loaded((", vertical_resistivity: 0.36 kohm*m", "")).soil


TANK = """  bodies:
    - {name: tank, kind: ball, centre: [9 m, 0 m], depth: 2 m, radius: 1 m, void: true}
electrodes:"""
PAD = """  bodies:
    - {name: pad, kind: box, centre: [9 m, 0 m], size: [2 m, 2 m], bottom: 1 m, void: true}
electrodes:"""
EVEN = """variants:
  - name: even
    soil: {layers: [{resistivity: 120 ohm*m}], bodies: [{name: pad, absent: true}]}
electrodes:"""
FILL = "9 mm\n        backfill: {diameter: 0.4 m, resistivity: 5 ohm*m}"


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        (
            {"0.36 kohm*m": "5 kohm*m"},
            r"layer 2 has 40 ohm\*m sideways and 5000 ohm\*m up and down, 125 to 1; at most "
            r"100 to 1",
        ),
        ({"0.36 kohm*m": "3 kohm*m", "60 ohm*m": "2 ohm*m"}, r"2 to 3000 ohm\*m are 1500 to 1"),
        ({"0.36 kohm*m": "-3 ohm*m"}, "vertical_resistivity"),
        ({"0.36 kohm*m": "360"}, r"vertical_resistivity.*unit"),
        (
            {"depth: 0.6 m": "depth: 1.2 m"},
            r"parts\[2\] 'strip': lies 0 m from the layer plane 1\.2 m deep.*must be 0\.027 m",
        ),
        (
            {
                "depth: 0.6 m": "depth: 10 mm",
                "60 ohm*m,": "60 ohm*m, vertical_resistivity: 20 ohm*m,",
            },
            r"parts\[2\] 'strip': lies 0\.01 m from the surface.*must be 0\.0468 m away",
        ),
        (
            {"9 mm": FILL, "depth: 0.6 m": "depth: 4 m"},
            r"parts\[2\] 'strip': has a coating or fill.*not vertical, and too short",
        ),
        (
            {"electrodes:": TANK},
            r"soil\.bodies\[1\] 'tank': body 'tank' goes down to layer 2.*end it above 1\.2 m",
        ),
    ],
)
def test_what_is_refused_says_where_why_and_what_to_do(changes, words):
    with pytest.raises(CaseError, match=words):
        loaded(*changes.items())


def test_bodies_above_such_layers_and_variants_of_even_soil_are_taken():
    case = loaded(("electrodes:", PAD), ("electrodes:", EVEN))
    assert not case.soil.isotropic
    assert case.soil.bodies
    assert case.variants[0].soil.isotropic
