"""Balls of source: they carry what their line elements do, and meet where these meet."""

import field_layouts as lay
import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.field.clouds import clouds_of
from ohmscape.solver.field.elements import line_elements
from ohmscape.solver.field.near_field import rows_apart
from ohmscape.solver.model import Soil

SOIL = Soil((100.0, 400.0), (1.0,))


@pytest.mark.parametrize("spread", [0.3, 0.9, 3.0])
def test_balls_have_the_moments_of_each_element(spread):
    elements = line_elements(
        lay.rods([0.0, 0.0], length=3.0, radius=0.01, top=0.2),
        soil=SOIL,
        element_size=np.array([0.5]),
        spread=np.array([spread]),
    )
    clouds = clouds_of(elements)
    balls = np.bincount(clouds.layer)
    # One ball has one moment less the mean, and so on; rows of four and more have three.
    for moment in range(4):
        found = clouds.shares @ clouds.place[:, 2] ** moment
        low, high = elements.end[:, 2], elements.start[:, 2]
        mean = (high ** (moment + 1) - low ** (moment + 1)) / (high - low) / (moment + 1)
        told = moment < balls[elements.layer]
        assert_allclose(found[told], mean[told], rtol=1e-9)
        assert told.any() or moment > 1


def test_metal_that_meets_shares_a_ball_and_short_elements_need_no_more():
    mesh = lay.together(
        lay.wire(length=7.0, radius=0.005, depth=0.5),
        lay.moved(lay.wire(length=7.0, radius=0.005, depth=0.5), shift=(7.0, 0.0)),
    )
    elements = line_elements(
        mesh, soil=Soil((100.0,)), element_size=np.full(2, 3.0), spread=np.full(2, 2.4)
    )
    clouds = clouds_of(elements)
    ends = np.unique(np.concatenate([mesh.start, mesh.end]).round(9), axis=0)
    assert len(clouds.place) == 2 * 4 - (4 - len(ends))
    assert np.diff(np.sort(np.unique(clouds.place[:, 0]))).max() <= 2.4
    fine = line_elements(
        mesh, soil=Soil((100.0,)), element_size=np.full(2, 0.2), spread=np.full(2, 2.4)
    )
    assert len(fine) > 2 * len(elements)
    assert len(clouds_of(fine).place) == len(clouds.place)


@pytest.mark.parametrize("offset", [0.0, 0.001, 0.004])
def test_the_ball_of_a_short_end_stands_for_its_length_and_its_face(offset):
    elements = line_elements(
        lay.rod(length=1.0 + offset, radius=0.01),
        soil=SOIL,
        element_size=np.array([0.2]),
        spread=np.array([0.4]),
    )
    clouds = clouds_of(elements)
    (last,) = np.flatnonzero(clouds.layer == 1)
    below = elements.layer == 1
    assert below.any()
    assert clouds.gap[last] >= np.ptp([elements.start[below, 2], elements.end[below, 2]])
    assert rows_apart * clouds.gap[last] > 5 * 0.01
