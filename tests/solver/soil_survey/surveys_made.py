"""Surveys for the tests of this folder."""

import numpy as np

from ohmscape.solver.soil_survey import FourPinReadings, Survey, wenner_resistivity


def wenner_survey(spacing, apparent_resistivity, **more):
    """Survey of one traverse of four pins at equal distances."""
    a, rho = np.asarray(spacing, dtype=float), np.asarray(apparent_resistivity, dtype=float)
    readings = FourPinReadings.wenner(a, resistance=rho / (2 * np.pi * a), **more)
    return Survey.of(readings, name="north")


def made_survey(soil, spacing, *, noise=0.0, seed=0, **more):
    """Survey that a soil gives, with normal noise of a relative size."""
    rho = wenner_resistivity(spacing, soil=soil)
    scatter = np.random.default_rng(seed).standard_normal(len(rho))
    return wenner_survey(spacing, rho * np.exp(noise * scatter), **more)
