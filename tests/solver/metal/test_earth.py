"""The return through the soil against integrals and limits."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.constants import mu_0
from scipy.special import kv

from ohmscape.solver.metal.earth import EarthReturn
from ohmscape.solver.model import Soil


def of_endless_wire(soil, *, radius, frequency):
    """Impedance per metre of an endless wire: the kernel summed along it. [Ω/m]"""
    far = 1e5
    along = np.concatenate([[0.0], np.geomspace(1e-2, far, 20001)])
    smooth = EarthReturn(soil, frequency).smooth(along)
    neumann = np.arcsinh(far / radius)
    total = neumann + 2 * np.trapezoid(smooth, along)
    return 1j * frequency * mu_0 * total


@pytest.mark.parametrize(
    ("resistivity", "frequency", "expected"),
    [
        # Integral of Pollaczek 1926 by quadrature, wire of 5 mm radius 0.6 m deep, in mΩ/m.
        (10, 50, 0.04957 + 0.68993j),
        (100, 50, 0.04942 + 0.76242j),
        (1000, 50, 0.04937 + 0.83481j),
        (10, 60, 0.05951 + 0.82102j),
        (100, 60, 0.05931 + 0.90802j),
        (1000, 60, 0.05925 + 0.99489j),
    ],
)
def test_an_endless_wire_is_that_of_pollaczek(resistivity, frequency, expected):
    z = of_endless_wire(Soil((resistivity,)), radius=0.005, frequency=frequency)
    # It lies in the surface here, which takes 0.5 % of the small real part.
    assert_allclose(1e3 * z.real, expected.real, rtol=6e-3)
    assert_allclose(1e3 * z.imag, expected.imag, rtol=5e-4)


def test_an_endless_wire_in_the_surface_has_a_closed_form():
    gamma = np.sqrt(2j * np.pi * 50 * mu_0 / 100)
    x = gamma * 0.005
    expected = 1j * 100 * mu_0 * (1 / x**2 - kv(1, x) / x)
    z = of_endless_wire(Soil((100,)), radius=0.005, frequency=50)
    assert_allclose(z, expected, rtol=2e-4)


def test_series_and_closed_form_meet():
    earth = EarthReturn(Soil((10.0,)), 50.0)
    at = 0.3 * earth.reach * np.array([1 - 1e-6, 1 + 1e-6])
    below, above = earth.smooth(at)
    assert_allclose(below, above, rtol=1e-5)


@pytest.mark.parametrize(
    ("soil", "like"),
    [
        (Soil((50, 50, 50), (2, 7)), 50),
        (Soil((50, 1000), (5000,)), 50),
        (Soil((1000, 50), (1e-3,)), 50),
    ],
    ids=["alike", "a thick top", "a thin top"],
)
def test_layers_that_make_no_difference(soil, like):
    distance = np.geomspace(0.5, 1500, 40)
    one = EarthReturn(soil, 50).smooth(distance)
    other = EarthReturn(Soil((like,)), 50).smooth(distance)
    assert_allclose(one, other, atol=2e-3 * np.abs(other).max())


@pytest.mark.parametrize(
    "soil", [Soil((100, 5, 1000), (3, 8)), Soil((10, 1000), (20,)), Soil((1000, 30), (10,))]
)
def test_an_endless_wire_on_layers_is_their_integral(soil):
    # Carson's integral with the layers in it (Sunde 1949, from memory), by quadrature:
    # z = (jωμ0/π) ∫ cos(λ a) / (λ + U) dλ, less that of uniform soil, which falls fast.
    u = np.geomspace(1e-9, 1e3, 400_001)
    squares = [2j * np.pi * 50 * mu_0 / rho for rho in soil.resistivity]
    vertical = [np.sqrt(u**2 + one) for one in squares]
    total = vertical[-1]
    for v, h in zip(vertical[-2::-1], soil.thickness[::-1], strict=True):
        total = v * (total + v * np.tanh(v * h)) / (v + total * np.tanh(v * h))
    rest = np.trapezoid(u * (1 / (u + total) - 1 / (u + vertical[0])), np.log(u))
    uniform = of_endless_wire(Soil(soil.resistivity[:1]), radius=0.005, frequency=50)
    found = of_endless_wire(soil, radius=0.005, frequency=50)
    assert_allclose(found, uniform + 1j * 100 * mu_0 * rest, rtol=1e-3)


def test_mutual_of_parallel_grounded_leads():
    # Double integral of Foster's kernel: 500 m long, 10 m apart, 50 Hz, in mΩ; 1e-3.
    for resistivity, expected in ((100, 6.178 + 106.63j), (10, 13.775 + 92.83j)):
        earth = EarthReturn(Soil((resistivity,)), 50)
        lag = (np.arange(-2000, 2000) + 0.5) * 0.25
        distance = np.hypot(lag, 10.0)
        kernel = 0.5 / distance + earth.smooth(distance)
        z = 1j * 50 * mu_0 * np.sum((500 - np.abs(lag)) * kernel) * 0.25
        assert_allclose(1e3 * z, expected, rtol=1e-3)
