"""What lies beyond the quasi-static method, against values from outside."""

import numpy as np
import pytest

from ohmscape.solver.metal.quasi_static import potential_share, quasi_static
from ohmscape.solver.model import Soil

from .whole_networks import wire


@pytest.mark.parametrize(
    ("upper", "thickness", "lower", "percent"),
    [
        # At 100 and 500 m and 50 Hz, in %; computed for this purpose by other code. Half of
        # the last digit.
        (300, 2, 20, ("0.8", "1.6")),
        (100, 5, 1000, ("0.7", "2.2")),
        (1000, 5, 50, ("1.0", "2.3")),
        (100, 20, 1000, ("3", "8")),
        (100, 100, 1000, ("15", "30")),
        (1000, 100, 50, ("2", "42")),
    ],
)
def test_potential_in_layers_is_not_quite_static(upper, thickness, lower, percent):
    soil = Soil((float(upper), float(lower)), (float(thickness),))
    for distance, share in zip((100.0, 500.0), percent, strict=True):
        found = 100 * potential_share(soil, frequency=50.0, distance=distance)
        digit = 0.5 * 10.0 ** -len(share.partition(".")[2])
        assert found == pytest.approx(float(share), abs=digit)


def test_the_share_goes_with_the_frequency_and_is_none_in_uniform_soil():
    soil = Soil((100.0, 1000.0), (20.0,))
    slow = potential_share(soil, frequency=0.01, distance=100.0)
    assert 0 < slow < 0.003 * potential_share(soil, frequency=50.0, distance=100.0)
    assert potential_share(Soil((100.0,)), frequency=50.0, distance=100.0) == 0
    # Layers that are alike are no layers.
    alike = Soil((100.0, 100.0), (20.0,))
    assert potential_share(alike, frequency=50.0, distance=500.0) < 1e-9


def test_other_limits_of_metal_in_soil():
    metal = wire(300, diameter=0.01, depth=2.25)
    found = quasi_static(Soil((10.0,)), conductors=metal, frequency=50.0)
    # Skin depth 503 sqrt(ρ/f) m: 225 m.
    assert found.depth == pytest.approx(0.01, rel=1e-3)
    dry = quasi_static(Soil((1e4,)), conductors=metal, frequency=50.0)
    assert dry.displacement == pytest.approx(2 * np.pi * 50 * 20 * 8.854e-12 * 1e4, rel=1e-3)
    none = quasi_static(Soil((10.0, 100.0), (1.0,)), conductors=metal, frequency=0.0)
    assert (none.potential, none.depth, none.displacement) == (0, 0, 0)
