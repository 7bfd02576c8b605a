"""What a meter would show, held against exact values, laws and other methods."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.meshes import build_mesh, mesh_plan
from ohmscape.solver.errors import CaseError
from ohmscape.solver.field_readings import (
    End,
    FieldModel,
    Reading,
    Readings,
    State,
    field_model,
    point_to_point,
    predicted,
)
from ohmscape.solver.field_readings.transfer import Transfer
from ohmscape.solver.model import Conductors, Soil
from ohmscape.solver.thin_wire import second_opinion

ROD = Conductors.bare([[0, 0, 0]], end=[[0, 0, -3.0]], radius=0.008)
UNIFORM = State(Soil((100.0,)), (0.0,))
LAYERED = State(Soil((430.0, 70.0), (0.9,)), (0.0,))
METAL = End(0)


def pin(x, y=0.0, z=0.0, **more):
    return End(place=(x, y, z), **more)


def shown(*items, state=UNIFORM, conductors=ROD, **more):
    readings = Readings(items)
    model = field_model(conductors, points=readings.points, **more)
    return predicted(readings, model=model, state=state)


def reading(plus, minus, **more):
    return Reading(**{
        "plus": plus, "minus": minus, "current_from": 0, "value": 1.0, "deviation": 1.0, **more,
    })  # fmt: skip


def test_profile_of_a_rod_is_the_exact_one():
    # Boundary integral of the true metal surface, computed independently: 0.2 %.
    places = [0.25, 0.5, 1.0, 2.0, 3.0, 5.0, 10.0, 20.0]
    exact = [16.1739, 12.7603, 9.3991, 6.2436, 4.6324, 3.0048, 1.5667, 0.7926]
    found = shown(*(reading(pin(x), End()) for x in places))
    assert_allclose(found, exact, rtol=0.002)


def test_voltages_in_the_soil_do_not_know_of_the_contact():
    items = [reading(pin(0.5), pin(2.0)), reading(pin(1.3), End()), reading(METAL, pin(1.3))]
    without = shown(*items)
    with_it = shown(*items, state=replace(UNIFORM, contact=(12.0,)))
    assert_allclose(with_it - without, [0, 0, 12.0], atol=1e-12)


def test_share_of_the_source_is_volts_per_ampere_over_the_loop():
    state = replace(UNIFORM, contact=(5.0,))
    ohms, share, loop = shown(
        reading(METAL, pin(0.7)),
        reading(METAL, pin(0.7), per="source", return_resistance=2.3),
        reading(METAL, End(), loop=True, return_resistance=2.3),
        state=state,
    )
    # 33.1936 by the exact boundary integral, 0.1 %.
    assert_allclose(loop, 33.1936 + 5.0 + 2.3, rtol=1e-3)
    assert_allclose(share, ohms / loop, rtol=1e-12)


def test_pins_and_meter_divide_the_voltage():
    kilo = {"meter_resistance": 100e3, "pin_resistance": 5e3}
    one, two, plain = shown(
        reading(METAL, pin(0.7), **kilo), reading(pin(0.7), pin(3.1), **kilo),
        reading(pin(0.7), pin(3.1)),
    )  # fmt: skip
    (free,) = shown(reading(METAL, pin(0.7)))
    assert_allclose(one, free / 1.05, rtol=1e-12)
    assert_allclose(two, plain / 1.10, rtol=1e-12)
    (more,) = shown(reading(METAL, pin(0.7), **kilo), state=replace(UNIFORM, divider=0.02))
    assert_allclose(more, free / 1.07, rtol=1e-12)


def test_a_reference_and_a_wrong_current_shift_and_scale():
    far = pin(25.0, reference=True)
    (true,) = shown(reading(pin(1.0), far))
    (shifted,) = shown(reading(pin(1.0), far), state=replace(UNIFORM, reference=0.3))
    assert_allclose(shifted, true - 0.3, rtol=1e-12)
    (scaled,) = shown(reading(pin(1.0), far), state=replace(UNIFORM, current=1.25))
    assert_allclose(scaled, 1.25 * true, rtol=1e-12)


def test_a_pin_at_a_place_is_no_remote_earth():
    near, far = shown(reading(pin(1.0), pin(7.6)), reading(pin(1.0), End()))
    # The pin at 25 ft sits at rho / 2 pi r of a point, a little less beside a rod.
    assert_allclose(far - near, 100 / (2 * np.pi * 7.6), rtol=0.03)


@pytest.mark.parametrize("distance", [0.3, 2.0, 11.0])
def test_point_to_point_is_the_sum_of_images(distance):
    # Maxwell's images of a point on two layers: rho/2 pi (1/r + 2 sum K^n/sqrt(r^2+(2nh)^2)).
    rho, h = (430.0, 70.0), 0.9
    k = (rho[1] - rho[0]) / (rho[1] + rho[0])
    n = np.arange(1, 400)
    images = 1 / distance + 2 * (k**n / np.hypot(distance, 2 * n * h)).sum()
    found = point_to_point((0, 0, 0), (0, distance, 0), soil=Soil(rho, (h,)))
    # The rounding of the alternating sum and the transform together.
    assert_allclose(found, rho[0] / (2 * np.pi) * images, rtol=1e-6)


def test_fall_of_potential_reads_the_resistance_near_62_percent():
    # A point electrode reads true at 0.618034 of the distance (derived in MIL-HDBK-419A);
    # a rod of 3 m with its return at 60 m at 0.6178 +- 0.0003 (computed independently).
    # The slope there is 0.2 % per 0.01 of the distance.
    d = 60.0
    items = [reading(METAL, pin(share * d), current_to=pin(d)) for share in (0.5, 0.6178, 0.7)]
    low, at, high = shown(*items)
    assert_allclose(at, 33.1936, rtol=0.002)
    # -0.80 % and +0.72 % there (computed independently, 0.05 points), and the rod's own 0.1 %.
    assert_allclose([low / at - 1, high / at - 1], [-0.0080, 0.0072], atol=0.0015)


def test_several_electrodes_by_the_volume_model_agree_with_thin_wires():
    rods = Conductors.bare(
        [[0, 0, 0], [9, 0, 0]], end=[[0, 0, -2.0], [9, 0, -1.5]], radius=0.008, group=[0, 1]
    )
    plan = mesh_plan(rods, soil=LAYERED.soil, farthest=np.array([[4.3, 1.0, 0.0]]))
    places = [(1.0, 0.4), (4.3, 1.0)]
    items = [
        *(reading(pin(*place), End(), current_to=End(1)) for place in places),
        reading(METAL, pin(*places[0]), current_to=End(1)),
        reading(METAL, End(1), current_to=End(1)),
    ]
    found = shown(
        *items,
        state=replace(LAYERED, contact=(0.0, 0.0)),
        conductors=rods,
        mesh=lambda: build_mesh(plan),
    )
    other = second_opinion(rods, soil=LAYERED.soil)
    ohms = np.linalg.inv(other.current_matrix)
    metal = ohms @ [1.0, -1.0]
    points = np.array([(*place, 0.0) for place in places])
    soil = np.real(other.potential(points, voltage=metal))
    expected = [*soil, metal[0] - soil[0], metal[0] - metal[1]]
    # Both are good to 0.5 %; potentials between the rods are small differences.
    assert_allclose(found, expected, rtol=0.01, atol=0.05)


def test_bonded_electrodes_act_as_one():
    rods = Conductors.bare(
        [[0, 0, 0], [4, 0, 0]], end=[[0, 0, -2.0], [4, 0, -1.5]], radius=0.008, group=[0, 1]
    )
    plan = mesh_plan(rods, soil=UNIFORM.soil)
    one, other = shown(
        reading(METAL, pin(2.0, 1.0)),
        reading(End(1), pin(2.0, 1.0)),
        state=replace(UNIFORM, contact=(0.0, 0.0)),
        conductors=rods,
        bonds=((0, 1),),
        mesh=lambda: build_mesh(plan),
    )
    assert_allclose(one, other, rtol=1e-12)


def test_bonded_electrodes_share_the_ampere_by_their_contacts():
    rods = Conductors.bare(
        [[0, 0, 0], [900, 0, 0]], end=[[0, 0, -2.0], [900, 0, -2.0]], radius=0.008, group=[0, 1]
    )
    # Far apart they are two resistors: R + r beside R, and 1.2 m from one its share alone.
    items = [reading(METAL, End()), reading(METAL, pin(1.2)), reading(End(1), pin(898.8))]
    readings = Readings(tuple(items))
    ohms = second_opinion(rods, soil=UNIFORM.soil)
    alone = np.linalg.inv(ohms.current_matrix)
    soil = np.real([ohms.potential(readings.points, voltage=row) for row in alone])
    model = FieldModel(
        lambda _: Transfer(alone, soil), False, np.array([0, 0]), readings.places, "wires"
    )
    bonded = predicted(readings, model=model, state=replace(UNIFORM, contact=(25.0, 0.0)))
    one = alone[0, 0]
    share = one / (2 * one + 25.0)
    near = soil[0, 0]
    expected = [
        (one + 25.0) * share,
        (one + 25.0) * share - near * share,
        one * (1 - share) - near * (1 - share),
    ]
    # Of the other, 900 m away, there is 0.02 ohm left.
    assert_allclose(bonded, expected, atol=0.03)


def test_contact_resistances_are_one_for_each_electrode():
    with pytest.raises(CaseError, match=r"2 contact resistances for 1 electrode$"):
        shown(reading(METAL, End()), state=replace(UNIFORM, contact=(0.0, 1.0)))


class TestRefused:
    def test_a_pin_in_the_metal(self):
        message = r", 0 m deep, stands in the metal of .* counted from the axis"
        with pytest.raises(CaseError, match=message):
            shown(reading(METAL, pin(0.003)))

    def test_other_metal_without_a_mesh(self):
        wire = Conductors.bare([[0, 0, -0.5]], end=[[3, 0, -0.5]], radius=0.005)
        with pytest.raises(CaseError, match="not one vertical rod; its field needs a mesh"):
            field_model(wire, points=np.zeros((0, 3)))

    def test_an_end_on_metal_and_soil(self):
        with pytest.raises(CaseError, match="on metal or on a pin in the soil, not on both"):
            End(0, place=(1.0, 0.0, 0.0))

    def test_a_pin_above_ground(self):
        with pytest.raises(CaseError, match="must be finite and have z <= 0"):
            pin(1.0, z=0.2)

    @pytest.mark.parametrize(
        ("change", "words"),
        [
            ({"value": float("nan")}, "must be a finite number"),
            ({"deviation": 0.0}, "deviation of a reading must be above 0"),
            ({"pin_resistance": -1.0}, "must be 0 or more"),
            ({"meter_resistance": 0.0}, "input resistance of a meter must be above 0, not 0.0"),
            ({"current_to": METAL}, "returns to the electrode it comes from"),
            ({"current_to": pin(30.0), "per": "source"}, "make the pin an electrode"),
        ],
    )
    def test_impossible_readings(self, change, words):
        with pytest.raises(CaseError, match=words):
            reading(METAL, pin(1.0), **change)

    def test_no_readings(self):
        with pytest.raises(CaseError, match="no readings; give one or more"):
            Readings(())

    def test_a_current_pin_with_potential_pins_below_ground(self):
        with pytest.raises(CaseError, match=r"reading 1: .* all pins are on the surface"):
            Readings((reading(METAL, pin(1.0, z=-0.5), current_to=pin(30.0)),))
