"""Orthonormal polynomials over the reference tetrahedron, and functions told by their values.

What is smooth over an element is known from its values at few places of it, whatever number of
points its integral with something less smooth takes.
"""

from functools import cache
from itertools import product
from math import factorial

import numpy as np

from ..model import Floats, Integers

_inset = 0.25  # of the outermost nodes, in gaps between nodes; on the faces values are worst


def polynomials(local: Floats, *, degree: int) -> Floats:
    """Values at points of the reference element, the linear polynomials first.

    Parameters
    ----------
    local : ndarray of float, shape (3, n)
        The points.

    Returns
    -------
    values : ndarray of float, shape (m, n)
        Integrals of the products of two of the m polynomials are 1 or 0.
    """
    found: Floats = _orthonormal(degree) @ _monomials(local, degree=degree)
    return found


@cache
def nodes(degree: int) -> Floats:
    """Even places in the reference element, as many as there are polynomials, (3, m)."""
    places = _powers(degree).T.astype(np.float64) + _inset
    return np.asarray(places / (degree + 4 * _inset))


@cache
def from_nodes(degree: int) -> Floats:
    """Matrix that takes values at the nodes, a row, to those of the polynomials, (m, m)."""
    values = polynomials(nodes(degree), degree=degree)
    return np.asarray(np.linalg.inv(values), dtype=np.float64)


@cache
def _powers(degree: int) -> Integers:
    """Powers of the coordinates in each monomial, shape (m, 3)."""
    found = [each for each in product(range(degree + 1), repeat=3) if sum(each) <= degree]
    return np.array(sorted(found, key=sum))


def _monomials(local: Floats, *, degree: int) -> Floats:
    """Products of powers of the coordinates, shape (m, n)."""
    powers = local ** np.arange(degree + 1)[:, None, None]
    x, y, z = _powers(degree).T
    return np.asarray(powers[x, 0] * powers[y, 1] * powers[z, 2])


@cache
def _orthonormal(degree: int) -> Floats:
    """Matrix that takes monomials to orthonormal polynomials, lower triangular."""
    powers = _powers(degree)
    both = powers[:, None] + powers
    # Integral of x^a y^b z^c over the unit simplex: a! b! c! / (a + b + c + 3)!.
    faculty = np.array([float(factorial(k)) for k in range(2 * degree + 4)])
    products = faculty[both].prod(axis=2) / faculty[both.sum(axis=2) + 3]
    return np.linalg.inv(np.linalg.cholesky(products))
