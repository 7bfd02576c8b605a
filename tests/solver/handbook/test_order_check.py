"""Handbook formulas are set beside the field only for layouts they were made for."""

from dataclasses import replace

import field_layouts as lay
import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.drives import OperatingPoint
from ohmscape.solver.handbook.order_check import order_checks
from ohmscape.solver.model import Soil
from ohmscape.solver.patches import bare_plates, rectangle

UNIFORM = Soil((100.0,))
LAYERED = Soil((100.0, 500.0), (5.0,))
RING = lay.ring(diameter=10.0, radius=0.005, depth=0.75)
ROD = lay.rod(length=3.0, radius=0.008)
WIRE = lay.wire(length=20.0, radius=0.005, depth=0.6)
GRID = lay.grid(sides=(70.0, 70.0), lines=(11, 11), radius=0.005, depth=0.5)


def _checks(conductors, *, soil=UNIFORM, bonded_set=None, contact=()):
    groups = len(conductors.group_names)
    sets = np.arange(groups) if bonded_set is None else np.array(bonded_set)
    one = np.ones(groups)
    resistance = np.diag(7.0 + np.arange(sets.max() + 1))
    operating = OperatingPoint(sets, one, one, resistance)
    return order_checks(conductors, soil=soil, operating=operating, contact_resistance=contact)


@pytest.mark.parametrize(
    ("conductors", "soil", "formula", "value"),
    [
        # Values worked out independently, as in the tests of the formulas themselves.
        (ROD, UNIFORM, "driven rod", 33.4927),
        (ROD, LAYERED, "rod in the upper of two layers", 37.064),
        (WIRE, UNIFORM, "buried horizontal wire", 8.3977),
        (RING, UNIFORM, "ring of wire", 6.2164),
    ],
    ids=["rod", "rod in two layers", "wire", "ring"],
)
def test_the_fitting_formula_is_chosen(conductors, soil, formula, value):
    (check,) = _checks(conductors, soil=soil)
    assert (check.electrode, check.formula) == ("group 0", formula)
    assert_allclose(check.formula_resistance, value, rtol=2e-4)
    assert check.field_resistance == 7.0
    assert "19" in check.source  # says the year


def test_a_grid_has_two_formulas():
    first, second = _checks(GRID, soil=Soil((400.0,)))
    assert (first.formula, second.formula) == ("grid (Laurent, Niemann)", "grid (Sverak)")
    # IEEE Std 80-2000 B.1, recomputed from the formulas.
    assert_allclose(first.formula_resistance, 2.7918, rtol=1e-4)
    assert_allclose(second.formula_resistance, 2.7757, rtol=1e-4)


def test_rods_below_a_grid_add_to_its_length():
    corners = lay.square_places(4, spacing=70.0)
    with_rods = lay.together(GRID, lay.rods(corners, length=37.5, radius=0.008, top=0.5))
    first, second = _checks(with_rods, soil=Soil((400.0,)))
    # As the 20 rods of 7.5 m of B.2: 150 m in all.
    assert_allclose(first.formula_resistance, 2.7688, rtol=1e-4)
    assert_allclose(second.formula_resistance, 2.7526, rtol=1e-4)


@pytest.mark.parametrize(
    ("conductors", "soil"),
    [
        (lay.star(arms=3, arm=10.0, radius=0.005, depth=0.6), UNIFORM),
        (lay.rod_pair(length=3.0, radius=0.008, spacing=6.0), UNIFORM),
        (lay.rod(length=6.0, radius=0.008), LAYERED),
        (lay.rods([0.0, 0.0], length=3.0, radius=0.008, top=0.6), UNIFORM),
        (WIRE, LAYERED),
        (RING, LAYERED),
        (GRID, LAYERED),
        (replace(ROD, contact=np.array([0.1])), UNIFORM),
        (
            lay.encased_rod(length=3.0, radius=0.008, shell_radius=0.1, shell_resistivity=9.0),
            UNIFORM,
        ),
        (lay.wire(length=1.0, radius=0.005, depth=60.0), UNIFORM),
    ],
    ids=[
        "star",
        "two rods",
        "rod through the interface",
        "buried rod",
        "wire in layers",
        "ring in layers",
        "grid in layers",
        "contact film",
        "backfill",
        "wire the formula refuses",
    ],
)
def test_no_formula_is_shown_where_none_was_made(conductors, soil):
    assert _checks(conductors, soil=soil) == ()


def test_an_open_polygon_is_no_ring():
    from ohmscape.solver.model import Conductors

    part = Conductors.bare(RING.start[:-5], end=RING.end[:-5], radius=0.005)
    assert _checks(part) == ()


def test_bonded_electrodes_have_no_formula_of_their_own():
    pair = lay.in_groups(ROD, lay.moved(WIRE, shift=(30.0, 0.0)))
    assert _checks(pair, bonded_set=[0, 0]) == ()
    first, second = _checks(pair)
    assert (first.electrode, first.formula) == ("group 0", "driven rod")
    assert (second.electrode, second.formula) == ("group 1", "buried horizontal wire")
    assert (first.field_resistance, second.field_resistance) == (7.0, 8.0)


def test_formulas_know_of_no_contact_in_series():
    pair = lay.in_groups(ROD, lay.moved(WIRE, shift=(30.0, 0.0)))
    assert [check.electrode for check in _checks(pair)] == ["group 0", "group 1"]
    assert [check.electrode for check in _checks(pair, contact=(3.0, 0.0))] == ["group 1"]


def _sheet(side, *, tilt, depth):
    slope = np.radians(tilt)
    across = side * np.array([0.0, np.cos(slope), -np.sin(slope)])
    centre = np.array([0.0, 0.0, -depth])
    return rectangle(centre, along=np.array([side, 0.0, 0.0]), across=across)


@pytest.mark.parametrize(
    ("patches", "formula", "value"),
    [
        # Dwight's series and the disc on the surface, by hand: a = sqrt(A / pi).
        (_sheet(1.0, tilt=0, depth=1.5), "level round plate of its area", 24.7563),
        (_sheet(1.0, tilt=90, depth=1.5), "upright round plate of its area", 24.8366),
        (_sheet(1.0, tilt=0, depth=0.0), "plate on the surface", 44.311),
    ],
)
def test_a_plate_has_the_formula_of_a_round_one(patches, formula, value):
    (check,) = _checks(bare_plates([patches]))
    assert check.formula == formula
    assert_allclose(check.formula_resistance, value, rtol=2e-4)


def test_no_formula_for_tilted_long_or_several_plates():
    assert not _checks(bare_plates([_sheet(1.0, tilt=40, depth=1.5)]))
    long = rectangle(
        np.array([0.0, 0.0, -1.5]), along=np.array([3.0, 0, 0]), across=np.array([0, 1.0, 0])
    )
    assert not _checks(bare_plates([long]))
    assert not _checks(
        bare_plates([_sheet(1.0, tilt=0, depth=1.5), _sheet(1.0, tilt=0, depth=2.5)])
    )
    assert not _checks(bare_plates([_sheet(1.0, tilt=0, depth=1.5)]), soil=LAYERED)
