"""Tables of images: the same potentials as by the images themselves."""

import field_layouts as lay
import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.model import Conductors, Soil
from ohmscape.solver.thin_wire import TabledImages, second_opinion
from ohmscape.solver.thin_wire.images import LayeredImages

SOILS = {
    "uniform": Soil((120.0,)),
    "good below": Soil((310.0, 85.0), (1.8,)),
    "bad below": Soil((90.0, 1700.0), (1.1,)),
    "thin crust": Soil((900.0, 40.0, 300.0), (0.4, 3.3)),
}


def yard():
    """A mesh in the top layer with rods that reach through the planes of all soils."""
    starts = [[0, 0], [0, 5.3], [0, 10.6], [0, 0], [4.1, 0], [8.2, 0]]
    ends = [[8.2, 0], [8.2, 5.3], [8.2, 10.6], [0, 10.6], [4.1, 10.6], [8.2, 10.6]]
    flat = [np.column_stack([points, np.full(6, -0.35)]) for points in (starts, ends)]
    tops = np.array([[0, 0, -0.35], [8.2, 10.6, -0.35]])
    tips = tops - [0, 0, 4.6]
    return Conductors.bare(
        np.vstack([flat[0], tops]), end=np.vstack([flat[1], tips]), radius=0.005
    )


@pytest.mark.slow
@pytest.mark.parametrize("name", SOILS)
def test_potentials_and_resistance_are_those_of_the_images(name):
    soil, metal = SOILS[name], yard()
    exact = second_opinion(metal, soil=soil)
    tabled = second_opinion(metal, soil=soil, images=TabledImages(soil))
    # Far pairs are taken as points at half the distance, tables by straight lines.
    assert_allclose(tabled.resistance, exact.resistance, rtol=1.5e-3)
    random = np.random.default_rng(5)
    points = np.column_stack([random.uniform(-6, 16, (400, 2)), np.zeros(400)])
    deep = points - [0, 0, 1] * random.uniform(0.01, 6.0, (400, 1))
    for places in (points, deep):
        one, other = (item.potential(places, voltage=np.ones(1)) for item in (exact, tabled))
        assert_allclose(other, one, atol=2e-3)


@pytest.mark.parametrize("name", ["good below", "thin crust"])
def test_a_table_gives_the_sum_of_its_images(name):
    soil = SOILS[name]
    tabled, images = TabledImages(soil), LayeredImages(soil)
    random = np.random.default_rng(9)
    planes = [0.0, *soil.interface_depth, 9.0]
    for source in range(len(soil.resistivity)):
        for point in range(len(soil.resistivity)):
            z = -random.uniform(planes[point], planes[point + 1], 300)
            d = -random.uniform(planes[source], planes[source + 1], 300)
            square = 10.0 ** random.uniform(-3, 5, 300)
            wanted = sum(
                i.strength / (4 * np.pi) / np.sqrt(square + (z - i.sign * d - i.shift) ** 2)
                for i in images.between(source, point=point)
                if i.detour > 0
            )
            found = tabled.rest(source, point=point, square=square, heights=z, other=d)
            scale = max(soil.resistivity) / (4 * np.pi) / np.sqrt(square + 1.0)
            assert np.abs(found - wanted).max() < 1e-3 * np.abs(scale).max()
            assert_allclose(found / scale, wanted / scale, atol=1e-3)


def test_a_table_that_is_outgrown_is_made_wider():
    soil = SOILS["good below"]
    images = TabledImages(soil)
    shallow = second_opinion(lay.rod(length=1.0, radius=0.008), soil=soil, images=images)
    deep = second_opinion(lay.rod(length=30.0, radius=0.008), soil=soil, images=images)
    for found in (shallow, deep):
        again = second_opinion(found.conductors, soil=soil)
        assert_allclose(found.resistance, again.resistance, rtol=1.5e-3)


def test_potentials_are_read_by_the_images_that_were_handed_in(monkeypatch):
    soil = Soil((100.0, 40.0), (1.5,))
    metal = Conductors.bare([0.0, 0.0, 0.0], end=[0.0, 0.0, -3.0], radius=0.008)
    opinion, read = second_opinion(metal, soil=soil, images=TabledImages(soil)), []
    monkeypatch.setattr(
        "ohmscape.solver.thin_wire.opinion.point_matrix",
        lambda points, *, images, **given: read.append(images) or iter(()),
    )
    opinion.potential(np.array([[2.0, 0.0, 0.0]]), voltage=np.ones(1))
    assert [type(images) for images in read] == [TabledImages]
