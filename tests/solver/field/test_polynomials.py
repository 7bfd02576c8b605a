"""Orthonormal polynomials over the reference tetrahedron."""

import numpy as np
import pytest
from skfem.quadrature import get_quadrature
from skfem.refdom import RefTet

from ohmscape.solver.field.polynomials import from_nodes, nodes, polynomials


@pytest.mark.parametrize("degree", [1, 4])
def test_products_of_two_polynomials_are_one_or_nothing(degree):
    local, weights = get_quadrature(RefTet, 9)
    values = polynomials(local, degree=degree)
    # The library's rule has some six digits.
    assert (values * weights) @ values.T == pytest.approx(np.eye(len(values)), abs=1e-4)


def test_those_of_a_low_degree_are_the_first_of_a_high_one():
    local = get_quadrature(RefTet, 5)[0]
    low, high = (polynomials(local, degree=degree) for degree in (1, 4))
    assert high[: len(low)] == pytest.approx(low, abs=1e-9)


def test_a_polynomial_is_known_from_its_values_at_the_nodes():
    def cubic(x, y, z):
        return 1.3 - 2 * x * y**2 + z**3 + 0.7 * x * y * z

    held = cubic(*nodes(4)) @ from_nodes(4)
    local = get_quadrature(RefTet, 7)[0]
    assert held @ polynomials(local, degree=4) == pytest.approx(cubic(*local), rel=1e-8)
    # One of the fifth degree is not.
    held = nodes(4)[0] ** 5 @ from_nodes(4)
    assert abs(held @ polynomials(local, degree=4) - local[0] ** 5).max() > 1e-4


def test_nodes_lie_inside():
    x, y, z = nodes(4)
    assert min(x.min(), y.min(), z.min(), (1 - x - y - z).min()) > 0
    assert len(np.unique(nodes(4).round(9), axis=1).T) == 35
