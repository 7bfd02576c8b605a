"""Readings and surveys: their values, their order, every refusal."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.errors import CaseError
from ohmscape.solver.soil_survey import DrivenRodReadings, FourPinReadings, Survey, Traverse

PINS = [[0.0, 1.0, 2.0, 3.0], [0.0, 3.0, 4.0, 9.0]]


def four(**more):
    return FourPinReadings.collinear(PINS, **({"resistance": [5.0, 6.0]} | more))


def rods(**more):
    given = {"radius": 0.008, "resistance": [70.0, 40.0]}
    return DrivenRodReadings.single([1.0, 2.0], **(given | more))


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: four(deviation=[0.1, 0.1, 0.1]), "3 values for 2 readings; give one for each"),
        (lambda: four(resistance=[0.0, 6.0]), r"readings\[0\]: resistance 0 Ω must be finite"),
        (
            lambda: four(resistance=[5.0, np.nan]),
            r"readings\[1\]: resistance nan Ω must be fin",
        ),
        (lambda: four(resistance=[-5.0, 6.0]), r"\[0\]: resistance -5 Ω must be positive for"),
        (lambda: four(deviation=5.0), "deviation 5 is relative to the reading: it must lie"),
        (lambda: four(traverse=-1), "traverse index -1 must be 0 or more"),
        (lambda: four(pin_depth=[-0.1, 0.0]), r"\[0\]: pin depth -0.1 m must be 0 or more"),
        (
            lambda: FourPinReadings.collinear([[0.0, 1.0, 1.0, 3.0]], resistance=[5.0]),
            "pins at 0, 1, 1, 3 m must be four different places",
        ),
        (
            lambda: FourPinReadings.collinear([[0.0, -2.0, 2.0, 1e6]], resistance=[5.0]),
            "see next to no voltage in uniform soil; check the order",
        ),
        (lambda: FourPinReadings.collinear(PINS), "give either the resistance or the apparent"),
        (
            lambda: four(apparent_resistivity=[9.0, 9.0]),
            "give either the resistance or the app",
        ),
        (
            lambda: FourPinReadings.collinear(
                PINS, apparent_resistivity=[90.0, 80.0], pin_depth=0.2
            ),
            "say whether the depth of the pins is in it",
        ),
        (
            lambda: FourPinReadings.wenner([0.0], resistance=[5.0]),
            "spacing 0 m must be positive",
        ),
        (
            lambda: FourPinReadings.schlumberger(
                [2.0], half_potential_spacing=2.5, resistance=[5.0]
            ),
            "half current spacing less half potential spacing -0.5 m must be positive",
        ),
        (lambda: FourPinReadings.collinear(np.zeros((0, 4)), resistance=[]), "are no readings"),
        (lambda: rods(radius=0.0), "rod radius 0 m must be positive"),
        (
            lambda: rods(radius=0.15),
            r"\[0\]: driven length 1 m must be at least 10 radii, 1.5 m",
        ),
        (
            lambda: rods(resistance=[70.0, -40.0]),
            r"\[1\]: resistance -40 Ω of a rod must be pos",
        ),
        (
            lambda: DrivenRodReadings(*(np.ones(n) for n in (2, 2, 3, 3, 3))),
            r"arrays of the readings do not fit: driven_length has shape \(2,\), not \(3,\)",
        ),
        (lambda: Survey((Traverse("n"),)), "the survey has no readings; give at least one"),
        (
            lambda: Survey((Traverse("n"), Traverse("n")), four_pin=four()),
            "traverse names must differ, got more than once: n",
        ),
        (
            lambda: Survey((Traverse("n"),), four_pin=four(traverse=[0, 1])),
            "belongs to traverse index 1, but the survey has 1 traverses: n",
        ),
    ],
)
def test_wrong_readings_are_refused(make, message):
    with pytest.raises(CaseError, match=message):
        make()


def test_all_that_is_wrong_is_told_at_once():
    with pytest.raises(CaseError) as caught:
        four(resistance=[0.0, -6.0], deviation=2.0)
    assert len(caught.value.problems) == 4


def test_pins_in_reverse_order_read_the_other_sign():
    turned = FourPinReadings.collinear([[0.0, 2.0, 1.0, 3.0]], resistance=[-5.0])
    # 2 π a R.
    assert_allclose(turned.apparent_resistivity, 2 * np.pi * 5.0, rtol=1e-12)


def test_four_pins_come_before_rods_whatever_was_measured_first():
    survey = Survey(
        (Traverse("a rod"), Traverse("a line")),
        four_pin=four(traverse=1),
        driven_rod=rods(deviation=0.1),
    )
    assert survey.traverse.tolist() == [1, 1, 0, 0]
    assert survey.is_driven_rod.tolist() == [False, False, True, True]
    assert survey.array.tolist() == [0, 1, 2, 2]
    assert_allclose(survey.resistance, [5, 6, 70, 40])
    assert_allclose(survey.spacing, [1, 3, 1, 2])
    assert_allclose(survey.deviation, [np.nan, np.nan, 0.1, 0.1])


def test_some_of_the_readings_stay_in_their_order():
    survey = Survey((Traverse("n"),), four_pin=four(), driven_rod=rods())
    kept = survey.subset([False, True, False, True])
    assert_allclose(kept.resistance, [6, 40])
    assert survey.subset([False, False, True, False]).four_pin is None
    with pytest.raises(CaseError, match="the survey has no readings"):
        survey.subset([False] * 4)


def test_layouts_are_equal_where_the_same_is_measured():
    shifted = FourPinReadings.collinear(
        [[0.0, 1.0, 2.0, 3.0], [7.0, 8.0, 9.0, 10.0], [0.0, 1.0, 2.0, 3.5]],
        resistance=[5.0, 5.0, 5.0],
    )
    layouts = Survey.of(shifted).layouts
    assert (layouts[0] == layouts[1]).all()
    assert (layouts[0] != layouts[2]).any()
