"""Readings of planned pins, against exact images, a ball by Legendre's series, and layers."""

import numpy as np
import pytest
from numpy.polynomial.legendre import legval
from numpy.testing import assert_allclose

from ohmscape.jobs.planned_survey import meshed_pins
from ohmscape.solver.bodies import Ball, Body, HalfSpace
from ohmscape.solver.errors import CaseError
from ohmscape.solver.field.solution import solve
from ohmscape.solver.model import Soil
from ohmscape.solver.soil_survey import four_pin_resistance
from ohmscape.solver.soil_survey.planned import PlannedTraverse, SurveyPins
from ohmscape.solver.thin_wire import second_opinion

WENNER = np.array([-1.5, -0.5, 0.5, 1.5])
MIDDLE = (0.4, -0.3)


def wenner(spacings, *, azimuth=0.0, middles=(MIDDLE,)):
    pins = np.array(spacings)[:, None] * WENNER
    return PlannedTraverse(f"line at {azimuth:g}", middles, azimuth, pins, 0.03)


def schlumberger(outer, inner):
    half = np.array(outer)
    pins = np.column_stack([-half, np.full(len(half), -inner), np.full(len(half), inner), half])
    return PlannedTraverse("schlumberger", (MIDDLE,), 2.0, pins, 0.03)


def by_elements(traverses, soil):
    pins = SurveyPins.of(tuple(traverses))
    return pins.resistances(
        solve(meshed_pins(pins, soil=soil), soil=soil, conductors=pins.conductors)
    )


def four_points(traverse, potential):
    """Readings by the potential of one ampere that enters at a place, felt at another."""
    places = traverse.places
    found = [
        potential(a, m) - potential(a, n) - potential(b, m) + potential(b, n)
        for a, m, n, b in places.reshape(-1, 4, 2)
    ]
    return np.reshape(found, places.shape[:2])


def beside_contact(near, far, *, at):
    """Quarter spaces that meet in the plane x = at, by one image of a point at the surface.

    Keller & Frischknecht 1966, Telford et al. 1990; from memory.
    """

    def potential(source, place):
        own, other = (near, far) if source[0] < at else (far, near)
        mirror = (other - own) / (other + own)
        direct = 1 / np.hypot(*(source - place))
        if (source[0] < at) != (place[0] < at):
            return own * (1 + mirror) * direct / (2 * np.pi)
        image = np.array([2 * at - source[0], source[1]])
        return own * (direct + mirror / np.hypot(*(image - place))) / (2 * np.pi)

    return potential


def beside_half_ball(soil, ball, *, centre, radius):
    """Half ball in the surface, by Legendre's series about its centre (from memory)."""
    n = np.arange(600)
    out, inside = 1 / soil, 1 / ball

    def potential(source, place):
        # Reciprocity: the one farther out, which is never in the ball here, is the source.
        p, q = sorted((source - centre, place - centre), key=np.linalg.norm, reverse=True)
        d, r = np.hypot(*p), np.hypot(*q)
        share = n * inside + (n + 1) * out
        with np.errstate(under="ignore"):
            if r < radius:
                terms = (2 * n + 1) * out / share * (r / d) ** n / d
                return soil * legval(p @ q / (d * r), terms) / (2 * np.pi)
            terms = n * (out - inside) / share * (radius**2 / (d * r)) ** n * radius / (d * r)
        free = 1 / np.linalg.norm(p - q)
        return soil * (free + legval(p @ q / (d * r), terms)) / (2 * np.pi)

    return potential


def test_pins_in_one_place_are_one_pin():
    # The outer pins at 1 m are the inner ones at 3 m.
    pins = SurveyPins.of((wenner([1.0, 3.0]), wenner([1.0], azimuth=np.pi / 2)))
    assert len(pins.room) == 4 + 2 + 4
    assert_allclose(pins.room.min(), 1.0)
    first, cross = pins.index
    assert first[0, 0, 3] == first[0, 1, 2]
    assert not set(first.ravel()) & set(cross.ravel())
    tops = pins.conductors.start[first][..., :2]
    assert_allclose(tops, wenner([1.0, 3.0]).places)


def test_pins_of_a_reading_in_one_place_are_refused():
    with pytest.raises(CaseError, match="'twice': two pins of a reading stand in one place"):
        PlannedTraverse("twice", (MIDDLE,), 0.0, np.array([[0.0, 1.0, 1.0, 2.0]]), 0.03)


@pytest.mark.parametrize("soil", [Soil((100.0,)), Soil((240.0, 30.0, 700.0), (1.1, 3.0))])
def test_thin_conductors_read_what_points_read_on_layers(soil):
    # Pins a fortieth of the distance long are 1e-4 from points, thin wires 5e-4 from rods.
    plans = (wenner([0.7, 2.0, 6.0]), schlumberger([2.0, 8.0], 0.5))
    pins = SurveyPins.of(plans)
    found = pins.resistances(second_opinion(pins.conductors, soil=soil))
    for plan, ohms in zip(plans, found, strict=True):
        assert_allclose(ohms[0], four_pin_resistance(plan.pins, soil=soil), rtol=1e-3)


@pytest.mark.slow
@pytest.mark.parametrize(
    "soil", [Soil((200.0, 60.0), (1.7,)), Soil((60.0, 600.0), (0.9,))], ids=["better", "poorer"]
)
def test_elements_read_what_points_read_on_layers(soil):
    plans = (wenner([0.5, 1.5, 4.5, 14.0]), schlumberger([1.0, 4.0, 12.0, 30.0], 0.4))
    for plan, ohms in zip(plans, by_elements(plans, soil), strict=True):
        assert_allclose(ohms[0], four_pin_resistance(plan.pins, soil=soil), rtol=5e-3)


@pytest.mark.slow
@pytest.mark.parametrize(("near", "far"), [(100.0, 1500.0), (1500.0, 100.0)])
def test_elements_read_images_over_a_contact(near, far):
    rock = Body("rock", HalfSpace((1.7, 0.0), (1.0, 0.0)), far)
    # Across, aslant, and on two middles, one beyond the contact.
    plans = (
        wenner([0.6, 1.8, 5.0, 12.0]),
        wenner([1.0, 6.0], azimuth=1.1, middles=((-1.0, 2.0), (4.0, 0.2))),
        schlumberger([1.5, 7.0, 20.0], 0.5),
    )
    exact = beside_contact(near, far, at=1.7)
    for plan, ohms in zip(
        plans, by_elements(plans, Soil((near,), bodies=(rock,))), strict=True
    ):
        assert_allclose(ohms, four_points(plan, exact), rtol=5e-3)


@pytest.mark.slow
@pytest.mark.parametrize("pond", [20.0, 900.0])
def test_elements_read_the_series_over_a_half_ball(pond):
    centre, radius = np.array([0.5, 0.1]), 1.3
    body = Body("pond", Ball((*centre, 0.0), radius), pond)
    # Potential pins at 2 m are in it, and none is so near to its wall as to feel its facets.
    plan = wenner([2.0, 3.4, 6.0], azimuth=0.4)
    (ohms,) = by_elements([plan], Soil((100.0,), bodies=(body,)))
    exact = beside_half_ball(100.0, pond, centre=centre, radius=radius)
    assert_allclose(ohms, four_points(plan, exact), rtol=7e-3)
