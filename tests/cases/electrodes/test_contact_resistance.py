"""Contact resistance of an electrode in the case file: read, checked, changed by variants."""

import jsonschema
import pytest

from ohmscape.cases.loading import load_case_text
from ohmscape.cases.schema import case_file_schema
from ohmscape.jobs.understood import understood
from ohmscape.solver.errors import CaseError
from ohmscape.solver.model import same_metal

CASE = """\
ohmscape: 1
title: Two posts
soil: {layers: [{resistivity: 120 ohm*m}]}
electrodes:
  - name: post
    drive: {current: 5 A}
    contact_resistance: CONTACT
    parts:
      - {kind: rod, at: [0 m, 0 m], top_depth: 0 m, length: 2 m, diameter: 16 mm}
  - name: stay
    drive: {floating: true}
    parts:
      - {kind: rod, at: [6 m, 0 m], top_depth: 0 m, length: 1 m, diameter: 16 mm,
         contact_resistivity: 0.4 ohm*m^2}
"""


def case(contact="12 ohm", *lines):
    more = "".join(f"    {line}\n" for line in lines)
    text = CASE.replace("CONTACT", contact)
    return load_case_text(text + ("variants:\n  - name: other\n" + more if lines else ""))


def test_it_is_one_number_for_each_electrode():
    assert case("0.012 kohm").contact_resistance == (12.0, 0.0)


def test_metal_is_the_same_with_and_without_it():
    assert same_metal(case().conductors, case("0 ohm").conductors)


@pytest.mark.parametrize(
    ("given", "why"),
    [
        ("12", r"text:7: electrodes\[1\] 'post'.contact_resistance: 12 needs a unit"),
        (
            "12 ohm*m",
            r"text:7: electrodes\[1\] 'post'.contact_resistance: .*is not a unit of resist",
        ),
        (
            "-1 ohm",
            r"text:7: electrodes\[1\] 'post'.contact_resistance: '-1 ohm' is below the 0 ohm",
        ),
    ],
)
def test_what_is_no_resistance_is_refused_at_its_line(given, why):
    with pytest.raises(CaseError, match=why):
        case(given)


def test_a_film_beside_it_is_refused_at_its_line():
    filmed = CASE.replace("CONTACT", "3 ohm").replace(
        "length: 2 m,", "length: 2 m, contact_resistivity: 0.1 ohm*m^2,"
    )
    with pytest.raises(
        CaseError, match=r"text:7: .*'post'.contact_resistance: stands beside a film"
    ):
        load_case_text(filmed)
    assert load_case_text(filmed.replace("3 ohm", "0 ohm")).contact_resistance == (0.0, 0.0)


def test_a_variant_gives_another_one():
    found = case("12 ohm", "electrodes: [{name: post, contact_resistance: 2 ohm}]")
    (variant,) = found.variants
    assert (found.contact_resistance, variant.contact_resistance) == ((12.0, 0.0), (2.0, 0.0))


def test_a_variant_that_gives_one_beside_a_film_is_refused_at_its_own_line():
    lines = ("electrodes:", "  - name: stay", "    contact_resistance: 2 ohm")
    refused = r"text:19: .*'stay'.contact_resistance: stands beside a film"
    with pytest.raises(CaseError, match=refused):
        case("12 ohm", *lines)


def test_check_tells_it_and_what_a_variant_makes_of_it():
    text = understood(case("12 ohm", "electrodes: [{name: post, contact_resistance: 2 ohm}]"))
    told = (
        "post: given current, 5.00 A; contact 12.0 Ω in series, as of the day it was measured"
    )
    assert told in text
    assert "other: contact of post 2.00 Ω" in text
    assert "stay: floating, no net current\n" in text


def test_editors_know_it_in_the_case_and_in_variants():
    schema = case_file_schema()
    content = {
        "ohmscape": 1,
        "title": "t",
        "soil": {"layers": [{"resistivity": "9 ohm*m"}]},
        "electrodes": [
            {
                "name": "post",
                "drive": {"current": "5 A"},
                "contact_resistance": "12 ohm",
                "parts": [
                    {"kind": "rod", "at": ["0 m", "0 m"], "top_depth": "0 m", "length": "2 m",
                     "diameter": "16 mm"},
                ],
            }
        ],
        "variants": [
            {"name": "a", "electrodes": [{"name": "post", "contact_resistance": "1 ohm"}]}
        ],
    }  # fmt: skip
    jsonschema.validate(content, schema)
    content["electrodes"][0]["contact_resistance"] = 12
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(content, schema)
