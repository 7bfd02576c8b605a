"""Contact resistances over a solved soil: closed forms, circuits of resistors, every method."""

import field_layouts as lay
import numpy as np
import pytest
from half_sphere import Hemisphere
from measuring import solved
from numpy.testing import assert_allclose

from ohmscape.solver.axisymmetric import HalfSpheroid, solve_axisymmetric, solve_rod
from ohmscape.solver.circuit.model import Path
from ohmscape.solver.contact import behind_contact
from ohmscape.solver.drives import Drive, operating_point
from ohmscape.solver.earth_tests import clamp_reading
from ohmscape.solver.errors import CaseError
from ohmscape.solver.exposure.places import TouchableMetal
from ohmscape.solver.exposure.surface import Area, surface_map
from ohmscape.solver.exposure.worst import worst_step, worst_touch
from ohmscape.solver.model import Soil
from ohmscape.solver.solved_soil import Field
from ohmscape.solver.thin_wire import agreement, second_opinion

LAYERED = Soil((210.0, 45.0), (0.8,))


def test_a_half_sphere_has_its_contact_in_series():
    # ρ / (2 π a) and φ = I ρ / (2 π r), by the definition of resistivity.
    radius, rho, ohms = 0.7, 130.0, 9.0
    soil = rho / (2 * np.pi * radius)
    found = behind_contact(Hemisphere(radius, Soil((rho,))), [ohms])
    assert_allclose(found.current_matrix, [[1 / (soil + ohms)]], rtol=1e-12)
    field = Field(found, np.array([400.0]))
    current = 400.0 / (soil + ohms)
    assert_allclose(field.element_current.sum(), current, rtol=1e-12)
    places = np.array([[0.9, 0.0], [0.0, 4.0]])
    exact = current * rho / (2 * np.pi) / np.array([0.9, 4.0])
    assert_allclose(field.surface_potential(places), exact, rtol=1e-12)
    # A foot on the metal in the middle; beside it, still over the sphere, on the face.
    assert field.surface_potential(np.array([[0.005, 0.0]]))[0] == 400.0
    assert_allclose(field.surface_potential(np.array([[0.3, 0.0]])), current * soil)


def test_an_even_film_is_that_resistance_in_series():
    """A half sphere leaks evenly, so a film of c ohm·m² is c / (2 π a²) in series."""
    radius, film, rho = 0.5, 2.3, 80.0
    body = HalfSpheroid(radius=radius, bottom_depth=radius)
    filmed = solve_axisymmetric(body, soil=Soil((rho,)), contact=film)
    series = behind_contact(Hemisphere(radius, Soil((rho,))), [film / (2 * np.pi * radius**2)])
    assert_allclose(filmed.resistance, 1 / series.current_matrix[0, 0], rtol=1e-3)
    beside = filmed.potential(0.8, current=1.0)
    field = Field(series, 1 / series.current_matrix[0])
    assert_allclose(field.surface_potential(np.array([[0.8, 0.0]])), beside, rtol=1e-3)


@pytest.fixture(scope="module")
def methods():
    rod = lay.rod(length=3.0, radius=0.008)
    soil = Soil((100.0,))
    return (solved(rod, soil=soil), second_opinion(rod, soil=soil), solve_rod(rod, soil=soil))


@pytest.mark.parametrize("ohms", [0.5, 12.0, 300.0])
def test_a_rod_behind_a_contact_is_exact_in_resistance_touch_and_step(methods, ohms):
    """33.1936 Ω, and per ampere 9.3991 and 6.2436 V at 1 and 2 m: boundary integral of the true
    face of the rod, computed independently, to 0.2 %."""
    head = TouchableMetal("head", 0, "points", np.array([[0.0, 0.0]]), 1.0)
    area = Area((-2.5, -2.5), (2.5, 2.5), 0.25)
    whole = 33.1936 + ohms
    for method in methods:
        behind = behind_contact(method, [ohms])
        assert_allclose(behind.current_matrix, [[1 / whole]], rtol=2e-3)
        field = Field(behind, np.array([whole]))  # one ampere
        places = np.array([[1.0, 0.0], [0.0, -2.0]])
        assert_allclose(field.surface_potential(places), [9.3991, 6.2436], rtol=4e-3)
        surface = surface_map(area, field=field, metals=[head], pace=1.0)
        touch = worst_touch(surface, index=0, metal=head, field=field, area=area)[0]
        step = worst_step(surface, field=field, area=area)[0]
        assert_allclose(touch.voltage, whole - 9.3991, rtol=2e-3)
        # The worst step is from the head, where a foot is on the metal.
        assert_allclose(step.voltage, touch.voltage, rtol=2e-3)
        assert min(map(np.hypot, *np.transpose([step.foot, step.other_foot]))) < 0.0081


def test_maps_do_not_join_a_head_to_soil_a_raster_away(methods):
    head = TouchableMetal("head", 0, "points", np.array([[0.0, 0.0]]), 1.0)
    field = Field(behind_contact(methods[0], [66.0]), np.array([100.0]))
    surface = surface_map(
        Area((-4.0, -4.0), (4.0, 4.0), 1.0), field=field, metals=[head], pace=1.0
    )
    gap = np.hypot(*surface.places.T)
    assert surface.touch[0][gap < 0.008] == pytest.approx(0.0)
    # Two thirds of the voltage are over the contact, right beside the metal.
    beside = (gap > 0.008) & (gap < 0.02)
    assert beside.sum() == 8
    assert (surface.touch[0][beside] > 66.0).all()


@pytest.fixture(scope="module")
def two():
    """A ring and a rod apart from it, in layers, as one group each."""
    metal = lay.in_groups(
        lay.ring(diameter=4.0, radius=0.005, depth=0.5, sides=24),
        lay.moved(lay.rod(length=2.4, radius=0.008), shift=(7.0, 1.0)),
    )
    return second_opinion(metal, soil=LAYERED)


def test_without_resistance_it_is_the_soil_itself(two):
    assert behind_contact(two, ()) is two
    assert behind_contact(two, (0.0, 0.0)) is two


def test_currents_between_electrodes_are_those_of_a_circuit_of_resistors(two):
    ohms = np.array([3.0, 17.0])
    behind = behind_contact(two, ohms)
    assert_allclose(
        np.linalg.inv(behind.current_matrix), two.resistance + np.diag(ohms), rtol=1e-10
    )
    assert_allclose(behind.current_matrix, behind.current_matrix.T, rtol=1e-12)
    member = np.eye(2)[two.wires.group]
    assert_allclose(behind.current @ member, behind.current_matrix, rtol=1e-10)


@pytest.mark.parametrize("bonds", [(), ((0, 1),)], ids=["apart", "bonded"])
def test_per_ampere_the_soil_only_knows_how_bonds_share_the_current(two, bonds):
    ohms = (3.0, 17.0)
    drives = (Drive("current", 10.0), Drive("floating"))
    places = np.array([[1.0, 2.0], [6.0, 1.5], [12.0, -4.0]])
    found = []
    for solution in (two, behind_contact(two, ohms)):
        point = operating_point(solution.current_matrix, drives=drives, bonds=bonds)
        field = Field(solution, point.voltage)
        found.append((point, field.surface_potential(places)))
    (before, bare), (after, behind) = found
    if not bonds:
        assert_allclose(behind, bare, rtol=1e-10)
        assert_allclose(after.voltage - before.voltage, [30.0, 0.0], atol=1e-9)
        return
    # Two branches of one circuit: the mesh of both, solved by hand.
    (a, m), (_, b) = two.resistance
    share = (b + ohms[1] - m) / (a + b + sum(ohms) - 2 * m)
    assert_allclose(after.current, [10 * share, 10 * (1 - share)], rtol=1e-10)
    assert after.current[1] < 0.8 * before.current[1]
    per_ampere = [
        two.potential(np.c_[places, np.zeros(3)], voltage=row) for row in two.resistance
    ]
    assert_allclose(behind, after.current @ per_ampere, rtol=1e-9)


def test_out_of_phase_the_parts_add(two):
    behind = behind_contact(two, (3.0, 17.0))
    voltage = np.array([40.0 - 7.0j, 11.0j])
    places = np.array([[0.4, 0.1, 0.0], [7.0, 1.0, 0.0], [2.0, -1.0, -0.4]])
    whole = behind.potential(places, voltage=voltage)
    parts = [behind.potential(places, voltage=part) for part in (voltage.real, voltage.imag)]
    assert_allclose(whole, parts[0] + 1j * parts[1], rtol=1e-12)
    assert whole[1] == voltage[1]  # on the head of the rod


def test_clamps_read_the_contact_too(two):
    path = Path("neutral", ("group 0", "remote earth"), 0.4 + 0j)
    readings = [
        clamp_reading(
            behind_contact(two, ohms).current_matrix,
            around="group 0",
            groups=["group 0", "group 1"],
            paths=[path],
        ).reading
        for ohms in ((0.0, 0.0), (6.0, 0.0))
    ]
    assert_allclose(readings[1] - readings[0], 6.0, rtol=1e-9)


def test_both_methods_have_the_same_contact(two):
    ohms, drives = (3.0, 17.0), (Drive("voltage", 230.0), Drive("floating"))
    behind = behind_contact(two, ohms)
    point = operating_point(behind.current_matrix, drives=drives)
    field = Field(behind, point.voltage)
    head = TouchableMetal("rod", 1, "points", np.array([[7.0, 1.0]]), 1.0)
    area = Area((-3.0, -3.0), (9.0, 3.0), 0.5)
    surface = surface_map(area, field=field, metals=[head], pace=1.0)
    worst = worst_touch(surface, index=0, metal=head, field=field, area=area)
    same = {"worst": worst, "metal_groups": {"rod": 1}, "opinion": two, "other": point}
    found = agreement(point, **same, contact_resistance=ohms)
    assert found.voltage_difference < 1e-12
    assert agreement(point, **same).voltage_difference > 0.001


@pytest.mark.parametrize("ohms", [(1.0,), (-1.0, 2.0), (np.nan, 0.0), (np.inf, 0.0)], ids=str)
def test_what_is_no_resistance_of_each_electrode_is_refused(two, ohms):
    with pytest.raises(CaseError, match="for 2 electrodes; give each one of zero or more"):
        behind_contact(two, ohms)
