"""Quantities that are not known, against scipy's distributions."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import stats

from ohmscape.solver.errors import CaseError
from ohmscape.solver.uncertainty.distributions import (
    Lognormal,
    Normal,
    OneOf,
    Triangular,
    Uniform,
)

SHARES = np.array([1e-9, 0.03, 0.2, 0.5, 0.71, 0.98, 1 - 1e-9])


@pytest.mark.parametrize(
    ("ours", "theirs"),
    [
        (Lognormal(130.0, 1.7), stats.lognorm(s=np.log(1.7), scale=130.0)),
        (Normal(12.0, 3.0), stats.norm(12.0, 3.0)),
        (Normal(12.0, 3.0, low=10.0), stats.truncnorm(-2 / 3, np.inf, loc=12.0, scale=3.0)),
        (Uniform(-2.0, 7.0), stats.uniform(-2.0, 9.0)),
        (Triangular(1.0, 2.5, 7.0), stats.triang(0.25, loc=1.0, scale=6.0)),
        (Triangular(1.0, 1.0, 7.0), stats.triang(0.0, loc=1.0, scale=6.0)),
    ],
)
def test_quantiles_are_those_of_the_textbook(ours, theirs):
    assert_allclose(ours.at(SHARES), theirs.ppf(SHARES), rtol=1e-7)


def test_one_of_a_few_comes_by_its_weight():
    found = OneOf((1.0, 0.0, 3.0)).at((np.arange(1000) + 0.5) / 1000)
    assert np.bincount(found.astype(int), minlength=3).tolist() == [250, 0, 750]


@pytest.mark.parametrize(
    "made",
    [
        lambda: Lognormal(0.0, 2.0),
        lambda: Lognormal(10.0, 1.0),
        lambda: Normal(0.0, 0.0),
        lambda: Normal(-5.0, 1.0, low=0.0),
        lambda: Uniform(2.0, 2.0),
        lambda: Triangular(1.0, 5.0, 4.0),
        lambda: OneOf((0.0, 0.0)),
        lambda: OneOf((1.0, -1.0)),
    ],
)
def test_what_is_no_distribution_is_refused(made):
    with pytest.raises(CaseError, match=r"need|order|only|above"):
        made()
