"""What the live page is sent: numbers as they are, text that closes nothing."""

import json
import re

import numpy as np
import pytest

from ohmscape.cases.loading import load_case_text
from ohmscape.jobs.drafting import Drafter
from ohmscape.viz.live.page import live_page
from ohmscape.viz.live.payload import case_payload, confirmed_payload, draft_payload

_case = """
ohmscape: 1
title: Post and </script> rail
soil:
  layers:
    - {resistivity: 90 ohm*m, thickness: 1 m}
    - {resistivity: 40 ohm*m}
electrodes:
  - name: post
    drive: {current: 20 A}
    parts:
      - {kind: rod, name: pin, at: [1 ft, 2 m], top_depth: 0 m, length: 2 m, diameter: 20 mm}
variants:
  - name: dry season
    soil: {layers: [{resistivity: 300 ohm*m, thickness: 1 m}, {resistivity: 40 ohm*m}]}
study:
  area: {margin: 3 m}
  touch:
    - {name: post itself, electrode: post, points: [[1 ft, 2 m]]}
safety:
  duration: 0.4 s
  limits: [{name: adults, ieee_80: {}}]
  exposures:
    - {name: hand on it, touch: post itself, limit: adults}
    - {name: walking, step: anywhere, limit: adults}
"""


@pytest.fixture(scope="module")
def case():
    return load_case_text(_case)


def arrays(header, numbers):
    return {
        item["name"]: np.frombuffer(
            numbers, "<f4", count=int(np.prod(item["shape"])), offset=item["offset"]
        ).reshape(item["shape"])
        for item in header["arrays"]
    }


def test_a_draft_arrives_as_it_is(case):
    draft = Drafter().draft(case, moving=True)
    header, numbers = draft_payload(draft)
    json.dumps(header, allow_nan=False)
    found = arrays(header, numbers)
    np.testing.assert_array_equal(found["potential"], draft.map.potential.astype("f4"))
    np.testing.assert_array_equal(found["touch0"], draft.map.touch[0].astype("f4"))
    np.testing.assert_array_equal(found["share1"], draft.map.shares[1].share.astype("f4"))
    assert header["electrodes"][0]["resistance"] == draft.electrodes[0].resistance
    assert [layer["key"] for layer in header["map"]["layers"]] == [
        "potential",
        "touch0",
        "step",
        "share0",
        "share1",
    ]
    assert "verdict" not in header


def test_a_draft_that_waits_has_no_numbers(case):
    beside = """
      - {kind: plate, centre: [3 m, 0 m], depth: 1 m, size: [0.5 m, 0.5 m]}
"""
    at = _case.index("variants:")
    header, numbers = draft_payload(
        Drafter().draft(load_case_text(_case[:at] + beside.lstrip("\n") + _case[at:]))
    )
    assert (header["map"], header["arrays"], numbers) == (None, [], b"")
    assert header["error"] is None
    assert header["notes"]


def test_values_of_the_file_are_sent_as_they_are_written(case):
    payload = case_payload(case)
    json.dumps(payload, allow_nan=False)
    (part,) = payload["parts"]
    assert part["path"] == ["electrodes", 0, "parts", 0]
    assert payload["content"]["electrodes"][0]["parts"][0]["at"] == ["1 ft", "2 m"]
    assert payload["metal"]["start"][0][0] == pytest.approx(0.3048)
    assert payload["fixed"] == []


def test_what_a_variant_sets_is_not_edited(case):
    (variant,) = case.variants
    payload = case_payload(variant, base=case)
    assert payload["layers"][0]["resistivity"] == pytest.approx(300.0)
    assert payload["fixed"] == [["soil", "layers", 0, "resistivity"]]


def test_a_confirmed_result_is_between_its_own_samples(result):
    header, numbers = confirmed_payload(result)
    json.dumps(header, allow_nan=False)
    found, shown = arrays(header, numbers), header["map"]
    x, y = (np.linspace(shown["low"][k], shown["high"][k], shown["shape"][k]) for k in (0, 1))
    i, j = len(x) // 3, len(y) // 2
    exact = result.field.surface_potential(np.array([[x[i], y[j]]]))[0]
    rise = np.abs(result.operating.voltage).max()
    assert found["potential"][i, j] == pytest.approx(abs(exact), abs=0.01 * rise)
    assert header["bands"]["resistance"] == result.accuracy.estimates[0]
    assert header["verdict"]["passes"] == result.verdict.passes
    names = [item.name for item in result.verdict.judgements]
    assert [item["name"] for item in header["verdict"]["outcomes"]] == names


def test_the_page_is_one_text_with_one_script_of_its_own():
    page = live_page(socket_path='/p/"<x>/live', nonce="abc")
    scripts = re.findall(r"<script[^>]*>", page)
    assert scripts == [
        '<script type="application/json" id="report-data" nonce="abc">',
        '<script nonce="abc">',
    ]
    data = re.search(r'id="report-data" nonce="abc">(.*?)</script>', page, re.DOTALL)
    assert json.loads(data.group(1))["socket"] == '/p/"<x>/live'
    assert "%%" not in page
    assert not re.search(r"\son\w+=|\sstyle=|https?://(?!www\.w3\.org)", page)


def test_bodies_in_the_soil_are_sent_for_plan_and_section():
    text = _case.replace(
        "electrodes:",
        """\
  bodies:
    - {name: rock, kind: beyond, line: [[2 m, 0 m], [2 m, 1 m]], side: right, top: 1 m,
       bottomless: true, resistivity: 2 kohm*m}
    - {name: boulder, kind: ball, centre: [-1 m, 2 m], radius: 0.5 m, depth: 0.8 m,
       resistivity: 5 kohm*m}
electrodes:""",
        1,
    )
    payload = case_payload(load_case_text(text))
    json.dumps(payload, allow_nan=False)
    rock, boulder = payload["bodies"]
    x1 = payload["area"][2]
    assert rock["name"] == "rock"
    assert "2" in rock["of"]
    assert np.min(np.array(rock["outline"])[:, 0]) == pytest.approx(2)
    west, east = rock["side"][:2]
    assert west == pytest.approx((2, 1))
    assert east == pytest.approx((x1, 1))
    assert [depth for _, depth in rock["side"][2:]] == [None, None]
    side = np.array(boulder["side"], dtype=float)
    assert np.hypot(side[:, 0] + 1, side[:, 1] - 0.8) == pytest.approx(0.5)
    assert len(side) > 20
