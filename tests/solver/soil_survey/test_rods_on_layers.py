"""A driven rod in layered soil: boundary integrals, closed forms, limits."""

import numpy as np
import pytest
import sounding_references as ref
from numpy.testing import assert_allclose

from ohmscape.solver.errors import CaseError
from ohmscape.solver.model import Soil
from ohmscape.solver.soil_survey import DrivenRodReadings, layered_rod_resistance
from ohmscape.solver.soil_survey.layers import SoilBatch
from ohmscape.solver.soil_survey.rod_model import RodModel


@pytest.mark.parametrize(("resistivity", "thickness", "length", "radius", "exact"), ref.RODS)
def test_rods_in_one_and_two_layers(resistivity, thickness, length, radius, exact):
    soil = Soil(resistivity, thickness)
    found = layered_rod_resistance([length], radius=radius, soil=soil)
    # 6 steps of current: measured 0.01 to 0.15 %, all above, as Galerkin's method must be.
    assert_allclose(found, exact, rtol=2e-3)


def test_more_steps_lower_the_resistance_towards_the_exact_one():
    soil = SoilBatch.of(Soil((300.0, 50.0), (1.5,)))
    length, radius = np.array([3.0]), np.array([0.008])
    found = [
        RodModel.of(length, radius=radius, steps=n).resistance(soil)[0, 0] for n in (1, 3, 6)
    ]
    assert found[0] > found[1] > found[2]


def test_evenly_fed_rod_in_uniform_soil():
    L, a = 3.0, 0.008
    X = 2 * L
    # Mean of 1 / distance over the rod and its image, integrated twice by hand.
    double = X * np.arcsinh(X / a) - np.hypot(X, a) + a
    model = RodModel.of(np.array([L]), radius=np.array([a]), steps=1)
    found = model.resistance(SoilBatch.of(Soil((100.0,))))[0, 0]
    # Measured 2e-9.
    assert_allclose(found, 100.0 / (4 * np.pi * L**2) * double, rtol=2e-8)


def test_planes_between_like_layers_do_not_matter():
    lengths = [0.7, 1.3, 3.1]
    found = layered_rod_resistance(
        lengths, radius=0.008, soil=Soil((80.0, 80.0, 80.0), (1.0, 0.4))
    )
    uniform = layered_rod_resistance(lengths, radius=0.008, soil=Soil((80.0,)))
    # Same sums, cut elsewhere.
    assert_allclose(found, uniform, rtol=1e-9)


def test_resistance_is_continuous_where_the_tip_meets_a_plane():
    soil = Soil((100.0, 500.0), (1.0,))
    above, below = layered_rod_resistance([1 - 1e-7, 1 + 1e-7], radius=0.008, soil=soil)
    # 2e-7 m of rod.
    assert_allclose(above, below, rtol=1e-6)


def test_a_good_deep_layer_rules_once_it_is_reached():
    shallow, deep = layered_rod_resistance(
        [1.9, 2.5], radius=0.008, soil=Soil((1000.0, 1.0), (2.0,))
    )
    # 0.5 m in 1 Ω·m: (1 / π) (ln(4 × 0.5 / 0.008) - 1) = 1.44 Ω as if at the surface.
    assert shallow > 300
    assert 0.9 < deep < 1.44


def test_apparent_resistivity_of_a_rod_in_uniform_soil():
    resistance = layered_rod_resistance([0.6, 2.4], radius=0.01, soil=Soil((77.0,)))
    readings = DrivenRodReadings.single([0.6, 2.4], radius=0.01, resistance=resistance)
    assert_allclose(readings.apparent_resistivity, 77.0, rtol=1e-12)


def test_a_stub_is_refused():
    with pytest.raises(CaseError, match="at least 10 radii"):
        layered_rod_resistance([0.05], radius=0.008, soil=Soil((100.0,)))
