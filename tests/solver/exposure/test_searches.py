"""Searches for the worst place on surfaces whose highest place is known by hand."""

from types import SimpleNamespace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.exposure.places import TouchableMetal
from ohmscape.solver.exposure.surface import Area, SurfaceMap
from ohmscape.solver.exposure.worst import (
    WorstVoltage,
    voltages_again,
    within_area,
    worst_touch,
)


class Surface:
    """A field that is nothing but its surface, beside metal at some voltage."""

    def __init__(self, potential, *, voltage=0.0):
        self.surface_potential = potential
        self.voltage = np.array([voltage])
        self.solution = SimpleNamespace()

    def metal_voltage(self, group, *, places):
        return np.full(len(places), self.voltage[group])

    def on_side_of_rise(self, values):
        return values

    def on_ground(self, places):
        return np.ones(len(places), dtype=bool)


def sampled(places, *, field, metal):
    places = np.array(places, dtype=float)
    potential = field.surface_potential(places)
    touch = np.where(metal.within_reach(places), np.abs(field.voltage[0] - potential), np.nan)
    none = np.zeros(len(places))
    return SurfaceMap(
        places, np.zeros((0, 3), int), potential, none, none, touch[None], pace=1.0
    )


def found(places, *, metal, area, field=None, most=1):
    field = field or Surface(lambda places: places[:, 0], voltage=100.0)
    surface = sampled(places, field=field, metal=metal)
    return worst_touch(surface, index=0, metal=metal, field=field, area=area, most=most)


# All samples of the map stand far off, as where its raster is wider than a reach.
FAR = [[2.5, 0.0], [2.9, 0.9]]


def test_metal_beyond_the_edge_is_reached_from_within_the_map():
    area = Area((0.9, -1.0), (3.0, 1.0), 2.0)
    post = TouchableMetal("post", 0, "points", np.array([[0.0, 0.0]]), 1.0)
    (worst,) = found(FAR, metal=post, area=area)
    # 100 V less x, so nearest to the metal: on the edge of the map.
    assert_allclose(worst.voltage, 99.1, atol=1e-3)
    assert within_area(post, area=area)
    off = TouchableMetal("post", 0, "points", np.array([[-0.2, 0.0]]), 1.0)
    assert found(FAR, metal=off, area=area) == ()
    assert not within_area(off, area=area)


def test_a_fence_that_only_crosses_the_map_is_reached_along_its_length():
    area = Area((8.0, -0.3), (12.0, 0.3), 5.0)
    fence = TouchableMetal("fence", 0, "line", np.array([[0.0, 0.0], [20.0, 0.0]]), 0.5)
    field = Surface(lambda places: (places[:, 0] - 9.7) ** 2, voltage=50.0)
    (worst,) = found([[10.0, 40.0]], metal=fence, area=area, field=field)
    assert_allclose(worst.voltage, 50.0, atol=1e-3)
    assert_allclose(worst.foot[0], 9.7, atol=0.02)
    assert within_area(fence, area=area)


def test_a_sharp_peak_between_samples_is_found_beside_a_broad_one():
    """Samples are highest on the broad peak, so that it is climbed first."""
    sharp = np.array([3.2, 0.2])

    def potential(places):
        broad = np.exp(-((places - [-3.0, 0.0]) ** 2).sum(axis=1) / 4)
        return broad + 1.5 * np.exp(-((places - sharp) ** 2).sum(axis=1) / 0.157)

    area = Area((-5.0, -2.0), (5.0, 2.0), 0.5)
    x, y = np.meshgrid(np.arange(-5, 5.1, 0.5), np.arange(-2, 2.1, 0.5))
    outline = np.array([[-5.0, -2.0], [5.0, -2.0], [5.0, 2.0], [-5.0, 2.0]])
    plate = TouchableMetal("plate", 0, "polygon", outline, 0.4)
    places = np.column_stack([x.ravel(), y.ravel()])
    assert places[potential(places).argmax()] == pytest.approx([-3.0, 0.0])
    field = Surface(potential)
    (worst,) = found(places, metal=plate, area=area, field=field)
    assert_allclose(worst.voltage, potential(sharp[None])[0], rtol=1e-3)
    assert_allclose(worst.foot, sharp, atol=0.02)


def test_voltages_are_taken_again_between_the_same_places():
    field = Surface(lambda places: 3.0 * places[:, 0] - places[:, 1], voltage=20.0)
    worst = [
        WorstVoltage("touch", "post", 1.0, (2.0, 1.0)),
        WorstVoltage("step", "", 1.0, (1.0, 0.0), (0.5, 2.0)),
    ]
    again = voltages_again(worst, field=field, metal_groups={"post": 0})
    # 20 - 5 of metal and foot; 3 and -0.5 of two feet.
    assert_allclose(again, [15.0, 3.5])
