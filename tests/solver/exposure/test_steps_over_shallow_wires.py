"""Drawn steps against many directions tried in the field, over wires less deep than a raster.

The field is that of thin conductors, which need no mesh.
"""

import numpy as np
import pytest

from ohmscape.solver.exposure.surface import Area, steepest_steps
from ohmscape.solver.model import Conductors, Soil
from ohmscape.solver.solved_soil import Field
from ohmscape.solver.thin_wire import second_opinion


def _star(depth):
    angle = np.radians([11.0, 137.0, 255.0])
    tips = 31.0 * np.column_stack([np.cos(angle), np.sin(angle), 0 * angle])
    below = np.array([0.0, 0.0, -depth])
    return Conductors.bare([below] * 3, end=below + tips, radius=0.005)


def _steps(depth, voltage):
    """Drawn steps, and the largest of 64 directions, along a wire and all over; rise 1 V."""
    field = Field(second_opinion(_star(depth), soil=Soil((100.0,))), voltage)
    area, pace = Area((-34.0, -34.0), (34.0, 34.0), 0.5), 1.0
    places = np.random.default_rng(3).uniform(-20, 20, (700, 2))
    beside = np.random.default_rng(4).uniform([1.0, -1.7], [33.0, 1.7], (700, 2))
    turn = np.radians(11.0)
    beside @= [[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]]
    places = np.concatenate([places, beside])
    here = field.surface_potential(places)
    step, direction = steepest_steps(places, potential=here, field=field, area=area, pace=pace)
    there = field.surface_potential(
        places + np.stack([np.cos(direction), np.sin(direction)], 1)
    )
    np.testing.assert_allclose(step, np.abs(here - there), rtol=1e-9)
    best = np.zeros(len(places))
    for angle in 2 * np.pi * np.arange(64) / 64:
        other = field.surface_potential(
            places + pace * np.array([np.cos(angle), np.sin(angle)])
        )
        best = np.maximum(best, np.abs(here - other))
    return step, best


@pytest.mark.parametrize("depth", [0.1, 0.17, 0.3, 0.6])
def test_drawn_steps_are_those_of_the_best_direction(depth):
    step, best = _steps(depth, np.ones(1))
    # By a spline through the raster alone 13, 8, 3 and 0 % of them were more than 3 % low, the
    # worst by 40, 23, 10 and 2 %.
    assert (step / best).min() > 0.95
    assert np.quantile(step / best, 0.01) > 0.985


def test_steps_of_voltages_out_of_phase_are_sought_as_well():
    step, best = _steps(0.17, np.array([0.6 + 0.8j]))
    assert (step / best).min() > 0.95
