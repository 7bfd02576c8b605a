"""Where current enters an electrode, what it is made of and how fast it turns, as cases say."""

import jsonschema
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.loading import load_case_text
from ohmscape.cases.schema import case_file_schema
from ohmscape.solver.errors import CaseError
from ohmscape.solver.metal import Feed, FeedPlace

CASE = """\
ohmscape: 1
title: A ring with a rod, and a post
soil: {layers: [{resistivity: 120 ohm*m}]}
electrodes:
  - name: ring earth
    drive: {current: 5 A}
    FED
    parts:
      - {kind: loop, name: square, points: [[0 m, 0 m], [6 m, 0 m], [6 m, 4 m], [0 m, 4 m]],
         depth: 0.5 m, diameter: 8 mm, material: annealed copper, temperature: 60 degC}
      - {kind: rod, name: deep rod, at: [6 m, 4 m], top_depth: 0.5 m, length: 3 m,
         diameter: 16 mm}
  - name: post
    drive: {floating: true}
    parts:
      - {kind: rod, name: post rod, at: [20 m, 0 m], top_depth: 0 m, length: 1 m,
         diameter: 16 mm}
"""


def case(fed="", more=""):
    return load_case_text(CASE.replace("FED", fed and f"fed_at: {fed}") + more)


def place_of(found):
    """Where a feed is. [m]"""
    feed = found.feeds[0].feed
    metal = found.conductors
    return metal.start[feed.piece] + feed.along * metal.direction[feed.piece]


def test_nobody_has_to_say():
    assert case().feeds == (None, None)


def test_a_part_is_named():
    found = case("deep rod")
    part = found.conductors.part_names.index("deep rod")
    assert found.feeds == (FeedPlace(part=part), None)


@pytest.mark.parametrize(
    ("given", "place"),
    [
        ("[2 m, 0 m]", (2, 0, -0.5)),
        ("[2 m, -30 cm]", (2, 0, -0.5)),
        # In plan a rod is one place: the lead comes to its head.
        ("[6 m, 4 m]", (6, 4, -0.5)),
        ("[6 m, 4 m, 2 m]", (6, 4, -2)),
    ],
)
def test_a_place_is_the_nearest_of_the_metal(given, place):
    assert_allclose(place_of(case(given)), place, atol=1e-9)


def test_a_place_is_on_the_metal_of_its_electrode():
    with pytest.raises(CaseError, match=r"fed_at: lies 14 m from the axis of any metal"):
        case("[20 m, 0 m]")


@pytest.mark.parametrize(
    ("given", "why"),
    [
        ("post rod", r"fed_at: 'post rod' .*part of this electrode.*'square'|fed_at.*square"),
        ("nothing", r"text:7: electrodes\[1\] 'ring earth'.fed_at.*nothing"),
        ("[2, 0 m]", r"fed_at.*needs a unit"),
        ("[2 m]", r"fed_at.*write a point as"),
    ],
)
def test_what_is_no_place_of_it_is_refused_at_its_line(given, why):
    with pytest.raises(CaseError, match=why):
        case(given)


def test_metal_has_its_material_and_temperature():
    square, rod, _ = case().parts
    assert (square.material, square.temperature) == ("annealed copper", 60.0)
    assert (rod.material, rod.temperature) == ("", 20.0)


def test_variants_may_be_fed_elsewhere():
    more = "variants:\n  - {name: other, electrodes: [{name: ring earth, fed_at: square}]}\n"
    found = case("deep rod", more)
    assert found.feeds[0] != found.variants[0].feeds[0]
    assert found.variants[0].feeds[0] == FeedPlace(part=0)


def test_the_frequency_is_that_of_the_system_where_no_circuit_says_it():
    assert case(more="system: {frequency: 0 Hz}\n").system.frequency == 0.0
    circuit = (
        "circuit: {frequency: 50 Hz, supply: {current: 5 A, to: ring earth},\n"
        "  all_current_in_soil: true}\n"
    )
    driven = CASE.replace("{current: 5 A}", "{circuit: true}", 1).replace("FED", "")
    assert load_case_text(driven + circuit + "system: {frequency: 50 Hz}\n").system
    with pytest.raises(CaseError, match=r"frequency 60 Hz is not that of the circuit, 50 Hz"):
        load_case_text(driven + circuit + "system: {frequency: 60 Hz}\n")


def test_own_metal_has_a_permeability():
    more = """\
heating:
  joint: welded
  ambient: 30 degC
  duration: 1 s
  materials:
    - {name: soft iron, source: data sheet, resistivity: 1.0e-7 ohm*m,
       temperature_coefficient: 0.005 K^-1, fusing: 1500 degC, heat_capacity: 3.5 J/cm^3/K,
       relative_permeability: 300}
"""
    (iron,) = case(more=more).own_materials
    assert iron.permeability == (300.0,) * 3


def test_the_schema_takes_both_ways():
    schema = case_file_schema()
    given = {
        "ohmscape": 1,
        "title": "x",
        "soil": {"layers": [{"resistivity": "10 ohm*m"}]},
        "electrodes": [
            {
                "name": "a",
                "drive": {"current": "1 A"},
                "fed_at": "rod",
                "parts": [
                    {
                        "kind": "rod",
                        "name": "rod",
                        "at": ["0 m", "0 m"],
                        "top_depth": "0 m",
                        "length": "1 m",
                        "diameter": "16 mm",
                    }
                ],
            }
        ],
    }
    jsonschema.validate(given, schema)
    given["electrodes"][0]["fed_at"] = ["0 m", "0 m"]
    jsonschema.validate(given, schema)
    given["electrodes"][0]["fed_at"] = 3
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(given, schema)


def test_a_feed_is_a_place_on_a_piece():
    found = case("[5 m, 4 m]").feeds[0].feed
    assert isinstance(found, Feed)
    assert 0 < found.along < case().conductors.length[found.piece]
