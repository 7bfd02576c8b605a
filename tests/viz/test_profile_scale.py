"""Profiles that lead far away show the metre beside the metal."""

from dataclasses import replace
from itertools import pairwise

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib.text import Text
from numpy.testing import assert_allclose

from ohmscape.viz.canvas.figures import figure_style
from ohmscape.viz.profile_scale import stretch_near_metal
from ohmscape.viz.profiles import profile_figure


@pytest.fixture
def long(result):
    """A line of 60 m past both rods, and within reach of a pole 40 m away."""
    x = np.linspace(-1.0, 59.0, 1201)
    points = np.column_stack([x, np.full_like(x, 0.3), np.zeros_like(x)])
    potential = result.field.surface_potential(points[:, :2])
    return replace(result.profiles[0], points=points, potential=potential)


def test_what_is_near_metal_takes_half_of_the_axis(result, long):
    stretch = stretch_near_metal(result, profile=long, factor=1.0)
    # A pace of 1 m beyond what lies from x = 0.2 to 2.6 m; within a metre of (40, 0) m.
    (first, last), (pole, beyond) = stretch.near
    assert first <= 0.3
    assert 4.0 < last < 4.7
    assert_allclose([pole, beyond], [41 - np.sqrt(0.91), 41 + np.sqrt(0.91)], atol=0.06)
    ends = stretch.forward(np.array(stretch.near))
    assert_allclose((ends[:, 1] - ends[:, 0]).sum(), 0.5, rtol=1e-9)
    at = np.linspace(-2.0, 63.0, 400)
    assert (np.diff(stretch.forward(at)) > 0).all()
    assert_allclose(stretch.inverse(stretch.forward(at)), at, atol=1e-9)
    near = sum(high - low for low, high in stretch.near)
    assert_allclose(stretch.times, (60.0 - near) / near, rtol=1e-9)


def test_a_short_profile_is_left_alone(result):
    assert stretch_near_metal(result, profile=result.profiles[0], factor=1.0) is None


@pytest.mark.parametrize("units", ["SI", "US"])
def test_a_stretched_axis_has_ticks_on_both_scales_that_do_not_touch(result, long, units):
    with mpl.rc_context(figure_style):
        figure = profile_figure(result, profile=long, units=units)
        figure.draw_without_rendering()
        for axes in figure.axes:
            assert "times larger" in axes.get_xlabel()
            labels = [text for text in axes.get_xticklabels() if text.get_text()]
            boxes = sorted(
                (Text.get_window_extent(text) for text in labels), key=lambda b: b.x0
            )
            assert len(boxes) > 6
            for one, other in pairwise(boxes):
                assert one.x1 < other.x0
