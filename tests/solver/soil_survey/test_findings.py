"""What a survey and its fit warn of, and when they keep quiet."""

import numpy as np
import pytest
from surveys_made import made_survey, wenner_survey

from ohmscape.solver.model import Soil
from ohmscape.solver.soil_survey import (
    DrivenRodReadings,
    FourPinReadings,
    Survey,
    Traverse,
    fit_survey,
    layered_rod_resistance,
    wenner_resistivity,
)

SOIL = Soil((210.0, 65.0), (2.4,))
SPACINGS = np.geomspace(0.5, 30.0, 10)


def kinds(fit):
    return [finding.kind for finding in fit.findings]


def two_lines(second):
    """Two traverses at the same spacings, the second with its own values."""
    first = wenner_resistivity(SPACINGS, soil=SOIL)
    a, rho = np.tile(SPACINGS, 2), np.concatenate([first, second])
    readings = FourPinReadings.wenner(
        a, resistance=rho / (2 * np.pi * a), traverse=np.repeat([0, 1], len(SPACINGS))
    )
    return Survey((Traverse("along"), Traverse("across")), four_pin=readings)


@pytest.mark.parametrize(("diagonal", "told"), [(None, 0), (29.0, 0), (31.0, 1)])
def test_a_survey_shorter_than_the_electrode_is_told(diagonal, told):
    fit = fit_survey(made_survey(SOIL, SPACINGS), most_layers=2, electrode_diagonal=diagonal)
    found = [item.message for item in fit.findings if item.kind == "short survey"]
    assert len(found) == told
    if told:
        assert "longest spacing, 30 m (98.4 ft), is shorter than the diagonal" in found[0]
        assert "31 m" in found[0]


def test_readings_spread_too_far_for_uniform_soil_are_told():
    fit = fit_survey(wenner_survey([1.0, 3.0, 9.0], [100.0, 115.0, 131.0]), most_layers=1)
    finding = fit.findings[0]
    assert finding.kind == "not uniform"
    assert "from 100 to 130 Ω·m, a spread of 31 %" in finding.message
    quiet = fit_survey(wenner_survey([1.0, 3.0, 9.0], [100.0, 115.0, 129.0]), most_layers=1)
    assert "not uniform" not in kinds(quiet)


def test_traverses_that_disagree_are_told():
    same = wenner_resistivity(SPACINGS, soil=SOIL)
    fit = fit_survey(two_lines(1.3 * same), most_layers=2)
    (found,) = [item.message for item in fit.findings if item.kind == "traverses differ"]
    assert "traverses along and across differ by 30 % or more at a quarter" in found
    assert "traverses differ" not in kinds(fit_survey(two_lines(1.15 * same), most_layers=2))


def test_one_wrong_reading_does_not_set_traverses_apart():
    second = wenner_resistivity(SPACINGS, soil=SOIL)
    second[4] *= 0.4
    found = kinds(fit_survey(two_lines(second), most_layers=2, robust=True))
    assert "traverses differ" not in found
    assert found.count("outliers") == 1


@pytest.mark.parametrize(("factor", "told"), [(1.0, False), (1.5, True)])
def test_unlike_arrays_are_compared_through_the_soil(factor, told):
    # A rod and pins read far apart on layers, yet belong to one soil.
    lengths = np.array([0.6, 1.2, 1.8, 2.4, 3.0])
    ohms = factor * layered_rod_resistance(lengths, radius=0.008, soil=SOIL)
    a = SPACINGS
    survey = Survey(
        (Traverse("line"), Traverse("rod")),
        four_pin=FourPinReadings.wenner(
            a, resistance=wenner_resistivity(a, soil=SOIL) / (2 * np.pi * a)
        ),
        driven_rod=DrivenRodReadings.single(lengths, radius=0.008, resistance=ohms, traverse=1),
    )
    fit = fit_survey(survey, most_layers=2)
    found = [item.message for item in fit.findings if item.kind == "traverses differ"]
    assert bool(found) == told
    if told:
        assert found[0].startswith("traverse rod reads ")


def test_a_soil_that_misses_its_readings_is_told():
    jagged = np.array([100.0, 160.0, 90.0, 170.0, 95.0, 150.0])
    fit = fit_survey(wenner_survey([1.0, 2.0, 3.0, 4.5, 7.0, 10.0], jagged), most_layers=1)
    off = np.sqrt(np.mean((np.exp(np.mean(np.log(jagged))) / jagged - 1) ** 2))
    assert f"uniform soil misses the readings by {100 * off:.0f} %" in fit.findings[-1].message
    assert "poor fit" in kinds(fit)


def test_one_wrong_reading_does_not_make_a_robust_fit_poor():
    readings = wenner_resistivity(SPACINGS, soil=SOIL)
    readings[5] *= 1.8
    fit = fit_survey(wenner_survey(SPACINGS, readings), most_layers=2, robust=True)
    assert fit.best.misfit > 0.1 > 0.01 > fit.best.misfit_of_others
    assert "poor fit" not in kinds(fit)
    (told,) = [item.message for item in fit.findings if item.kind == "outliers"]
    assert "is 80 % above 2 layers that fit the others" in told


def test_good_readings_of_two_layers_are_only_not_uniform():
    assert kinds(fit_survey(made_survey(SOIL, SPACINGS, noise=0.01, seed=1))) == ["not uniform"]


def test_what_is_known_of_a_thin_conductive_layer_is_told():
    # 0.15 m of 4 Ω·m below 1.5 m: only the quotient, 0.0375 S, is seen.
    soil = Soil((300.0, 4.0, 300.0), (1.5, 0.15))
    fit = fit_survey(made_survey(soil, np.geomspace(0.5, 60, 14), noise=0.01, seed=2))
    found = [item.message for item in fit.findings if item.kind == "not resolved"]
    assert fit.supported == 3
    assert len(found) == 1
    assert "what they fix is thickness / resistivity, 0.03" in found[0]
