"""Mean inverse distances against adaptive quadrature."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad

from ohmscape.solver.wire_distances import point_to_wire, wire_to_wire


def by_quadrature(start, end, other_start, other_end, offset):
    """Mean of 1/distance, the outer mean by adaptive quadrature, the inner one as well."""
    start, end, other_start, other_end = map(np.asarray, (start, end, other_start, other_end))

    def inner(s):
        point = start + s * (end - start)

        def inverse(t):
            gap = point - other_start - t * (other_end - other_start)
            return 1 / np.sqrt(gap @ gap + offset * offset)

        whole = other_end - other_start
        nearest = np.clip((point - other_start) @ whole / (whole @ whole), 1e-6, 1 - 1e-6)
        return quad(inverse, 0, 1, points=[nearest], epsabs=0, epsrel=1e-7, limit=200)[0]

    return quad(inner, 0, 1, epsabs=0, epsrel=1e-6, points=[0.35, 0.5], limit=200)[0]


PAIRS = {
    "itself": ([0, 0, -1], [2, 0, -1], [0, 0, -1], [2, 0, -1], 0.005),
    "next in line": ([0, 0, 0], [0, 0, -1], [0, 0, -1], [0, 0, -3.5], 0.01),
    "in line, turned round": ([0, 0, 0], [0, 0, -1], [0, 0, -3.5], [0, 0, -1], 0.01),
    "image in the surface": ([0, 1, -0.5], [4, 1, -0.5], [0, 1, 0.5], [4, 1, 0.5], 0.005),
    "right angle": ([0, 0, -1], [3, 0, -1], [0, 0, -1], [0, 2, -1], 0.005),
    "tee": ([0, 0, -1], [2, 0, -1], [0.7, 0, -1], [0.7, 0, -4], 0.005),
    "cross": ([0, 0, -1], [2, 0, -1], [0.7, -1, -1], [0.7, 1.3, -1], 0.005),
    "pass by": ([0, 0, -1], [2, 0.3, -1.2], [0.7, -1, -1.4], [0.9, 1.3, -1], 0.01),
    "far": ([0, 0, -1], [2, 0.3, -1.2], [9, -1, -1.4], [9.5, 1.3, -1], 0.01),
}


@pytest.mark.parametrize("name", PAIRS)
def test_wires_against_quadrature(name):
    *ends, offset = PAIRS[name]
    a, b, c, d = (np.array([end], dtype=float) for end in ends)
    found = wire_to_wire(a, end=b, other_start=c, other_end=d, offset=np.array([offset]))
    # Parallel wires have a closed form; others are integrated by 3 points where they are
    # apart, by 6 crowded ones on either side of the nearest place where they touch.
    rtol = 1e-5 if "line" in name or name in ("itself", "image in the surface") else 5e-3
    assert_allclose(found[0], by_quadrature(*ends, offset), rtol=rtol)


def test_points_against_quadrature():
    points = np.array([[0.3, 0.4, -0.2], [5.0, 1.0, 0.0], [1.0, 0.0, -1.0]])
    start, end = np.array([0.0, 0.0, -1.0]), np.array([2.0, 0.5, -1.5])
    found = point_to_wire(points, start=start, end=end, offset=np.full(3, 0.02))

    def inverse(t, point):
        gap = point - start - t * (end - start)
        return 1 / np.sqrt(gap @ gap + 0.02**2)

    expected = [quad(inverse, 0, 1, args=(point,), epsrel=1e-9)[0] for point in points]
    assert_allclose(found, expected, rtol=1e-7)


def test_a_wire_does_to_another_what_that_does_to_it():
    rng = np.random.default_rng(7)
    a, b, c, d = rng.uniform(-3, 0, (4, 50, 3))
    offset = np.full(50, 0.01)
    there = wire_to_wire(a, end=b, other_start=c, other_end=d, offset=offset)
    back = wire_to_wire(c, end=d, other_start=a, other_end=b, offset=offset)
    # Only one of the two means is integrated numerically: see the test above.
    assert_allclose(there, back, rtol=5e-3)
