"""Images of layered soil against exact series, the conditions at the planes, and limits."""

import itertools

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.errors import TrustError
from ohmscape.solver.model import Soil
from ohmscape.solver.thin_wire.images import LayeredImages

FOUR_LAYERS = Soil((1000.0, 100.0, 500.0, 50.0), (0.3, 2.0, 6.0))
# No symmetry: every layer is source and field once, depths at which nothing coincides.
DEPTHS = (0.0, 0.13, 0.7, 1.9, 4.4, 7.7, 11.0)


def potential(soil, *, source, depth, distance, images=None):
    """Potential for 1 A from a point source, both depths positive down. [V]"""
    layers = soil.layer_at([source, depth]).tolist()
    listed = (images or LayeredImages(soil)).between(layers[0], point=layers[1])
    strength, sign, shift = np.array([(i.strength, i.sign, i.shift) for i in listed]).T
    return (strength / np.hypot(distance, -depth - (sign * -source + shift))).sum() / (
        4 * np.pi
    )


def two_layer_series(soil, *, source, depth, distance, terms):
    """Exact images of a point source in two layers (Tagg 1964, from memory). [V]"""
    (upper, lower), (h,) = soil.resistivity, soil.thickness
    k = (lower - upper) / (lower + upper)
    n = np.arange(terms)
    d, z, r = source, depth, distance

    def sum_of(strength, heights):
        return (strength / np.hypot(r, heights)).sum()

    if d < h and z < h:
        n = n[1:]
        total = upper * (1 / np.hypot(r, z - d) + 1 / np.hypot(r, z + d))
        for sign, way in itertools.product((1, -1), (1, -1)):
            total += upper * sum_of(k**n, z + sign * d + way * 2 * n * h)
    elif d < h <= z:
        total = sum(upper * (1 + k) * sum_of(k**n, z + s * d + 2 * n * h) for s in (1, -1))
    elif z < h <= d:
        total = sum(lower * (1 - k) * sum_of(k**n, d + s * z + 2 * n * h) for s in (1, -1))
    else:
        total = lower * (1 / np.hypot(r, z - d) - k / np.hypot(r, z + d - 2 * h))
        total += lower * (1 - k * k) * sum_of(k**n, z + d + 2 * n * h)
    return total / (4 * np.pi)


def wave_from_planes(soil, *, wavenumber, source, depth):
    """Hankel transform of the potential by the conditions at surface and planes. [Ω·m]

    In each layer it is the direct wave and one wave each from its top and its bottom; the
    potential and the current density are continuous. A linear system of its own, no recursion.
    """
    rho, planes = np.array(soil.resistivity), soil.interface_depth
    count = len(rho)
    tops, bottoms = np.array([0.0, *planes]), np.array([*planes, np.inf])
    home = int(soil.layer_at(source))

    def waves(layer, z):
        """Potential and current density of the layer's two waves at a depth."""
        down = np.exp(-wavenumber * (z - tops[layer]))
        up = 0.0 if np.isinf(bottoms[layer]) else np.exp(-wavenumber * (bottoms[layer] - z))
        return np.array([down, up]), np.array([down, -up]) / rho[layer]

    def direct(layer, z):
        if layer != home:
            return 0.0, 0.0
        value = rho[home] * np.exp(-wavenumber * abs(z - source))
        return value, (1.0 if z > source else -1.0) * value / rho[home]

    matrix, right = np.zeros((2 * count, 2 * count)), np.zeros(2 * count)
    matrix[0, :2] = waves(0, 0.0)[1]
    right[0] = -direct(0, 0.0)[1]
    for k, z in enumerate(planes):
        for row in (0, 1):
            matrix[1 + 2 * k + row, 2 * k : 2 * k + 2] = waves(k, z)[row]
            matrix[1 + 2 * k + row, 2 * k + 2 : 2 * k + 4] = -waves(k + 1, z)[row]
            right[1 + 2 * k + row] = direct(k + 1, z)[row] - direct(k, z)[row]
    matrix[-1, -1] = 1.0  # nothing comes from below the last layer
    amplitude = np.linalg.solve(matrix, right)
    here = int(soil.layer_at(depth))
    return waves(here, depth)[0] @ amplitude[2 * here : 2 * here + 2] + direct(here, depth)[0]


@pytest.mark.parametrize("source", DEPTHS)
@pytest.mark.parametrize("depth", DEPTHS)
def test_images_meet_the_conditions_at_surface_and_planes(source, depth):
    layers = FOUR_LAYERS.layer_at([source, depth]).tolist()
    listed = LayeredImages(FOUR_LAYERS).between(layers[0], point=layers[1])
    for wavenumber in np.geomspace(1e-4, 30.0, 23):
        found = sum(
            image.strength
            * np.exp(-wavenumber * abs(depth - image.sign * source + image.shift))
            for image in listed
        )
        expected = wave_from_planes(
            FOUR_LAYERS, wavenumber=wavenumber, source=source, depth=depth
        )
        # The fit of each of four kinds of wave aims at 1e-5 of the source's 1000 Ω·m; the
        # least that is left of it all is 50 Ω·m.
        assert_allclose(found, expected, rtol=1e-4, atol=1e-3)


# The series needs more terms the stronger the contrast; 0.98 to the 900th is 1e-8.
@pytest.mark.parametrize("soil", [Soil((400.0, 50.0), (1.0,)), Soil((10.0, 1000.0), (2.3,))])
@pytest.mark.parametrize("source", [0.2, 0.9, 4.0])
@pytest.mark.parametrize("depth", [0.0, 0.8, 5.0])
@pytest.mark.parametrize("distance", [0.05, 3.0, 200.0])
def test_images_meet_the_exact_series_of_two_layers(soil, source, depth, distance):
    found = potential(soil, source=source, depth=depth, distance=distance)
    expected = two_layer_series(soil, source=source, depth=depth, distance=distance, terms=2000)
    # The fit aims at 1e-5 of the largest wave, which at 200 m is 20 times what is left.
    assert_allclose(found, expected, rtol=1e-4)


def test_uniform_soil_needs_the_source_and_its_image_in_the_surface():
    images = LayeredImages(Soil((70.0,))).between(0, point=0)
    assert [(i.strength, i.sign, i.shift) for i in images] == [(70, 1, 0), (70, -1, 0)]


@pytest.mark.parametrize(
    ("soil", "same"),
    [
        (Soil((60.0, 60.0, 60.0), (0.7, 2.0)), Soil((60.0,))),
        (Soil((60.0, 60.0, 500.0), (0.7, 2.0)), Soil((60.0, 500.0), (2.7,))),
        (Soil((60.0, 500.0, 500.0), (0.7, 2.0)), Soil((60.0, 500.0), (0.7,))),
        # A plane 10 km down is as good as none at 3 m: its images add 2.7 × 3 m / 20 km each.
        (Soil((60.0, 500.0), (1e4,)), Soil((60.0,))),
    ],
    ids=["all equal", "upper two equal", "lower two equal", "plane far below"],
)
@pytest.mark.parametrize(("source", "depth"), [(0.4, 0.5), (1.5, 0.2), (3.0, 3.4)])
def test_planes_that_separate_nothing_change_nothing(soil, same, source, depth):
    found = potential(soil, source=source, depth=depth, distance=3.0)
    expected = potential(same, source=source, depth=depth, distance=3.0)
    assert_allclose(found, expected, rtol=1e-3 if soil.thickness == (1e4,) else 3e-5)


@pytest.mark.parametrize(("a", "b"), list(itertools.combinations(DEPTHS, 2)))
def test_source_and_point_can_change_places(a, b):
    images = LayeredImages(FOUR_LAYERS)
    there = potential(FOUR_LAYERS, source=a, depth=b, distance=2.2, images=images)
    back = potential(FOUR_LAYERS, source=b, depth=a, distance=2.2, images=images)
    # Between layers it holds by construction, within one to the error of the fit.
    assert_allclose(there, back, rtol=3e-5)


@pytest.mark.parametrize("plane", FOUR_LAYERS.interface_depth)
def test_potential_is_continuous_across_planes(plane):
    for source in DEPTHS:
        above, below = (
            potential(FOUR_LAYERS, source=source, depth=plane + gap, distance=1.7)
            for gap in (-1e-9, 1e-9)
        )
        assert_allclose(above, below, rtol=1e-4)


def test_far_away_only_the_lowest_layer_counts():
    found = potential(FOUR_LAYERS, source=0.5, depth=0.0, distance=1e5)
    # What is left falls with the square of (transverse size 1 km) / distance.
    assert_allclose(found, 50.0 / (2 * np.pi * 1e5), rtol=1e-3)


def test_a_contrast_beyond_the_fit_is_refused():
    images = LayeredImages(Soil((1.0, 1e9), (1.0,)))
    with pytest.raises(TrustError, match=r"reproduce it only to .* contrast .* is too large"):
        images.between(0, point=0)
