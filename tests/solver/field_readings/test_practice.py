"""What electricians measure round a freshly driven rod (common practice, no source)."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.field_readings import (
    End,
    Reading,
    Readings,
    State,
    chosen_unknowns,
    field_model,
    fit,
    predicted,
    remote,
    unknowns_of,
)
from ohmscape.solver.model import Conductors, Soil

# A standard rod of 8 ft, 5/8 in; the dimensions are assumed.
RADIUS = 0.0079375
ROD = Conductors.bare([[0, 0, 0]], end=[[0, 0, -2.4384]], radius=RADIUS)
FOOT = 0.3048
# Distance from the axis and voltage between rod and soil as a fraction of the rod's voltage.
MEASURED = {
    RADIUS: 0.34,
    0.25 * FOOT: 0.56,
    0.5 * FOOT: 0.625,
    FOOT: 0.72,
    2 * FOOT: 0.79,
    3 * FOOT: 0.825,
    5 * FOOT: 0.875,
}
# About 120 V drove about 9 A.
LOOP = 120 / 9
BARE = State(Soil((100.0,)), (0.0,))


@pytest.fixture(scope="module")
def readings():
    rod = End(0)
    items = [
        Reading(
            plus=rod,
            minus=End(place=(distance, 0.0, 0.0)),
            current_from=0,
            per="source",
            value=fraction,
            deviation=0.02,
        )
        for distance, fraction in MEASURED.items()
    ]
    whole = Reading(
        plus=rod, minus=remote, current_from=0, value=LOOP, deviation=0.5, loop=True
    )
    return Readings((*items, whole))


@pytest.fixture(scope="module")
def model(readings):
    return field_model(ROD, points=readings.points)


def fitted(names, *, readings, model):
    among = unknowns_of(readings, state=BARE, set_of_group=[0], group_names=["rod"])
    chosen = chosen_unknowns(names, among=among)
    return fit(readings, model=model, start=BARE, unknowns=chosen)


def test_uniform_soil_alone_cannot_reproduce_it(readings, model):
    # Fractions do not depend on the resistivity, so nothing can be tuned.
    one, other = (
        predicted(readings, model=model, state=State(Soil((rho,)), (0.0,)))[:-1]
        for rho in (7.0, 430.0)
    )
    assert_allclose(one, other, atol=1e-12)
    # At 1 ft 0.54 was expected of it, to two digits of an average over even leakage.
    assert_allclose(one[3], 0.54, atol=0.025)
    assert (np.abs(one - list(MEASURED.values())) > 0.03).all()
    assert fitted(["soil scale"], readings=readings, model=model).misfit > 5


def test_uniform_soil_with_contact_does(readings, model):
    found = fitted(["soil scale", "contact"], readings=readings, model=model)
    # "About 20 ohm metres and about 5 ohm": a fifth either way.
    assert_allclose(found.state.soil.resistivity[0], 20.0, rtol=0.2)
    assert_allclose(found.state.contact[0], 5.0, rtol=0.2)
    assert found.seen.all()
    off = np.abs(found.predicted - readings.value)
    assert off[0] < 0.05
    assert (off[1:-1] < 0.03).all()
    # Voltages and current are given to about 5 %.
    assert_allclose(found.predicted[-1], LOOP, rtol=0.05)


def test_it_takes_one_field_solution(readings, model):
    # Bare metal in uniform soil: all resistances go with the resistivity.
    fitted(["soil scale", "contact"], readings=readings, model=model)
    assert model.solves == 1
