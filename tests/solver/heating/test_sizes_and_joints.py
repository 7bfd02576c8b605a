"""Sizes of the trade, least sections, limits of joints."""

import math

import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.errors import CaseError
from ohmscape.solver.heating import (
    JOINTS,
    joint_limit,
    least_section,
    material,
    next_sizes,
    own_limit,
    wire_gauge_diameter,
)
from ohmscape.solver.heating.sizes import KCMIL

COPPER = material("annealed copper")
ZINC = material("zinc-coated steel rod")


def test_areas_of_the_wire_gauge():
    # ASTM B258 (from memory): mm² of 4/0, 2/0, 1, 2, 8 and 14 AWG; a kcmil is 0.5067 mm².
    known = {-3: 107.219, -1: 67.431, 1: 42.408, 2: 33.631, 8: 8.366, 14: 2.081}
    for number, area in known.items():
        circle = math.pi / 4 * wire_gauge_diameter(number) ** 2
        assert_allclose(circle, 1e-6 * area, rtol=1e-4)
    assert_allclose(KCMIL, 0.506707e-6, rtol=1e-6)


@pytest.mark.parametrize(
    ("millimetres", "sizes"),
    [
        (0.1, ("1.5 mm²", "14 AWG")),
        (17.24, ("25 mm²", "4 AWG")),
        (50.0, ("50 mm²", "1/0 AWG")),  # what is needed is made
        (50.1, ("70 mm²", "1/0 AWG")),
        (107.3, ("120 mm²", "250 kcmil")),
        (998.0, ("1000 mm²", "2000 kcmil")),
        (1010.0, ("1200 mm²", "2000 kcmil")),
    ],
)
def test_the_next_size_up_is_the_smallest_that_holds(millimetres, sizes):
    assert next_sizes(1e-6 * millimetres) == sizes


def test_more_than_the_largest_has_no_size():
    assert next_sizes(1100e-6) is None


def test_limits_by_the_kind_of_joint():
    limits = {kind: joint_limit(kind, material=COPPER).temperature for kind in JOINTS}
    assert limits == {
        "fusing": 1083.0,
        "brazed": 450.0,
        "welded": 450.0,
        "bolted": 250.0,
        "pressed": 250.0,
    }
    # Zinc melts before a weld does.
    found = joint_limit("welded", material=ZINC)
    assert (found.words, found.temperature) == ("fusing", 419.0)


@pytest.mark.parametrize("given", [40.0, 39.0, 1084.0])
def test_a_limit_below_ambient_or_beyond_melting_is_refused(given):
    with pytest.raises(CaseError, match=r"above the ambient 40 °C and at most the 1083 °C"):
        own_limit(given, material=COPPER, ambient=40.0)
    assert own_limit(300.0, material=COPPER, ambient=40.0).temperature == 300.0


@pytest.mark.parametrize(
    ("use", "name", "millimetres"),
    [
        ("lead", "hard-drawn copper", 16.0),
        ("lead", "aluminium 6201", 35.0),
        ("lead", "zinc-coated steel rod", 50.0),
        ("wire", "annealed copper", 25.0),
        ("rod", "copper-clad steel rod 20 %", 158.4),  # of 14.2 mm
        ("rod", "zinc-coated steel rod", 201.1),  # of 16 mm
    ],
)
def test_least_sections_for_strength(use, name, millimetres):
    # EN 50522, 5.2 and annex C (from memory).
    area, words = least_section(use, material=material(name))
    assert_allclose(area, 1e-6 * millimetres, rtol=1e-3)
    assert "EN 50522" in words


def test_where_no_standard_is_known_nothing_is_asked():
    assert least_section("rod", material=material("stainless steel 304")) is None
