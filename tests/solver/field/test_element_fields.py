"""Fields of balls over single elements, beside brute quadrature of closed forms."""

import numpy as np
import pytest
import scipy.sparse as sparse
from scipy.spatial import cKDTree
from scipy.special import erf

from ohmscape.solver.field.clouds import Clouds
from ohmscape.solver.field.element_fields import Images, linear_gradients, products
from ohmscape.solver.field.images import Ray
from ohmscape.solver.field.near_slopes import slope_of_balls
from ohmscape.solver.field.space import Space
from ohmscape.solver.field.split_elements import split_near, split_quadrature
from ohmscape.solver.model import Mesh

_corners = np.array([[0.0, 0, -0.1], [0.5, 0.1, -0.12], [0.1, 0.45, -0.1], [0.1, 0.2, -0.35]])
# The first two are so near that the element is split, the last so far that it is not for it.
_places = np.array([[0.1, 0.1, -0.6], [0.3, 0.1, -0.62], [0.5, 0.1, -0.6], [1.2, 0.3, -0.7]])
_ways = [(Ray(0, 0, 1.0, 0.0, 1.0), 3.0), (Ray(0, 0, -1.0, 0.0, 1.0), 3.0)]


def _balls(gap: float = 0.2) -> Clouds:
    count = len(_places)
    return Clouds(
        place=_places,
        spread=np.full(count, 0.4),
        layer=np.zeros(count, dtype=int),
        gap=np.full(count, gap),
        shares=sparse.csr_matrix((0, count)),
    )


@pytest.fixture(name="space")
def _space() -> Space:
    return Space(
        Mesh(
            points=_corners,
            tetrahedra=np.array([[0, 1, 2, 3]]),
            element_size=np.array([0.4]),
            spread=np.array([0.4]),
            centre=(0.0, 0.0),
        )
    )


def _potential(places: np.ndarray, *, gap: float, spread: float) -> np.ndarray:
    r = np.linalg.norm(places, axis=-1)
    return (erf(np.sqrt(2) * r / gap) - erf(r / (np.sqrt(2) * spread))) / r


@pytest.mark.parametrize("near", [0.03, 0.3, 2.0])
def test_slopes_are_those_of_the_potential(near):
    gap, spread, step = 0.35, 0.6, 1e-5
    centre, place = np.array([0.2, -0.1, -0.8]), near * np.array([0.48, -0.6, 0.64])
    found = slope_of_balls(
        (centre + place)[None, :, None],
        centre=centre[None],
        gap=np.array([gap]),
        spread=np.array([spread]),
    )[0, :, 0]
    moved = place + step * np.concatenate([np.eye(3), -np.eye(3)])
    ahead, behind = np.split(_potential(moved, gap=gap, spread=spread), 2)
    # Digits of the table, and of the differences.
    assert found == pytest.approx((ahead - behind) / (2 * step), rel=1e-4, abs=1e-6)


def test_far_from_a_narrow_ball_it_is_a_point():
    places = np.array([[[1.0], [0.2], [0.3]]])
    spread, centre = np.array([0.6]), np.zeros((1, 3))
    ball = slope_of_balls(places, centre=centre, gap=np.array([0.2]), spread=spread)
    point = slope_of_balls(places, centre=centre, gap=None, spread=spread)
    assert point == pytest.approx(ball, rel=1e-6)


@pytest.mark.parametrize("split", [True, False])
def test_products_are_those_of_brute_quadrature(space, split):
    clouds, elements = _balls(), np.zeros(1, dtype=int)
    images = Images.of(
        np.array([[0, 1, 2, 3, 0]]),
        many=np.array([4]),
        elements=elements,
        space=space,
        clouds=clouds,
        ways=_ways,
        layer=elements,
    )
    parts = split_near(_corners[None], places=cKDTree(_places))[1][None]
    assert parts.shape[1] > 1
    far = (images.far | ~images.acts)[:, 0].all(axis=0)
    assert far[3]
    assert not far[:2].any()
    near = 4 - int(far[3])
    if not split:
        parts, near = np.zeros((1, 1), dtype=int), 4
    moments, felt = products(images, elements=elements, parts=parts, near=near, space=space)
    local, weights = split_quadrature(3)
    places = (space.jacobian[0] @ local + space.origin[0][:, None])[None]
    slope = sum(
        3.0
        * slope_of_balls(
            np.repeat(places, 4, axis=0),
            centre=ray.image(_places),
            gap=clouds.gap,
            spread=clouds.spread,
        )
        for ray, _ in _ways
    )
    brute = np.einsum("idq,jdq,q->ij", slope, slope, weights)
    off = abs(felt[0, :4, :4] - brute).max() / brute.max()
    gradients = np.einsum("ed,keq->kdq", space.inverse[0], space.gradients(local))
    wanted = np.einsum("idq,kdq,q->ik", slope, gradients, weights)
    turned = (space.inverse[0] @ moments[0, :4]).reshape(4, -1)
    of_mesh = abs(turned @ linear_gradients(space) - wanted).max() / abs(wanted).max()
    if split:
        assert max(off, of_mesh) < 3e-4
    else:  # as it would be without parts
        assert max(off, of_mesh) > 1e-3
    assert not felt[0, 4].any()
    assert not moments[0, 4].any()
