"""Soils as probable as readings leave them, against textbook distributions."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import stats
from surveys_made import made_survey, wenner_survey

from ohmscape.solver.errors import TrustError
from ohmscape.solver.model import Soil
from ohmscape.solver.soil_survey import Sounding, fit_survey, wenner_resistivity
from ohmscape.solver.soil_survey.posterior import posterior_soils as soils_of

SPACINGS = np.geomspace(0.5, 32.0, 11)
SHARES = np.array([0.025, 0.05, 0.25, 0.5, 0.75, 0.95, 0.975])


def sounding(survey, *, layers, **options):
    return Sounding.of(fit_survey(survey, **options), layers=layers)


def posterior_soils(given, **options):
    return soils_of(given, spacing=4.0, **options)


def quantiles(soils, values):
    order = np.argsort(values)
    ends = np.cumsum(soils.probability[order])
    return values[order][np.searchsorted(ends, SHARES)]


def test_uniform_soil_is_known_as_the_mean_of_readings_is():
    """Student's t with n - 1 degrees of freedom about the mean of ln ρ (any textbook)."""
    logs = np.log(150.0) + 0.08 * np.random.default_rng(3).standard_normal(len(SPACINGS))
    found = posterior_soils(sounding(wenner_survey(SPACINGS, np.exp(logs)), layers=1))
    n = len(logs)
    true = stats.t(n - 1, loc=logs.mean(), scale=logs.std(ddof=1) / np.sqrt(n)).ppf(SHARES)
    assert_allclose(quantiles(found, found.logarithms[:, 0]), true, atol=0.003)


def test_known_deviations_make_it_normal():
    logs = np.log(80.0) + 0.1 * np.random.default_rng(8).standard_normal(len(SPACINGS))
    survey = wenner_survey(SPACINGS, np.exp(logs), deviation=np.full(len(logs), 0.3))
    found = posterior_soils(sounding(survey, layers=1))
    true = stats.norm(logs.mean(), 0.3 / np.sqrt(len(logs))).ppf(SHARES)
    assert_allclose(quantiles(found, found.logarithms[:, 0]), true, atol=0.005)


def test_well_read_layers_spread_as_the_linear_analysis_says():
    survey = made_survey(Soil((200.0, 50.0), (3.0,)), np.geomspace(0.4, 60, 24), noise=0.02)
    base = sounding(survey, layers=2)
    found = posterior_soils(base)
    model = base.chosen
    said = np.concatenate([model.resistivity_deviation, model.thickness_deviation])
    middle = found.probability @ found.logarithms
    spread = np.sqrt(found.probability @ (found.logarithms - middle) ** 2)
    freedom = len(survey) - 3  # the variance of Student's distribution is larger than 1
    assert_allclose(spread, said * np.sqrt(freedom / (freedom - 2)), rtol=0.1)


def test_draws_come_with_the_probability_of_the_soils():
    survey = made_survey(Soil((200.0, 50.0), (3.0,)), SPACINGS, noise=0.05, seed=2)
    found = posterior_soils(sounding(survey, layers=2))
    shares = (np.arange(4000) + 0.5) / 4000
    drawn = np.log([soil.resistivity for soil in found.at(shares)])
    mean = found.probability @ found.logarithms[:, :2]
    assert_allclose(drawn.mean(axis=0), mean, atol=2e-3)
    assert found.probability.sum() == pytest.approx(1.0)
    read = [wenner_resistivity(4.0, soil=soil)[0] for soil in found.at(shares[::200])]
    assert (np.diff(read) >= 0).all()
    again = posterior_soils(sounding(survey, layers=2))
    assert_allclose(again.logarithms, found.logarithms)


def test_a_thin_layer_that_is_known_by_a_product_stays_so():
    """A thin good layer between poor ones: its conductance is known, its thickness is not."""
    soil = Soil((400.0, 20.0, 600.0), (2.0, 0.5))
    survey = made_survey(soil, np.geomspace(0.5, 80, 20), noise=0.02, seed=4)
    found = posterior_soils(sounding(survey, layers=3))
    thickness, resistivity = found.logarithms[:, 4], found.logarithms[:, 1]

    def deviation(values):
        return np.sqrt(found.probability @ (values - found.probability @ values) ** 2)

    assert deviation(thickness - resistivity) < 0.3 * deviation(thickness)


@pytest.mark.slow
def test_ranges_hold_the_truth_as_often_as_they_say():
    """90 % ranges of 60 surveys of random soils in two layers, each parameter."""
    chance = np.random.default_rng(11)
    held = []
    for seed in range(60):
        first, second = np.exp(chance.uniform(np.log(20), np.log(1000), 2))
        thickness = np.exp(chance.uniform(np.log(1.0), np.log(6.0)))
        if max(first, second) < 2 * min(first, second):
            second *= 4
        soil = Soil((first, second), (thickness,))
        survey = made_survey(soil, np.geomspace(0.5, 40, 14), noise=0.05, seed=seed)
        found = posterior_soils(sounding(survey, layers=2), seed=seed)
        true = np.log([first, second, thickness])
        below = found.probability @ (found.logarithms < true)
        held.append((below > 0.05) & (below < 0.95))
    # Of 180, binomial: 0.9 within 0.83 to 0.97 (three standard errors).
    assert 0.83 < np.mean(held) < 0.97


def test_readings_that_leave_all_open_are_refused(monkeypatch):
    survey = made_survey(Soil((200.0, 50.0), (3.0,)), SPACINGS, noise=0.05)
    monkeypatch.setattr("ohmscape.solver.soil_survey.posterior._enough", 1e9)
    with pytest.raises(TrustError, match="so open"):
        posterior_soils(sounding(survey, layers=2))


def test_no_soil_has_a_contrast_that_is_not_solved():
    """Readings that only say that the ground below is far poorer."""
    survey = made_survey(Soil((30.0, 9000.0), (4.0,)), SPACINGS[:9], noise=0.05, seed=5)
    found = posterior_soils(sounding(survey, layers=2))
    drawn = np.array([soil.resistivity for soil in found.at((np.arange(500) + 0.5) / 500)])
    contrast = drawn.max(axis=1) / drawn.min(axis=1)
    assert contrast.max() <= 1000
    assert contrast.max() > 500  # the readings would allow more
