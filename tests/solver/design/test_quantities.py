"""Bills of quantities against sums by hand."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.designs import bill_of, design_case, quantities_of
from ohmscape.cases.loading import load_case_text
from ohmscape.solver.design import PriceList, Quantities, bill, polygon_area
from ohmscape.solver.errors import CaseError

CASE = """\
ohmscape: 1
title: A yard
soil: {layers: [{resistivity: 310 ohm*m}]}
electrodes:
  - name: yard
    drive: {current: 90 A}
    parts:
      - {kind: grid, name: grid, corner: [0 m, 0 m], size: [9 m, 6 m], meshes: [3, 2],
         depth: 0.5 m, stranded: {cross_section: 50 mm^2, overall_diameter: 9 mm}}
      - {kind: rods, name: rods, along: {part: grid, count: 4}, length: 2 m, diameter: 16 mm}
      - {kind: conductor, name: lead, points: [[0 m, 0 m], [-3 m, -4 m]], depth: 0.5 m,
         strip: [30 mm, 3 mm]}
safety:
  duration: 0.4 s
  limits: [{name: adults, ieee_80: {body: 70 kg}}]
  surface:
    - name: rock
      polygon: [[0 m, 0 m], [9 m, 0 m], [9 m, 6 m], [0 m, 6 m]]
      resistivity: 3000 ohm*m
      thickness: 0.1 m
  exposures: [{name: in the yard, touch: yard, limit: adults}]
design:
  choices:
    - {name: rod length, set: [electrodes, yard, parts, rods, length], values: [2 m, 3 m]}
    - name: fence
      options:
        - {name: steel}
        - {name: timber, price: 800}
  prices:
    currency: EUR
    conductors: [{section: 50 mm^2, price: 900, per: 100 m}, {section: 90 mm^2,
        price: 4, per: 1 m}]
    rods: {each: 30, driven: 10, per: 1 m}
    joint: 15
    surface: {price: 60, per: 1 m^3}
    fixed: 500
"""


def test_metres_rods_joints_and_rock_are_counted():
    found = quantities_of(load_case_text(CASE))
    # Three lines of 9 m and four of 6 m; a strip of 30 mm by 3 mm, 5 m long.
    assert_allclose(found.conductors, [(50e-6, 51.0), (90e-6, 5.0)], rtol=1e-9)
    assert (found.rods, found.driven) == (4, 8.0)
    # Twelve nodes; two of the rods stand at nodes, as the strip does, and two between them.
    assert found.joints == 14
    assert_allclose(found.surface, 5.4)
    assert_allclose(found.metal, 64.0)


def test_a_bill_adds_up():
    case = load_case_text(CASE)
    lines = bill_of(case, design_case(case, (1, 1)), (1, 1))
    assert {line.what: line.price for line in lines if line.what != "conductor"} == (
        pytest.approx(
            {
                "rods": 120.0,
                "driven": 120.0,
                "joints": 210.0,
                "surface": 324.0,
                "fence: timber": 800.0,
                "fixed": 500.0,
            }
        )
    )
    assert_allclose([x.price for x in lines if x.what == "conductor"], [459.0, 20.0])


def test_without_prices_a_bill_lists_amounts():
    taken = Quantities(((50e-6, 120.0),), rods=0, driven=0.0, joints=6, surface=0.0)
    lines = bill(taken)
    assert [(line.what, line.amount, line.price) for line in lines] == [
        ("conductor", 120.0, None),
        ("joints", 6, None),
    ]


def test_a_gauge_and_a_rounded_area_are_one_section():
    prices = PriceList("USD", ((67.4e-6, 7.0),))
    assert prices.of_section(np.pi / 4 * 9.266e-3**2) == 7.0  # 2/0 AWG, solid


def test_a_section_without_a_price_is_refused_at_the_prices():
    text = CASE.replace("{section: 90 mm^2", "{section: 95 mm^2")
    with pytest.raises(CaseError, match=r"text:\d+: design.prices.conductors: no price for"):
        load_case_text(text)


def test_areas_do_not_depend_on_the_way_round():
    ell = np.array([[0, 0], [6, 0], [6, 2], [3, 2], [3, 5], [0, 5]], dtype=float)
    assert polygon_area(ell) == polygon_area(ell[::-1]) == 21.0
