"""A run with its second opinion: when it is made, what is printed, and what is kept."""

from dataclasses import replace

import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.loading import load_case_text
from ohmscape.jobs import solving
from ohmscape.jobs.judging import Errors
from ohmscape.jobs.run import reassess, run_case, run_variants
from ohmscape.solver.axisymmetric import solve_rod
from ohmscape.solver.errors import BudgetError
from ohmscape.solver.results.storage import load, save
from ohmscape.solver.thin_wire import ThirdOpinion, second_opinion
from ohmscape.viz.terminal.summary import summary

CASE = """
ohmscape: 1
title: Gate post and trough
soil:
  layers:
    - {resistivity: 90 ohm*m, thickness: 1 m}
    - {resistivity: 40 ohm*m, thickness: 2 m}
    - {resistivity: 400 ohm*m}
electrodes:
  - name: post
    drive: {current: 1.5 A}
    parts:
      - {kind: rod, at: [0 m, 0 m], top_depth: 0 m, length: 1.5 m, diameter: 20 mm}
  - name: trough
    drive: {floating: true}
    parts:
      - {kind: rod, at: [3 m, 1 m], top_depth: 0 m, length: 800 mm, diameter: 20 mm}
bonds:
  - {name: strap, between: [post, trough], closed: false}
variants:
  - {name: bonded, close: [strap]}
study:
  area: {margin: 2 m, spacing: 0.25 m}
numerics: {accuracy: coarse}
"""


@pytest.fixture(scope="module")
def results():
    return run_variants(load_case_text(CASE))


def _asked(choice, text=CASE):
    return load_case_text(text.replace("coarse}", f"coarse, second_opinion: {choice}}}"))


def test_a_small_case_gets_one_that_agrees_in_three_layers_and_with_bonds_switched(results):
    for result in results:
        found = result.agreement
        # 0.3 % of the thin wires, and the coarse mesh.
        assert found.resistance_difference < 0.01
        assert found.voltage_difference < 0.01
        assert_allclose(found.resistance, result.operating.resistance.diagonal(), rtol=0.01)
        assert len(found.worst) == len(result.worst)
    apart, bonded = results
    assert len(apart.agreement.resistance) == 2
    assert len(bonded.agreement.resistance) == 1
    # One soil, so it was made once for both.
    assert apart.second_opinion is bonded.second_opinion


def test_both_are_printed_with_what_is_between_them(results):
    text = summary(results[0])
    assert "Second opinion by thin conductors in layers" in text
    for words in (
        "resistance of post ",
        "resistance of trough ",
        "step ",
        "of the rise from it",
    ):
        assert words in text
    assert "THEY DIFFER" not in text


def test_a_difference_beyond_the_errors_of_both_is_shouted(results):
    result = results[0]
    apart = replace(result.agreement, resistance_difference=0.05)
    assert "THEY DIFFER BY MORE" in summary(replace(result, agreement=apart))


def test_it_is_kept_with_the_result_and_made_anew_from_it(results, tmp_path):
    loaded = load(save(results[0], tmp_path / "gate.npz"))
    assert_allclose(loaded.second_opinion.current, results[0].second_opinion.current)
    louder = load_case_text(CASE.replace("1.5 A", "3 A"))
    again = reassess(louder, [loaded])[0]
    # Twice the current; nothing else changed.
    assert_allclose(again.agreement.rise, 2 * results[0].agreement.rise, rtol=1e-12)


@pytest.mark.slow
def test_one_that_takes_long_is_made_only_where_asked_for(monkeypatch):
    monkeypatch.setattr(solving, "_quick_wires", 3)
    without = run_case(load_case_text(CASE))
    assert without.second_opinion is None
    assert without.agreement is None
    assert "No second opinion was made; numerics.second_opinion: always" in summary(without)
    assert run_case(_asked("always")).agreement is not None


@pytest.mark.slow
def test_one_that_nobody_wants_is_not_made():
    assert run_case(_asked("never")).agreement is None


def test_one_that_is_asked_for_and_too_large_is_refused(monkeypatch):
    def small(conductors, *, soil, most):
        return second_opinion(conductors, soil=soil, most=min(most, 3))

    monkeypatch.setattr(solving, "second_opinion", small)
    with pytest.raises(BudgetError, match="its matrix takes at most 3"):
        run_case(_asked("always"))


ROD = """
ohmscape: 1
title: A tip just in the better soil
soil: {layers: [{resistivity: 400 ohm*m, thickness: 2.37 m}, {resistivity: 40 ohm*m}]}
electrodes:
  - name: rod
    drive: {current: 10 A}
    parts: [{kind: rod, at: [0 m, 0 m], top_depth: 0 m, length: 2.37 m, diameter: 16 mm}]
safety:
  duration: 1 s
  limits: [{name: own, own: {voltage: LIMIT V}}]
  exposures: [{name: beside it, touch: rod, limit: own}]
numerics: {accuracy: coarse}
"""


@pytest.fixture(scope="module")
def rod():
    """A rod that thin wires of either kind cannot do: its tip ends in the plane."""
    return run_case(load_case_text(ROD.replace("LIMIT", "2000")))


def test_a_third_method_says_which_is_right(rod):
    found = rod.agreement
    errors = rod.accuracy.estimates
    stated = {"resistance_error": errors[0], "voltage_error": max(errors)}
    assert found.standing(**stated) != "agree"
    exact = solve_rod(rod.solution.conductors, soil=rod.solution.soil)
    assert_allclose(found.third.resistance, 1 / exact.current_matrix[0, 0], rtol=1e-12)
    off = rod.resistance("rod") / found.third.resistance - 1
    assert_allclose(found.third.resistance_difference, abs(off), rtol=1e-9)
    text = " ".join(summary(rod).split())
    assert "Third method, with the true face of the rod" in text
    confirmed = found.third.confirms(**stated)
    assert ("THIS RESULT IS OUTSIDE THE ERROR IT STATES" in text) == (not confirmed)
    assert ("it confirms this result" in text) == confirmed


@pytest.mark.parametrize("off", [0.0, 0.05, -0.05])
def test_a_narrow_error_that_is_wrong_is_not_hidden_by_a_wide_one_of_the_opinion(rod, off):
    third = solve_rod(rod.solution.conductors, soil=rod.solution.soil)
    resistance = 1 / third.current_matrix[0, 0] * (1 + off)
    made = replace(
        rod.agreement,
        resistance_difference=abs(off),
        voltage_difference=abs(off),
        resistance_error=0.067,
        third=None,
    )
    stated = {"resistance_error": 0.003, "voltage_error": 0.004}
    assert rod.second_opinion.resistance_error > 0.01
    assert made.standing(**stated) == ("outside" if off else "agree")
    assert made.agrees(**stated)  # within both errors, which is no proof
    assert made.doubt(**stated) == abs(off)
    judge = ThirdOpinion(
        resistance=resistance,
        worst=(),
        resistance_difference=abs(off),
        voltage_difference=abs(off),
        resistance_error=5e-4,
    )
    assert judge.confirms(**stated) == (not off)
    assert replace(made, third=judge).doubt(**stated) == abs(off)


def test_a_verdict_keeps_the_distance_that_another_method_shows(rod):
    errors = rod.accuracy.estimates
    stated = {"resistance_error": errors[0], "voltage_error": max(errors)}
    made = replace(rod.agreement, voltage_difference=0.05, resistance_error=0.067, third=None)
    wide = Errors.of_accuracy(rod.accuracy, rise=rod.rise, agreement=made)
    narrow = Errors.of_accuracy(rod.accuracy, rise=rod.rise)
    assert made.standing(**stated) == "outside"
    assert_allclose((wide.touch, wide.step), 0.05 * rod.rise, rtol=1e-9)
    assert narrow.touch < 0.01 * rod.rise


def test_both_kinds_of_opinion_are_kept(rod, tmp_path):
    again = load(save(rod, tmp_path / "result.npz"))
    assert again.agreement.third == rod.agreement.third
