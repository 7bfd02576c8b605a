"""Variants in other variants, and prices that make options of them."""

import re

import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.designs import design_case
from ohmscape.cases.loading import load_case_text
from ohmscape.solver.errors import BudgetError, CaseError

CASE = """\
ohmscape: 1
title: A pillar
soil: {layers: [{resistivity: 90 ohm*m, thickness: 1.2 m}, {resistivity: 60 ohm*m}]}
electrodes:
  - name: pillar
    drive: {current: 26 A}
    parts:
      - {kind: rod, name: rod, at: [0 m, 0 m], top_depth: 0.3 m, length: 2.4 m, diameter: 16 mm}
safety:
  duration: 0.4 s
  limits: [{name: public, ieee_80: {body: 50 kg}}]
  exposures: [{name: walking by, step: anywhere, limit: public}]
variants:
  - name: dry
    soil: {layers: [{resistivity: 240 ohm*m, thickness: 1.2 m}, {resistivity: 75 ohm*m}]}
"""
WIRE = """\
  - name: wire
    also_in: [dry]
    electrodes:
      - name: pillar
        parts:
          - {kind: conductor, name: wire, points: [[0 m, 0 m, 0.5 m], [4 m, 0 m, 0.5 m]],
             stranded: {cross_section: 50 mm^2}}
"""
GRAVEL = """\
  - name: gravel
    also_in: [dry]
    price: 60
    safety:
      surface:
        - {name: gravel, polygon: [[-1 m, -1 m], [1 m, -1 m], [1 m, 2 m], [-1 m, 2 m]],
           resistivity: 2000 ohm*m, thickness: 0.1 m}
"""
PRICES = """\
prices:
  currency: EUR
  conductors: [{section: 50 mm^2, price: 160, per: 10 m}]
  rods: {each: 40, driven: 30, per: 1 m}
  joint: 22
  surface: {price: 110, per: 1 m^3}
"""


def refusal(text):
    with pytest.raises(CaseError) as raised:
        load_case_text(text)
    return [str(problem) for problem in raised.value.problems]


def test_a_variant_in_another_has_what_differs_in_both():
    case = load_case_text(CASE + WIRE + GRAVEL)
    names = [item.variant for item in case.variants]
    assert names == ["dry", "wire", "wire, dry", "gravel", "gravel, dry"]
    dry, wire, wire_dry, _, gravel_dry = case.variants
    assert wire_dry.soil == dry.soil != wire.soil == case.soil
    assert [len(item.parts) for item in (dry, wire, wire_dry)] == [1, 2, 2]
    assert wire_dry.changes == ("electrodes", "soil")
    assert gravel_dry.soil == dry.soil
    assert [layer.name for layer in gravel_dry.safety.layers] == ["gravel"]


@pytest.mark.parametrize(
    ("given", "message"),
    [
        ("[wet]", r"also_in\[1\]: no variant 'wet'; there are 'dry'"),
        ("[wire]", r"also_in\[1\]: is the variant itself"),
        ("[dry, dry]", r"also_in\[2\]: makes a variant 'wire, dry', which there is already"),
    ],
)
def test_what_a_variant_cannot_be_in_is_refused_at_its_line(given, message):
    text = CASE + WIRE.replace("[dry]", given)
    (found,) = refusal(text)
    assert re.search(message, found), found
    line = next(k for k, line in enumerate(text.splitlines(), 1) if "also_in" in line)
    assert f":{line}:" in found, found


def test_what_is_wrong_with_an_option_is_said_once_for_all_its_seasons():
    (found,) = refusal(CASE + WIRE.replace("cross_section: 50 mm^2", "cross_section: 50 m"))
    assert "cross_section" in found
    # Found only when the metal is built: below the surface only.
    found = refusal(CASE + WIRE.replace("0.5 m], [4 m", "0 m], [0 m"))
    assert len(found) == 1


def test_more_conditions_than_a_run_may_have_are_refused():
    seasons = "".join(
        f"  - {{name: s{k}, soil: {{layers: [{{resistivity: {100 + k} ohm*m}}]}}}}\n"
        for k in range(12)
    )
    names = ", ".join(f"s{k}" for k in range(12))
    options = "".join(
        WIRE.replace("name: wire\n    also", f"name: o{k}\n    also").replace(
            "[dry]", f"[{names}]"
        )
        for k in range(5)
    )
    with pytest.raises(BudgetError, match=r"variants: with 'also_in' they make 78; 59"):
        load_case_text(CASE + seasons + options)


def test_each_option_has_the_price_of_all_it_takes():
    case = load_case_text(CASE + WIRE + GRAVEL + PRICES)
    found = {
        (each.option.name, each.option.condition): each.option.price
        for each in (case, *case.variants)
    }
    rod = 40 + 2.4 * 30
    wire = rod + 4 * 16 + 22  # a joint where the wire meets the rod
    gravel = rod + 2 * 3 * 0.1 * 110 + 60
    expected = {"": rod, "wire": wire, "gravel": gravel}
    assert set(found) == {(name, season) for name in expected for season in ("", "dry")}
    for (name, _), price in found.items():
        assert_allclose(price, expected[name])


def test_without_prices_there_are_no_options():
    case = load_case_text(CASE + WIRE)
    assert {each.option for each in (case, *case.variants)} == {None}


def test_an_option_that_is_a_season_too_is_refused_where_options_have_prices():
    soil = "    soil: {layers: [{resistivity: 500 ohm*m}]}\n"
    text = CASE + WIRE + soil
    assert load_case_text(text).variants[1].soil.resistivity == (500.0,)
    (found,) = refusal(text + PRICES)
    assert "variants[2] 'wire'.soil" in found
    assert "also_in" in found


def test_a_section_without_a_price_is_refused_once():
    (found,) = refusal(CASE + WIRE + PRICES.replace("section: 50", "section: 70"))
    assert "prices.conductors: no price for conductor of 50 mm²" in found


DESIGN = """\
design:
  choices:
    - {name: length, set: [electrodes, pillar, parts, rod, length], values: [2.4 m, 3 m]}
"""


def test_designs_are_priced_by_the_prices_of_the_case():
    case = load_case_text(CASE + PRICES + DESIGN)
    assert case.design.prices.rod == 40.0
    assert load_case_text(CASE + DESIGN).design.prices is None
    own = "  prices: {currency: EUR, rods: {each: 5}}\n"
    assert load_case_text(CASE + DESIGN + own).design.prices.rod == 5.0
    # Variants in others are conditions of a design like any.
    design = design_case(load_case_text(CASE + WIRE + PRICES + DESIGN), (1,))
    assert [item.variant for item in design.variants] == ["dry", "wire", "wire, dry"]
    assert [item.parts[0].rod_length for item in design.variants] == [3.0] * 3
    (found,) = refusal(CASE + PRICES + DESIGN + own)
    assert "design.prices: stands beside the block 'prices'" in found
