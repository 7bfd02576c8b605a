"""Quadrature over elements that are split near places."""

import numpy as np
import pytest
from scipy.spatial import cKDTree

from ohmscape.solver.field.split_elements import all_parts, quadrature_of, split_near

_corners = np.array(
    [
        [[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]],
        [[1.0, 0, 0], [1, 1, 0], [0, 1, 0], [1, 1, 1]],
        [[40.0, 0, 0], [41, 0, 0], [40, 1, 0], [40, 0, 1]],
    ]
)
_near = np.array([[0.05, 0.05, 0.05]])


@pytest.fixture(name="parts")
def _parts() -> tuple[np.ndarray, np.ndarray]:
    tetrahedron, part = split_near(_corners, places=cKDTree(_near))
    return tetrahedron, all_parts()[part]


def _there(tetrahedron: np.ndarray, parts: np.ndarray) -> np.ndarray:
    """Corners of parts in space."""
    origin, edges = _corners[:, 0], _corners[:, 1:] - _corners[:, :1]
    return parts @ edges[tetrahedron] + origin[tetrahedron, None]


def test_parts_fill_their_tetrahedra(parts):
    tetrahedron, corners = parts
    assert (np.diff(tetrahedron) >= 0).all()
    edges = _there(tetrahedron, corners)[:, 1:] - _there(tetrahedron, corners)[:, :1]
    volume = np.bincount(tetrahedron, np.abs(np.linalg.det(edges)) / 6)
    whole = np.abs(np.linalg.det(_corners[:, 1:] - _corners[:, :1])) / 6
    assert volume == pytest.approx(whole, rel=1e-12)


def test_only_what_is_near_is_split_and_the_nearest_most(parts):
    tetrahedron, corners = parts
    assert (tetrahedron == 2).sum() == 1
    there = _there(tetrahedron, corners)
    off = np.linalg.norm(there.mean(axis=1) - _near[0], axis=1)
    width = np.ptp(there, axis=1).max(axis=1)
    assert width[off < 0.1] == pytest.approx(1 / 8)
    assert width[(tetrahedron == 0) & (off > 0.6)].min() > 0.2


def test_quadrature_over_parts_is_exact_to_the_fifth_degree(parts):
    tetrahedron, corners = parts
    local, weights = quadrature_of(corners[tetrahedron == 0][None])
    x, y, z = local[0]
    # Integral of x^a y^b z^c over the unit simplex: a! b! c! / (a + b + c + 3)!; the rule has
    # points and weights to six digits.
    assert weights[0] @ (x**2 * y**2 * z) == pytest.approx(
        4 / 40320, rel=1e-6
    )  # digits of the rule
    assert weights[0] @ x**5 == pytest.approx(120 / 40320, rel=1e-5)


def test_quadrature_near_a_pole_is_much_better_than_without_parts(parts):
    tetrahedron, corners = parts
    ball = 1e-2  # the pole made blunt, as narrow balls are

    def integral(pieces: np.ndarray) -> float:
        local, weights = quadrature_of(pieces[None])
        return float(weights[0] @ (1 / (((local[0].T - _near) ** 2).sum(axis=1) + ball)))

    fine = split_near(corners[tetrahedron == 0], places=cKDTree(_near))
    # Each part split again: its parts in the reference element of the whole.
    origin = corners[tetrahedron == 0][fine[0], 0]
    edges = corners[tetrahedron == 0][fine[0], 1:] - origin[:, None]
    finest = integral(all_parts()[fine[1]] @ edges + origin[:, None])
    whole = np.array([[[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]]])
    split = abs(integral(corners[tetrahedron == 0]) / finest - 1)
    assert split < 1e-3
    assert abs(integral(whole) / finest - 1) > 20 * split
