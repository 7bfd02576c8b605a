"""Rows of line elements by the ends they share, against each element by itself."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.field.elements import DISC, line_elements
from ohmscape.solver.field.images import Ray
from ohmscape.solver.field.joints import Joints
from ohmscape.solver.field.near_field import line_at
from ohmscape.solver.model import Conductors, Soil

SOIL = Soil((100.0, 40.0), (1.7,))
RAYS = [(Ray(0, 0, 1.0, 0.0, 1.0), 0.7), (Ray(0, 0, -1.0, -3.4, 0.4), 0.3)]
RAYS += [(Ray(1, 0, 1.0, 0.0, 1.0), 0.2)]


@pytest.fixture(scope="module")
def elements():
    """Two level wires that meet, an oblique one, and a rod through a plane."""
    metal = Conductors.bare(
        [[0.0, 0.0, -0.6], [7.3, 0.0, -0.6], [1.0, 2.0, -0.4], [3.1, -1.2, -0.3]],
        end=[[7.3, 0.0, -0.6], [7.3, 5.9, -0.6], [4.0, 5.0, -1.1], [3.1, -1.2, -4.0]],
        radius=0.006,
    )
    return line_elements(metal, soil=SOIL, element_size=np.full(4, 0.8), spread=np.full(4, 1.0))


def _one_by_one(elements, points, current):
    total = np.zeros(len(points), dtype=current.dtype)
    for ray, factor in RAYS:
        for k in np.flatnonzero(elements.layer == ray.source_layer):
            start, end = (ray.image(ends[[k]]) for ends in (elements.start, elements.end))
            shape = (len(points), 3)
            total += (factor * current[k]) * line_at(
                points,
                start=np.broadcast_to(start, shape),
                end=np.broadcast_to(end, shape),
                radius=np.zeros(len(points)),
            )
    return total


def _by_ends(joints, points, current):
    steps = current @ joints.change
    columns = [steps.real, steps.imag] if np.iscomplexobj(current) else [steps]
    seen = joints.round(
        points.mean(axis=0),
        ends=(np.arange(len(joints.place)), np.column_stack(columns)),
        rays=RAYS,
    )
    sums, left = seen.potential(points, apart=14.0)
    return sums @ [1, 1j][: len(columns)], left


@pytest.mark.parametrize("phase", [1.0, np.exp(0.7j)])
def test_rows_are_the_sum_of_their_elements(elements, phase):
    rng = np.random.default_rng(8)
    points = rng.uniform([-20, -20, 0], [30, 30, 0], (60, 3))
    # In line with a row, on either side of it: there figures are lost first.
    points = np.concatenate([points, [[-40.0, 0.2, -0.6], [60.0, 0.2, -0.6]]])
    current = phase * rng.uniform(0.2, 2.0, len(elements)) * rng.choice([-1, 1], len(elements))
    found, left = _by_ends(Joints.of(elements), points, current)
    assert not any(len(rows) for rows in left)
    expected = _one_by_one(elements, points, current)
    largest = np.abs(expected).max()
    assert_allclose(found[:-2], expected[:-2], atol=1e-10 * largest, rtol=0)
    assert_allclose(found[-2:], expected[-2:], atol=1e-8 * largest, rtol=0)


def test_neighbours_share_an_end(elements):
    joints = Joints.of(elements)
    rows = len(np.unique(joints.row))
    assert rows == 5  # the rod is in two layers
    flat = elements.face >= DISC  # two of one short length, beyond either part of the rod
    assert flat.sum() == 4
    assert len(joints.place) == (~flat).sum() + rows + 2
    # A leakage that is the same along a row changes at its ends alone.
    change = np.where(flat, 0.0, elements.length) @ joints.change
    inner = np.ones(len(change), dtype=bool)
    inner[np.unique(joints.row, return_index=True)[1]] = False
    inner[:-1] &= np.diff(joints.row) == 0
    inner[-1] = False
    assert inner.sum() > 90
    # The two ends of the rod are left, beyond which the flat ends go on.
    assert_allclose(np.sort(np.abs(change[inner]))[:-2], 0.0, atol=1e-9)


def test_rows_with_a_point_beside_their_axis_are_left_out(elements):
    joints = Joints.of(elements)
    rod = joints.row_of[(elements.piece == 3) & (elements.layer == 0)][0]
    points = np.array([[3.1, -1.2, 0.0], [9.0, 9.0, 0.0]])
    current = np.ones(len(elements))
    found, left = _by_ends(joints, points, current)
    assert left[0].tolist() == left[1].tolist() == [rod]
    others = np.where(joints.row_of == rod, 0.0, current)
    below = joints.row_of[(elements.piece == 3) & (elements.layer == 1)][0]
    assert left[2].tolist() == [below]
    others[joints.row_of == below] = 0.0
    assert_allclose(found, _one_by_one(elements, points, others), rtol=1e-10)
