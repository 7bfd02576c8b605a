"""Fits to readings made by the model itself, and what readings cannot see."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.errors import CaseError
from ohmscape.solver.field_readings import (
    Agreement,
    End,
    Reading,
    Readings,
    State,
    chosen_unknowns,
    explanations,
    field_model,
    fit,
    predicted,
    unknowns_of,
)
from ohmscape.solver.model import Conductors, Soil

ROD = Conductors.bare([[0, 0, 0]], end=[[0, 0, -2.2]], radius=0.008)
DISTANCES = (0.1, 0.3, 0.7, 1.3, 2.6, 4.7, 9.0)
METAL = End(0)
TRUTH = State(Soil((310.0, 55.0), (0.8,)), (9.0,))
START = State(Soil((200.0, 90.0), (0.6,)), (0.0,))


def readings_of(ends, *, truth, deviation=0.02, noise=0.0, **more):
    """Readings as the model makes them, with noise of a fixed seed."""
    blank = Readings(
        tuple(
            Reading(plus=plus, minus=minus, current_from=0, value=1.0, deviation=1.0, **more)
            for plus, minus in ends
        )
    )
    values = predicted(blank, model=field_model(ROD, points=blank.points), state=truth)
    drawn = np.random.default_rng(5).standard_normal(len(values))
    values = values * (1 + noise * drawn)
    return Readings(
        tuple(
            replace(item, value=float(v), deviation=deviation * abs(float(v)))
            for item, v in zip(blank.items, values, strict=True)
        )
    )


def pins(*distances):
    return [End(place=(x, 0.0, 0.0)) for x in distances]


def from_rod(*distances):
    return [(METAL, far) for far in pins(*distances)]


def in_soil(*distances):
    return list(zip(pins(*distances)[:-1], pins(*distances)[1:], strict=True))


def unknowns(readings, names, start):
    among = unknowns_of(readings, state=start, set_of_group=[0], group_names=["rod"])
    return chosen_unknowns(names, among=among)


def fitted(readings, *names, start=START):
    model = field_model(ROD, points=readings.points)
    chosen = unknowns(readings, names, start)
    return fit(readings, model=model, start=start, unknowns=chosen)


@pytest.mark.slow
def test_two_layers_and_contact_come_back():
    readings = readings_of(from_rod(*DISTANCES) + in_soil(*DISTANCES), truth=TRUTH)
    found = fitted(readings, "resistivities", "thicknesses", "contact")
    # No noise: what is left is where the search ends, at changes of 1e-4.
    assert_allclose(found.state.soil.resistivity, (310, 55), rtol=2e-3)
    assert_allclose(found.state.soil.thickness, (0.8,), rtol=2e-3)
    assert_allclose(found.state.contact, (9.0,), rtol=1e-3)
    assert found.misfit < 0.01


def test_the_truth_lies_within_the_ranges():
    readings = readings_of(from_rod(*DISTANCES) + in_soil(*DISTANCES), truth=TRUTH, noise=0.02)
    found = fitted(readings, "resistivities", "contact", start=replace(TRUTH, contact=(0.0,)))
    for value, (low, high) in zip((310, 55, 9.0), found.range, strict=True):
        assert low < value < high


def test_ranges_go_with_the_deviations_given():
    wide, narrow = (
        fitted(
            readings_of(from_rod(*DISTANCES), truth=TRUTH, deviation=d),
            "contact",
            start=replace(TRUTH, contact=(2.0,)),
        )
        for d in (0.04, 0.01)
    )
    assert_allclose(np.ptp(wide.range), 4 * np.ptp(narrow.range), rtol=1e-3)


def test_a_bad_fit_widens_the_ranges():
    # Alternate readings 20 % off, deviations of 1 % claimed.
    readings = readings_of(from_rod(*DISTANCES), truth=TRUTH, deviation=0.01)
    items = [
        replace(item, value=item.value * (1 + 0.2 * (-1) ** k))
        for k, item in enumerate(readings.items)
    ]
    start = replace(TRUTH, contact=(2.0,))
    good, bad = (fitted(r, "contact", start=start) for r in (readings, Readings(tuple(items))))
    assert np.ptp(bad.range) > 10 * np.ptp(good.range)


def test_soil_readings_alone_do_not_know_of_contact():
    readings = readings_of(in_soil(*DISTANCES), truth=TRUTH)
    with pytest.raises(CaseError, match=r"cannot fit 'contact' to these readings; there are"):
        unknowns(readings, ["contact"], START)


def test_one_reading_at_the_rod_cannot_tell_soil_from_contact():
    uniform = State(Soil((80.0,)), (4.0,))
    readings = readings_of(from_rod(5.0, 5.01, 5.02), truth=uniform)
    found = fitted(readings, "soil scale", "contact", start=replace(uniform, contact=(1.0,)))
    assert found.correlated[0][:2] == ("contact", "soil scale")
    assert found.correlated[0][2] < -0.99
    assert not found.seen.all()


def test_deep_soil_is_not_seen_by_a_short_profile():
    deep = State(Soil((80.0, 20.0), (30.0,)), (0.0,))
    readings = readings_of(in_soil(0.1, 0.2, 0.4), truth=deep)
    found = fitted(readings, "resistivities", start=deep)
    assert found.seen.tolist() == [True, False]


def test_contact_below_zero_stops_at_zero():
    readings = readings_of(from_rod(*DISTANCES), truth=State(Soil((50.0,)), (0.0,)))
    found = fitted(readings, "contact", start=State(Soil((60.0,)), (0.0,)))
    assert found.value.tolist() == [0.0]
    assert found.at_bound.tolist() == [True]


class TestRanking:
    def ranked(self, truth, start):
        ends = from_rod(*DISTANCES) + in_soil(*DISTANCES)
        readings = readings_of(ends, truth=truth)
        model = field_model(ROD, points=readings.points)
        among = unknowns_of(readings, state=start, set_of_group=[0], group_names=["rod"])
        return explanations(readings, model=model, start=start, unknowns=among)

    @pytest.mark.parametrize(
        ("name", "truth", "value"),
        [
            ("contact", State(Soil((60.0,)), (7.0,)), 7.0),
            ("divider", State(Soil((60.0,)), (0.0,), divider=0.06), 0.06),
        ],
    )
    def test_what_was_changed_comes_first(self, name, truth, value):
        first, second, *_ = self.ranked(truth, State(Soil((60.0,)), (0.0,)))
        assert first.unknown.name == name
        assert_allclose(first.fit.value[0], value, rtol=1e-3)
        assert first.explained > 0.999
        assert second.fit.misfit > 100 * first.fit.misfit

    def test_a_current_and_the_soil_scale_cannot_be_told_apart(self):
        found = self.ranked(State(Soil((90.0,)), (0.0,)), State(Soil((60.0,)), (0.0,)))
        assert {item.unknown.name for item in found[:2]} == {"soil scale", "current"}
        assert_allclose([item.fit.value[0] for item in found[:2]], 1.5, rtol=1e-3)

    @pytest.mark.slow
    def test_the_wrong_layer_is_named(self):
        start = State(Soil((310.0, 90.0), (0.8,)), (0.0,))
        found = self.ranked(replace(start, soil=Soil((310.0, 55.0), (0.8,))), start)
        assert found[0].unknown.name == "resistivity of layer 2"
        assert_allclose(found[0].fit.value[0], 55.0, rtol=0.01)


def test_agreement_is_by_hand():
    items = [
        Reading(plus=METAL, minus=End(), current_from=0, value=v, deviation=0.5)
        for v in (11.0, 22.0, 0.3)
    ]
    found = Agreement.of(Readings(tuple(items)), np.array([10.0, 20.0, 0.2]))
    # The third is below a twentieth of the largest and left out of relative differences.
    assert_allclose((found.bias, found.scatter), (0.1, 0.0), atol=1e-12)
    assert_allclose(found.misfit, np.sqrt((2**2 + 4**2 + 0.2**2) / 3))


class TestRefused:
    def test_more_unknowns_than_readings(self):
        readings = readings_of(from_rod(1.0), truth=TRUTH)
        with pytest.raises(CaseError, match="3 unknowns and 1 readings"):
            fitted(readings, "resistivities", "contact")

    def test_an_unknown_that_is_not_there(self):
        readings = readings_of(from_rod(1.0), truth=TRUTH)
        with pytest.raises(
            CaseError, match=r"'thickness of layer 2'.*'resistivity of layer 1'"
        ):
            unknowns(readings, ["thickness of layer 2"], START)

    def test_scale_and_all_resistivities(self):
        readings = readings_of(from_rod(*DISTANCES), truth=TRUTH)
        with pytest.raises(CaseError, match="soil scale is all resistivities together"):
            unknowns(readings, ["soil scale", "resistivities"], START)
