"""Answers over draws, against closed forms for products of lognormal quantities."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import stats

from ohmscape.solver.errors import CaseError
from ohmscape.solver.uncertainty.answers import chance_of, importance_of, spread_of
from ohmscape.solver.uncertainty.distributions import Lognormal
from ohmscape.solver.uncertainty.narrowing import narrowing
from ohmscape.solver.uncertainty.plan import SCRAMBLINGS, draw_plan

FACTORS, POWERS = (1.5, 1.3, 1.2), np.array([1.0, -2.0, 0.5])


@pytest.fixture(scope="module")
def plan():
    return draw_plan(3, draws=4000, seed=5)


@pytest.fixture(scope="module")
def product(plan):
    """A product of powers of three lognormal inputs."""
    logs = [
        power * np.log(Lognormal(1.0, factor).at(plan.shares[:, k]))
        for k, (factor, power) in enumerate(zip(FACTORS, POWERS, strict=True))
    ]
    return np.exp(np.sum(logs, axis=0))


def test_there_are_as_many_draws_as_asked_for_and_no_twice_as_many(plan):
    assert 4000 <= len(plan) <= 8000
    assert len(draw_plan(1, draws=1, seed=0)) == 3 * SCRAMBLINGS


def test_draws_are_the_same_for_a_seed_and_others_for_another(plan):
    assert_allclose(draw_plan(3, draws=4000, seed=5).shares, plan.shares)
    assert np.abs(draw_plan(3, draws=4000, seed=6).shares - plan.shares).max() > 0.5


def test_every_input_of_every_draw_is_even(plan):
    for values in plan.shares.T:
        assert stats.kstest(values, "uniform").statistic < 0.02


def test_spread_of_a_rod_is_that_of_its_resistivity():
    """R = ρ · const: R is lognormal with the factor of ρ."""
    plan = draw_plan(1, draws=2000, seed=1)
    found = spread_of(0.4 * Lognormal(120.0, 1.6).at(plan.shares[:, 0]))
    true = stats.lognorm(s=np.log(1.6), scale=48.0).ppf([0.05, 0.5, 0.95])
    assert_allclose([found.low, found.median, found.high], true, rtol=0.01)


def test_sampling_errors_hold_what_is_missed():
    """Over 40 seeds the stated 95 % range holds the true median and the true chance."""
    true = stats.norm.cdf(np.log(1.4) / np.log(1.6))
    held = []
    for seed in range(40):
        plan = draw_plan(2, draws=200, seed=100 * seed)
        logs = np.log(Lognormal(1.0, 1.5).at(plan.shares[:, 0]))
        rest = np.sqrt(np.log(1.6) ** 2 - np.log(1.5) ** 2)
        values = np.exp(logs + np.log(Lognormal(1.0, np.exp(rest)).at(plan.shares[:, 1])))
        spread, chance = spread_of(values), chance_of(values < 1.4)
        held.append(
            [
                abs(spread.median - 1.0) < spread.errors[1],
                abs(chance.share - true) < chance.error,
            ]
        )
    assert (np.mean(held, axis=0) >= 0.85).all()


def test_what_never_or_always_holds_is_not_certain():
    assert chance_of(np.zeros(600, dtype=bool)).error == pytest.approx(0.005)
    assert chance_of(np.ones(600, dtype=bool)).share == 1.0


def test_shares_of_the_variance_are_those_of_the_closed_form(plan, product):
    """With v = (power · ln factor)²: first (eᵛ - 1) / (eⱽ - 1), total (eᵛ - 1) eⱽ⁻ᵛ / (eⱽ - 1).

    By hand from the moments of lognormal quantities.
    """
    v = (POWERS * np.log(FACTORS)) ** 2
    whole = np.expm1(v.sum())
    found = importance_of(product, plan=plan)
    # Ranges of 95 %, twice as wide: six of them have to hold.
    total = np.expm1(v) * np.exp(v.sum() - v) / whole
    assert (np.abs(found.first - np.expm1(v) / whole) < 2 * found.first_error).all()
    assert (np.abs(found.total - total) < 2 * found.total_error).all()
    assert (found.first_error < 0.12).all()


def test_shares_of_the_logarithm_are_those_of_a_sum(plan, product):
    v = (POWERS * np.log(FACTORS)) ** 2
    found = importance_of(np.log(product), plan=plan)
    assert_allclose(found.first, v / v.sum(), atol=0.02)
    assert_allclose(found.total, v / v.sum(), atol=0.02)


def test_an_answer_that_does_not_change_depends_on_nothing(plan):
    found = importance_of(np.full(len(plan), 3.7), plan=plan)
    assert not found.first.any()
    assert not found.total.any()


def test_narrowing_is_that_of_normal_quantities():
    """ln answer = a, ln reading = a + b, read with s: var a - var² a / (var a + var b + s²)."""
    plan = draw_plan(2, draws=4000, seed=3)
    a, b, s = 0.4, 0.3, 0.05
    answer = Lognormal(20.0, np.exp(a)).at(plan.shares[:, 0])
    reading = answer * Lognormal(1.0, np.exp(b)).at(plan.shares[:, 1])
    found = narrowing(answer, reading=reading, error=s)
    after = np.sqrt(a**2 - a**4 / (a**2 + b**2 + s**2))
    assert_allclose(found.before, a, rtol=0.02)
    assert_allclose(found.after, after, rtol=0.04)
    assert found.scarce == 0


def test_two_readings_narrow_more_than_one_and_a_blind_one_nothing():
    plan = draw_plan(3, draws=3000, seed=3)
    parts = [Lognormal(1.0, 1.4).at(plan.shares[:, k]) for k in range(3)]
    answer = parts[0] * parts[1]
    one = narrowing(answer, reading=parts[0], error=0.05)
    both = narrowing(answer, reading=np.column_stack(parts[:2]), error=0.05)
    blind = narrowing(answer, reading=parts[2], error=0.05)
    assert both.after < 0.5 * one.after
    assert abs(blind.share) < 0.03
    assert_allclose(one.share, 1 - np.sqrt(0.5), atol=0.04)


@pytest.mark.parametrize("bad", [{"error": 0.0}, {"reading": np.array([1.0, -1.0])}])
def test_readings_that_cannot_be_are_refused(bad):
    given = {"reading": np.array([1.0, 2.0]), "error": 0.1} | bad
    with pytest.raises(CaseError, match="above zero"):
        narrowing(np.array([1.0, 2.0]), **given)
