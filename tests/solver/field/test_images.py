"""Images in the planes between layers against other ways to the same potential."""

import field_layouts as lay
import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.special import erfc, j0, ndtr

from ohmscape.solver.errors import MeshError
from ohmscape.solver.field import images
from ohmscape.solver.field.elements import LineElements, line_elements
from ohmscape.solver.field.images import rays, seen_from_surface
from ohmscape.solver.model import Soil


def _source(depth, soil, *, spread=0.1):
    """One line element so short that it is a point."""
    at = np.array([[0.0, 0.0, -depth]])
    one = np.ones(1)
    zero = np.zeros(1, dtype=np.int64)
    return LineElements(
        start=at - [0.0, 0.0, 1e-9],
        end=np.add(at, [0.0, 0.0, 1e-9]),
        radius=0.01 * one,
        spread=spread * one,
        series=0 * one,
        layer=soil.layer_at([depth]),
        piece=zero,
        group=zero,
    )


def _by_rays(soil, *, source, places):
    """Potential per ampere at places (r, depth) by the sum over rays."""
    element = _source(source, soil)
    layer = soil.layer_at([depth for _, depth in places])
    potential = np.zeros(len(places))
    for ray in rays(element, soil=soil, reach=2000.0):
        height = ray.image(element.middle)[0, 2]
        factor = ray.strength / (4 * np.pi * soil.conductivity[ray.source_layer])
        for k, (r, depth) in enumerate(places):
            if layer[k] == ray.target_layer:
                potential[k] += factor / np.hypot(r, -depth - height)
    return potential


@pytest.fixture
def all_rays(monkeypatch):
    monkeypatch.setattr(images, "_weakest", 1e-6)
    monkeypatch.setattr(images, "_many", 200_000)


@pytest.mark.parametrize("lower", [300.0, 20.0])
@pytest.mark.usefixtures("all_rays")
def test_two_layers_are_the_classical_series(lower):
    # Point source in the upper layer (Maxwell, Tagg; from memory).
    upper, h, depth = 100.0, 1.7, 0.6
    k = (lower - upper) / (lower + upper)
    places = [(0.8, 0.0), (2.3, 0.0), (1.1, 1.3), (7.0, 0.4)]
    n = np.arange(-200, 201)
    expected = [
        upper
        / (4 * np.pi)
        * np.sum(
            k ** abs(n)
            * (1 / np.hypot(r, z - depth + 2 * n * h) + 1 / np.hypot(r, z + depth + 2 * n * h))
        )
        for r, z in places
    ]
    found = _by_rays(Soil((upper, lower), (h,)), source=depth, places=places)
    # Rays weaker than 1e-6 are left out, and there are few.
    assert_allclose(found, expected, rtol=1e-5)


def test_uniform_soil_has_one_image_in_the_surface():
    soil = Soil((80.0,))
    found = list(rays(_source(1.2, soil), soil=soil, reach=100.0))
    assert [(ray.sign, ray.shift, ray.strength) for ray in found] == [
        (1.0, 0.0, 1.0),
        (-1.0, 0.0, 1.0),
    ]


def test_origin_undoes_image():
    soil = Soil((80.0, 20.0), (1.5,))
    points = np.array([[1.0, 2.0, -0.7], [0.3, -4.0, -2.2]])
    for ray in rays(_source(0.7, soil), soil=soil, reach=10.0):
        assert_allclose(ray.origin(ray.image(points)), points, atol=1e-14)


def _by_hankel(soil, *, source, places):
    """Potential per ampere by the layer amplitudes at each wavenumber and quadrature over it.

    In layer i the kernel is A exp(-λ (z - top)) + B exp(λ (z - bottom)), plus exp(-λ |z - d|)
    where the source is; no slope at the surface, value and σ times slope continuous below.
    """
    node, weight = np.polynomial.legendre.leggauss(1200)
    limit = 45.0  # exp(-45 * 0.45 m) is nothing
    lam, weight = 0.5 * limit * (node + 1), 0.5 * limit * weight
    sigma = soil.conductivity
    n = len(sigma)
    top = np.array([0.0, *soil.interface_depth])
    bottom = np.array([*soil.interface_depth, np.inf])
    home = int(soil.layer_at(source))

    def waves(i, z):
        """Values, then slopes, of both waves of layer i at depth z."""
        down = np.exp(-lam * (z - top[i]))
        up = np.exp(lam * (z - bottom[i]))
        return (down, up), (-lam * down, lam * up)

    def own(i, z):
        value = np.exp(-lam * abs(z - source)) if i == home else 0.0 * lam
        return value, -lam * np.sign(z - source) * value

    matrix, right = np.zeros((len(lam), 2 * n, 2 * n)), np.zeros((len(lam), 2 * n))
    matrix[:, 0, :2] = np.transpose(waves(0, 0.0)[1])
    right[:, 0] = -own(0, 0.0)[1]
    for i, z in enumerate(bottom[:-1]):
        for slope, (over, under) in enumerate(((1.0, 1.0), (sigma[i], sigma[i + 1]))):
            row = 2 * i + 1 + slope
            matrix[:, row, 2 * i : 2 * i + 2] = over * np.transpose(waves(i, z)[slope])
            matrix[:, row, 2 * i + 2 : 2 * i + 4] = -under * np.transpose(
                waves(i + 1, z)[slope]
            )
            right[:, row] = under * own(i + 1, z)[slope] - over * own(i, z)[slope]
    matrix[:, -1, -1] = 1.0  # nothing comes up from below
    amplitude = np.linalg.solve(matrix, right[..., None])[..., 0]
    potential = []
    for r, depth in places:
        i = int(soil.layer_at(depth))
        (down, up), _ = waves(i, depth)
        kernel = down * amplitude[:, 2 * i] + up * amplitude[:, 2 * i + 1] + own(i, depth)[0]
        potential.append(np.sum(weight * kernel * j0(lam * r)))
    return np.array(potential) / (4 * np.pi * sigma[home])


@pytest.mark.parametrize("source", [0.5, 2.0, 4.2], ids=["upper", "middle", "lower"])
@pytest.mark.usefixtures("all_rays")
def test_three_layers_are_the_hankel_integral(source):
    # Mild contrasts: the number of rays that matter grows fast with them.
    soil = Soil((300.0, 180.0, 240.0), (1.2, 2.3))
    every = [(1.0, 0.0), (0.7, 1.1), (1.6, 2.9), (2.2, 5.1)]
    places = [(r, depth) for r, depth in every if abs(depth - source) > 0.45]
    found = _by_rays(soil, source=source, places=places)
    # Each ray left out is below 1e-6, but in three layers there are many of them.
    assert_allclose(found, _by_hankel(soil, source=source, places=places), rtol=1e-4)


@pytest.mark.parametrize("depth", [0.05, 1.0, 1.45, 1.62, 3.4])
def test_images_carry_exactly_the_current_of_the_source(depth):
    # Whatever planes run through a cloud, all of it lies somewhere in the soil.
    soil = Soil((300.0, 40.0, 90.0), (1.5, 2.0))
    spread = 0.3
    top = np.array([0.0, *-soil.interface_depth])
    bottom = np.array([*-soil.interface_depth, -np.inf])
    source = _source(depth, soil, spread=spread)
    total = 0.0
    for ray in rays(source, soil=soil, reach=10 * spread):
        target = ray.target_layer
        height = ray.image(source.middle)[0, 2]
        share = ndtr((top[target] - height) / spread) - ndtr((bottom[target] - height) / spread)
        ratio = soil.conductivity[target] / soil.conductivity[ray.source_layer]
        total += ray.strength * ratio * share
    # Rays weaker than 1e-4 are left out.
    assert_allclose(total, 1.0, rtol=1e-4)


def test_gathered_images_of_thin_layers_act_as_all_of_them_do(monkeypatch):
    soil = Soil((1633.0, 20.6, 776.0, 790.0, 178.0), (0.33, 0.47, 0.38, 0.48))
    source = _source(0.66, soil, spread=1.6)
    places = np.array([[r, 0.0, z] for r in (0.1, 1.0, 4.0) for z in (0.0, -0.7)])
    layer = np.where(places[:, 2] < 0, soil.layer_at(-places[:, 2]), 0)
    sums, counts = [], []
    for many in (200_000, 1000):
        monkeypatch.setattr(images, "_many", many)
        paths = list(rays(source, soil=soil, reach=8.3))
        total = np.zeros(len(places))
        for ray in paths:
            gap = np.linalg.norm(places - ray.image(source.middle), axis=1)
            # What the mesh leaves of each: the point less its cloud.
            acts = layer == ray.target_layer
            total += np.where(acts, ray.strength * erfc(gap / 3.2) / gap, 0.0)
        sums.append(total)
        counts.append(len(paths))
    assert counts[0] > 2500
    assert counts[1] < 1000
    # What is left of the fourth moment of each, of many.
    assert_allclose(sums[1], sums[0], atol=3e-4 * sums[0].max())


def test_too_many_layers_for_a_cloud_are_refused(monkeypatch):
    monkeypatch.setattr(images, "_many", 10)
    monkeypatch.setattr(images, "_most", 50)
    soil = Soil((3000.0, 30.0) * 3, (0.05,) * 5)
    with pytest.raises(MeshError, match="more than 50 images within 4 m"):
        list(rays(_source(0.12, soil, spread=0.8), soil=soil, reach=4.0))


def test_joined_rays_act_on_the_surface_as_all_of_them_do():
    soil = Soil((300.0, 100.0, 500.0), (2.0, 8.0))
    metal = lay.rod(length=3.7, radius=0.008)
    elements = line_elements(
        metal, soil=soil, element_size=np.array([0.4]), spread=np.array([0.3])
    )
    paths = list(rays(elements, soil=soil, reach=20.0))
    joined = list(seen_from_surface(paths))
    assert len(joined) < 0.75 * len(paths)
    source, place = np.array([0.0, 0.0, -1.3]), np.array([0.7, -0.4, 0.0])
    for layer in (0, 1):
        sums = [
            sum(
                ray.strength / np.linalg.norm(place - ray.image(source))
                for ray in some
                if ray.source_layer == layer
            )
            for some in (paths, joined)
        ]
        assert_allclose(sums[0], sums[1], rtol=1e-12)
