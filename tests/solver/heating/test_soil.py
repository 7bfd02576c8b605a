"""Voltage that soil stands for ever, against the heat round a sphere."""

import math

import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad

from ohmscape.solver.errors import CaseError
from ohmscape.solver.heating import lasting_voltage


def test_the_soil_at_a_half_sphere_gets_as_warm_as_that():
    """Heat made outside a radius, ρ J², flows out of it alone: none enters the metal."""
    resistivity, conductivity, radius, current = 130.0, 1.4, 0.6, 3.1

    def made_within(r):  # of the half space between the metal and a radius [W]
        density = resistivity * current**2 / (2 * math.pi)
        return quad(lambda s: density / s**2, radius, r)[0]

    def slope(r):
        return made_within(r) / (conductivity * 2 * math.pi * r**2)

    rise = quad(slope, radius, 400 * radius, limit=400)[0]
    # Beyond, all heat is made: its rise falls as 1/r.
    rise += made_within(400 * radius) / (conductivity * 2 * math.pi * 400 * radius)
    volts = resistivity * current / (2 * math.pi * radius)
    found = lasting_voltage(resistivity, conductivity=conductivity, rise=rise)
    assert_allclose(found, volts, rtol=1e-5)


@pytest.mark.parametrize(
    ("values", "what"),
    [
        ({"resistivity": 0.0}, "resistivity of 0"),
        ({"conductivity": -1.0}, "thermal conductivity of -1"),
        ({"rise": float("nan")}, "rise of the temperature of nan"),
    ],
)
def test_what_is_not_above_nought_is_refused(values, what):
    given = {"resistivity": 100.0, "conductivity": 1.2, "rise": 60.0} | values
    with pytest.raises(CaseError, match=what):
        lasting_voltage(given.pop("resistivity"), **given)
