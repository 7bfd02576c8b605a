"""Places of the potential probe against closed forms of small electrodes in even soil."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.earth_tests import (
    SHUNT,
    Leads,
    Pin,
    fall_of_potential,
    golden,
    probe_places,
    source_resistance,
    steadiest,
    with_pin,
)
from ohmscape.solver.errors import CaseError
from ohmscape.solver.model import Conductors, Soil
from ohmscape.solver.soil_survey.spacings import survey_spacings
from ohmscape.solver.thin_wire import second_opinion

STUB = Conductors.bare([0.0, 0.0, 0.0], end=[0.0, 0.0, -0.2], radius=0.01)
FAR, RHO = 80.0, 130.0


def places_in(*soils, metal=STUB, longest=FAR, distance=FAR):
    leads = Leads((0.0, 0.0), 0.3, distance)
    pin = Pin(leads.current_place, 0.2, 0.01)
    solved = [second_opinion(with_pin(metal, pin, name="probe"), soil=soil) for soil in soils]

    def curves(each, distances):
        return [
            fall_of_potential(
                soil, electrode="group 0", probe="probe", leads=each, distance=distances
            )
            for soil in solved
        ]

    return probe_places(curves, leads=leads, longest=longest)


def by_points(distance, *, in_line):
    """Reading less the truth of point electrodes in even soil: images, superposed."""
    to_probe = FAR - distance if in_line else np.hypot(FAR, distance)
    return RHO / (2 * np.pi) * (1 / to_probe - 1 / FAR - 1 / distance)


def test_readings_and_factors_are_those_of_points():
    found = places_in(Soil((RHO,)))
    assert {one.leads.in_line for one in found} == {True, False}
    for one in found:
        off = by_points(one.distance, in_line=one.leads.in_line)
        # A stub of 0.2 m seen from 40 m: its size enters squared, 6e-6, on 0.3 of 500 ohm.
        assert_allclose(one.reading - one.true, [off], atol=2e-3)
        assert_allclose(one.factor, one.true / (one.true + off), rtol=1e-5)


def test_the_golden_section_is_said_once_where_it_reads_true():
    found = [one for one in places_in(Soil((RHO,))) if one.leads.in_line]
    assert sum("true as" in one.why for one in found) == 0  # 61.8 % is that place
    assert any(one.distance == pytest.approx(golden * FAR) for one in found)
    assert [one.distance for one in found] == sorted(one.distance for one in found)


def test_no_place_across_reads_true_in_even_soil_and_the_cable_ends_it():
    across = [one for one in places_in(Soil((RHO,)), longest=60.0) if not one.leads.in_line]
    assert [one.why for one in across] == ["as far as the cable goes"]
    # The last of the places of the curve, which are half a metre apart here.
    assert across[0].distance == pytest.approx(60.0, abs=0.5)
    assert across[0].place == pytest.approx(
        (-across[0].distance * np.sin(0.3), across[0].distance * np.cos(0.3))
    )


def test_soils_that_differ_by_a_factor_alone_share_every_factor():
    for one in places_in(Soil((RHO,)), Soil((3.7 * RHO,))):
        assert_allclose(one.factor[1], one.factor[0], rtol=1e-6)
        # Nothing but a step of the probe, and a tenth of the correction.
        assert one.doubt == pytest.approx(one.moved + 0.1 * abs(one.factor[0] - 1), abs=1e-6)


def test_where_factors_differ_least_they_do():
    rod = Conductors.bare([0.0, 0.0, 0.0], end=[0.0, 0.0, -3.0], radius=0.008)
    layers = Soil((200.0, 40.0), (2.0,)), Soil((200.0, 700.0), (5.0,))
    found = places_in(*layers, metal=rod, distance=25.0, longest=25.0)
    inner = [one for one in found if one.leads.in_line]
    spread = [float(np.ptp(one.factor) / one.factor[0]) for one in inner]
    least = next(k for k, one in enumerate(inner) if "least" in one.why)
    # On a raster of 1/241 of the lead.
    assert spread[least] <= min(spread) + 1e-3
    assert max(spread) > 3 * spread[least]
    chosen = steadiest(found)
    assert chosen.doubt == min(one.doubt for one in found)


def test_with_one_soil_the_place_that_needs_least_correction_is_chosen():
    """In even soil that is 61.8 % of the lead, whatever is flat elsewhere."""
    found = places_in(Soil((RHO,)))
    assert steadiest(found).distance == pytest.approx(golden * FAR)


def test_a_probe_off_its_place_counts():
    """On the flat of the curve a step changes less than near the probes: by points."""
    found = [one for one in places_in(Soil((RHO,))) if one.leads.in_line]
    for one in found:
        moved = [by_points(one.distance + d, in_line=True) for d in (-0.5, 0.5)]
        here = by_points(one.distance, in_line=True)
        expected = max(abs(np.array(moved) - here)) / one.reading[0]
        assert one.moved == pytest.approx(expected, rel=0.01)


@pytest.mark.parametrize("behind", [12.0, 250.0, 4700.0])
def test_what_stands_behind_a_voltage_divides_it(behind):
    loaded = 3.7 * SHUNT / (SHUNT + behind)
    assert source_resistance(3.7, loaded=loaded) == pytest.approx(behind)


@pytest.mark.parametrize(("opened", "loaded"), [(0.0, 0.0), (2.0, 0.0), (2.0, 2.1)])
def test_readings_without_a_source_are_refused(opened, loaded):
    with pytest.raises(CaseError, match="above"):
        source_resistance(opened, loaded=loaded)


@pytest.mark.parametrize("unit", [1.0, 0.3048])
@pytest.mark.parametrize("extent", [0.5, 7.3, 64.0, 900.0])
def test_spacings_go_beyond_the_electrode_without_a_gap(extent, unit):
    found = np.array(survey_spacings(extent, unit=unit))
    assert found[-1] >= extent
    assert len(found) >= 8
    assert len(found) == 8 or found[-2] < extent
    assert found[0] == pytest.approx(0.5, abs=0.15)
    assert (found[1:] / found[:-1] < 1.7).all()
    rounded = np.round(found / unit, 1)
    assert_allclose(found / unit, rounded, rtol=1e-4)
