"""Exact thin wire minus smeared cloud: its closed form, its reach, its symmetry."""

import tracemalloc
from dataclasses import replace

import field_layouts as lay
import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad
from scipy.special import erf

from ohmscape.solver.field.clouds import clouds_of
from ohmscape.solver.field.elements import line_elements
from ohmscape.solver.field.near_field import line_at, short_range
from ohmscape.solver.field.near_points import NearField
from ohmscape.solver.model import Soil


def line_minus_cloud(points, *, start, end, radius, width):
    """Mean over an element of exact less smeared inverse distance, smeared at three points."""
    axis = end - start
    length = np.linalg.norm(axis, axis=1)
    along = np.einsum("ni,ni->n", points - start, axis) / length
    across = np.maximum(((points - start) ** 2).sum(axis=1) - along**2, 0.0)
    mean = line_at(points, start=start, end=end, radius=radius)
    nodes, weights = np.polynomial.legendre.leggauss(3)
    for node, weight in zip(0.5 * (nodes + 1), 0.5 * weights, strict=True):
        r = np.maximum(np.sqrt(across + (along - node * length) ** 2), 1e-7 * width)
        mean -= weight * erf(r / width) / r
    return mean


def _by_quadrature(point, start, end, radius, width):
    length = np.linalg.norm(end - start)

    def integrand(share):
        r = np.linalg.norm(point - start - share * (end - start))
        cloud = erf(r / width) / r if r > 1e-9 else 2 / np.sqrt(np.pi) / width
        return 1 / np.hypot(r, radius) - cloud

    along = np.dot(point - start, end - start) / length**2
    breaks = [along] if 0 < along < 1 else None
    return quad(integrand, 0, 1, points=breaks, epsrel=1e-9, limit=400)[0]


@pytest.mark.parametrize(
    "point", [[0.3, 0.0, 0.0], [0.05, 0.02, 0.11], [-0.3, 0.4, 0.0], [0.0, 0.0, 0.5]]
)
def test_line_minus_cloud_is_its_integral(point):
    point, start, end = np.array(point), np.array([0.0, 0, 0]), np.array([0.3, 0.1, 0.0])
    # As used: the cloud is at least as wide as the element is long.
    for width in (0.4, 1.1):
        found = line_minus_cloud(
            point[None],
            start=start[None],
            end=end[None],
            radius=np.array([0.008]),
            width=np.array([width]),
        )[0]
        expected = _by_quadrature(point, start, end, 0.008, width)
        # Three points for the smooth part, on the scale of the cloud's own 2 / sqrt(π) / width.
        assert_allclose(found, expected, atol=1e-3 / width)


def test_point_on_the_axis_of_the_cloud_is_no_trouble():
    middle = np.array([[0.15, 0.0, -1.0]])
    value = line_minus_cloud(
        middle,
        start=np.array([[0.0, 0.0, -1.0]]),
        end=np.array([[0.3, 0.0, -1.0]]),
        radius=np.array([0.008]),
        width=np.array([0.4]),
    )
    expected = _by_quadrature(
        middle[0], np.array([0, 0, -1.0]), np.array([0.3, 0, -1.0]), 0.008, 0.4
    )
    assert_allclose(value, expected, rtol=1e-4)


def test_difference_vanishes_outside_the_cloud():
    points = np.array([[0.0, 1.0, 0.0], [3.0, 0.5, 0.0]])
    values = line_minus_cloud(
        points,
        start=np.zeros((2, 3)),
        end=np.tile([0.1, 0.0, 0.0], (2, 1)),
        radius=np.full(2, 1e-6),
        width=np.full(2, 0.3),
    )
    # erfc(3.3) is 3e-6.
    assert_allclose(values, 0.0, atol=1e-5)


@pytest.fixture(scope="module")
def elements():
    soil = Soil((100.0, 400.0), (1.0,))
    conductors = lay.together(
        lay.rods([0.0, 0.0], length=2.0, radius=0.008, top=0.4),
        lay.moved(lay.wire(length=2.0, radius=0.004, depth=0.4), shift=(0.3, 0.2)),
    )
    return line_elements(
        conductors, soil=soil, element_size=np.array([0.2, 0.35]), spread=np.array([0.15, 0.26])
    ), soil


def _matrix(elements, *, soil):
    return short_range(elements, clouds=clouds_of(elements), soil=soil).matrix()


def test_element_matrix_is_symmetric_and_positive(elements):
    matrix = _matrix(elements[0], soil=elements[1]).toarray()
    assert_allclose(matrix, matrix.T, rtol=1e-12)
    # Positive definite: no set of currents gives back energy near the metal.
    assert np.linalg.eigvalsh(matrix).min() > 0


@pytest.mark.parametrize("depth", [1.0, 0.996])
def test_a_flat_end_meets_its_image_in_a_plane_as_a_face(depth, monkeypatch):
    soil = Soil((400.0, 4.0), (depth,))
    line = line_elements(
        lay.rod(length=1.0, radius=0.01),
        soil=soil,
        element_size=np.array([0.2]),
        spread=np.array([0.4]),
    )
    flat = line.layer == 1
    found = _matrix(line, soil=soil).toarray()[flat]
    near_field = "ohmscape.solver.field.near_field."
    monkeypatch.setattr(near_field + "rows_of_balls_do", lambda *_, **__: False)
    # Now no image is a row of balls.
    assert_allclose(found, _matrix(line, soil=soil).toarray()[flat], rtol=0.01, atol=0.01)


def test_film_stands_on_the_diagonal(elements):
    line, soil = elements
    filmed = replace(line, series=np.full(len(line), 2.5))
    added = (_matrix(filmed, soil=soil) - _matrix(line, soil=soil)).toarray()
    assert_allclose(added, np.diag(2.5 / line.length), atol=1e-12)


def test_potential_inside_the_metal_is_that_at_its_face(elements):
    line, soil = elements
    k = int(np.flatnonzero(line.piece == 0)[3])
    # On the axis, inside the metal, at its face, outside.
    points = line.middle[k] + np.outer([0.0, 0.005, 0.008, 0.012], [1.0, 0.0, 0.0])
    near = NearField(line, clouds=clouds_of(line), soil=soil)
    values = near.potential(points, current=np.eye(len(line))[k])
    assert_allclose(values[:2], values[2], rtol=0.01)
    assert values[3] < 0.97 * values[2]


def test_potential_near_many_points_is_the_sum_over_wires(elements):
    line, soil = elements[0], Soil((100.0,))
    line = replace(line, layer=np.zeros(len(line), dtype=int))
    generator = np.random.default_rng(5)
    points = generator.uniform([-1, -1, -1], [1, 1, -0.0], size=(300, 3))
    points[:200, 2] = 0.0
    current = generator.uniform(0.5, 1.5, len(line)) * line.length
    width = np.sqrt(2) * line.spread
    expected = np.zeros(len(points))
    for mirrored in (1, -1):
        flip = np.array([1, 1, mirrored])
        for j in range(len(line)):
            expected += current[j] * line_minus_cloud(
                points,
                start=np.tile(flip * line.start[j], (len(points), 1)),
                end=np.tile(flip * line.end[j], (len(points), 1)),
                radius=np.zeros(len(points)),
                width=np.full(len(points), width[j]),
            )
    expected *= 100.0 / (4 * np.pi)
    field = NearField(line, clouds=clouds_of(line), soil=soil)
    near = field.potential(points, current=current)
    # Beyond the reach each is left out; faces are not axes, and balls are not lines.
    assert_allclose(near, expected, atol=3e-3 * expected.max(), rtol=0.02)
    # The surface alone is read from tables, and comes in other groups.
    alone = field.potential(points[:200], current=current * (1 - 2j))
    assert_allclose(alone, near[:200] * (1 - 2j), atol=1e-3 * expected.max(), rtol=1e-3)


def test_many_points_that_see_many_images_take_little_memory():
    soil = Soil((40.0, 10.0), (9.0,))
    line = line_elements(
        lay.wire(length=250.0, radius=0.006, depth=0.65),
        soil=soil,
        element_size=np.array([2.0]),
        spread=np.array([60.0]),
    )
    current = 1.0 + np.sin(np.arange(len(line)))
    x, y = np.meshgrid(np.linspace(-120, 120, 301), np.linspace(-20, 20, 81))
    points = np.column_stack([x.ravel(), y.ravel(), np.zeros(x.size)])
    near = NearField(line, clouds=clouds_of(line), soil=soil)
    near.potential(points[:10], current=current)  # makes what it keeps
    tracemalloc.start()
    near.potential(points, current=current)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    # All images of all ends of a cell at once took 220 MB.
    assert peak < 100e6


def test_what_is_kept_of_a_cell_is_of_the_currents_asked_for(elements):
    line, soil = elements
    generator = np.random.default_rng(4)
    points = generator.uniform([-1, -1, -1], [1, 1, 0], (60, 3))
    first, other = generator.uniform(-1, 1, (2, len(line)))
    kept = NearField(line, clouds=clouds_of(line), soil=soil)
    for current in (first, other, first, first + 1j * other):
        new = NearField(line, clouds=clouds_of(line), soil=soil)
        expected = new.potential(points, current=current)
        assert (expected != 0).sum() > 30
        # The second time some of the cells are known.
        for some in (points[::3], points):
            found = kept.potential(some, current=current)
            wanted = expected[:: len(points) // len(some)]
            assert_allclose(found, wanted, atol=1e-8 * np.abs(expected).max(), rtol=0)
