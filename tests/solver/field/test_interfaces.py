"""Across a layer interface the potential and the normal current density are continuous."""

import field_layouts as lay
import numpy as np
import pytest
from measuring import resistance, solved
from numpy.testing import assert_allclose

from ohmscape.solver.model import Soil
from ohmscape.solver.solved_soil import Field
from ohmscape.solver.thin_wire import second_opinion


@pytest.fixture(
    scope="module",
    params=[
        pytest.param(Soil((300.0, 50.0), (1.5,)), id="good below"),
        pytest.param(Soil((50.0, 1000.0), (1.0,)), id="good above", marks=pytest.mark.slow),
    ],
)
def field(request):
    solution = solved(lay.rod(length=3.0, radius=0.008), soil=request.param, fineness=2.5)
    return Field(solution, np.array([resistance(solution)]))


def _ring(distance):
    angle = 2 * np.pi * np.arange(12) / 12
    return distance * np.column_stack([np.cos(angle), np.sin(angle)])


@pytest.mark.parametrize("distance", [0.05, 0.4, 1.0, 2.5])
def test_potential_is_continuous(field, distance):
    depth = field.solution.soil.thickness[0]
    above, below = (
        field.potential(np.column_stack([_ring(distance), np.full(12, -depth + side)]))
        for side in (1e-7, -1e-7)
    )
    # The slope is at most some tens of volts per metre.
    assert_allclose(above, below, rtol=1e-5)


def _mean_potential(field, height, distance):
    """Mean round a ring at a height over the interface. [V]"""
    plane = -field.solution.soil.thickness[0]
    points = np.column_stack([_ring(distance), np.full(12, plane + height)])
    return field.potential(points).mean()


def _slopes(field, distance, step=0.1):
    """One-sided vertical slopes at the plane, of second order: above and below. [V/m]"""
    at, near, far = (
        np.array([_mean_potential(field, side * k * step, distance) for side in (1, -1)])
        for k in (0, 1, 2)
    )
    return (-3 * at + 4 * near - far) / (2 * step) * [1, -1]


@pytest.mark.parametrize("distance", [0.4, 1.0, 2.5])
def test_normal_current_is_continuous(field, distance):
    resistivity = np.array(field.solution.soil.resistivity)
    above, below = _slopes(field, distance) / resistivity
    inner, outer = (_mean_potential(field, 0.0, share * distance) for share in (0.9, 1.1))
    outward = (inner - outer) / (0.2 * distance) / resistivity.min()
    # Slopes of quadratic elements are good to a few percent of the whole slope.
    assert_allclose(above, below, atol=0.03 * (outward + abs(above)))


def test_normal_slope_jumps_by_the_contrast(field):
    # So far out most of the slope stands across the plane in one of the layers.
    above, below = _slopes(field, 2.5)
    upper, lower = field.solution.soil.resistivity
    assert_allclose(above / below, upper / lower, rtol=0.06)


@pytest.mark.parametrize(
    "soil",
    [
        Soil((10.0, 1000.0), (0.3,)),
        Soil((1.0, 1000.0), (0.3,)),
        Soil((200.0, 10.0, 2000.0), (0.7, 0.3)),
    ],
    ids=["1 : 100", "1 : 1000", "between poor layers"],
)
def test_a_thin_good_layer_on_rock_carries_the_current_far(soil):
    # Many times farther than its plane is meshed. With such elements as laminates along the
    # layers too these three came out 6, 25 and 6 % high.
    conductors = lay.rod(length=3.0, radius=0.008)
    found = resistance(solved(conductors, soil=soil))
    other = second_opinion(conductors, soil=soil).current_matrix
    assert found == pytest.approx(1 / other[0, 0], rel=0.005)


@pytest.mark.slow
def test_a_thin_poor_layer_keeps_the_current_above_it():
    # Meshed to 10 of its thicknesses only, 7.5 % of the resistance leaked away through it.
    soil = Soil((3.1, 1417.0, 9.4, 21.8), (5.14, 1.31, 4.55))
    conductors = lay.ring(diameter=10.0, radius=0.005, depth=0.75)
    found = resistance(solved(conductors, soil=soil))
    other = second_opinion(conductors, soil=soil).current_matrix
    assert found == pytest.approx(1 / other[0, 0], rel=0.005)
