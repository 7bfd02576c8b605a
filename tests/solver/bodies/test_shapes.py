"""Shapes of bodies: what they hold, how far their faces are, what crosses them."""

from math import inf, pi

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.bodies import Ball, Cylinder, HalfSpace, Prism
from ohmscape.solver.errors import CaseError

ELL = ((0.0, 0.0), (4.1, 0.0), (4.1, 1.3), (1.2, 1.3), (1.2, 3.2), (0.0, 3.2))
SHAPES = {
    "ell": Prism(ELL, top=0.4, bottom=1.9),
    "ell at the surface": Prism(ELL, top=0.0, bottom=1.9),
    "ell without end": Prism(ELL, top=0.7, bottom=inf),
    "cylinder": Cylinder((0.6, 0.2), radius=1.7, top=0.3, bottom=2.1),
    "cylinder at the surface": Cylinder((0.6, 0.2), radius=1.7, top=0.0, bottom=2.1),
    "ball": Ball((0.6, 0.2, 2.0), radius=1.6),
    "half ball": Ball((0.6, 0.2, 0.0), radius=1.6),
    "cut ball": Ball((0.6, 0.2, 0.9), radius=1.6),
    "bowl": Ball((0.6, 0.2, -0.8), radius=1.9),
    "beyond a plane": HalfSpace((0.4, 0.7), normal=(3.0, -4.0)),
    "beyond a plane, below": HalfSpace((0.4, 0.7), normal=(-1.0, 0.3), top=0.5, bottom=2.2),
}


@pytest.fixture(params=SHAPES.values(), ids=SHAPES.keys())
def shape(request):
    return request.param


def _around(count, seed):
    rng = np.random.default_rng(seed)
    return rng.uniform([-4, -4, -5], [6, 5, 0], size=(count, 3))


def test_a_shape_holds_as_much_as_its_formula_says():
    x, y, z = 10.0, 9.0, 5.0
    ell = 4.1 * 1.3 + 1.2 * 1.9
    expected = {
        "ell": ell * 1.5,
        "ell at the surface": ell * 1.9,
        "cylinder": pi * 1.7**2 * 1.8,
        "ball": 4 / 3 * pi * 1.6**3,
        "half ball": 2 / 3 * pi * 1.6**3,
        "cut ball": pi / 3 * 2.5**2 * (3 * 1.6 - 2.5),
        "bowl": pi / 3 * 1.1**2 * (3 * 1.9 - 1.1),
    }
    points = _around(400_000, seed=3)
    for name, volume in expected.items():
        share = SHAPES[name].holds(points).mean()
        # Four standard deviations of what so many places drawn at random count.
        error = 4 * np.sqrt(share * (1 - share) / len(points)) * x * y * z
        assert share * x * y * z == pytest.approx(volume, abs=error), name


def test_the_distance_is_that_of_the_nearest_face(shape):
    # Nearer than it all is as at the place itself; a little beyond, something is not.
    rng = np.random.default_rng(5)
    directions = rng.normal(size=(6_000, 3))
    directions /= np.linalg.norm(directions, axis=1)[:, None]
    points = _around(60, seed=4)
    for point, held, gap in zip(
        points, shape.holds(points), shape.distance(points), strict=True
    ):
        nearer, farther = (point + share * gap * directions for share in (0.999, 1.1))
        assert (shape.holds(nearer[nearer[:, 2] <= 0]) == held).all()
        assert (shape.holds(farther[farther[:, 2] <= 0]) != held).any()


def test_between_crossings_a_segment_stays_on_one_side(shape):
    start, end = _around(500, seed=1), _around(500, seed=2)
    crossings = shape.crossings(start, end=end)
    assert not crossings.in_face.any()
    fine = np.linspace(0.0005, 0.9995, 1000)
    for a, b, at in zip(start, end, crossings.at, strict=True):
        assert (np.diff(at) > 0).all()
        held = shape.holds(a + fine[:, None] * (b - a))
        changes = np.flatnonzero(np.diff(held))
        # None of these goes through an edge, so that each crossing changes sides.
        assert len(changes) == len(at)
        assert_allclose((fine[changes] + fine[changes + 1]) / 2, at, atol=0.0006)
    assert sum(len(at) for at in crossings.at) > 20


def test_crossings_are_where_a_ruler_puts_them():
    start = np.array([[-1.0, 0.5, -1.0], [-1.0, 0.5, -1.0], [2.0, 0.5, 0.0]])
    end = np.array([[9.0, 0.5, -1.0], [1.0, 0.5, -1.0], [2.0, 0.5, -5.0]])
    through, into, down = SHAPES["ell"].crossings(start, end=end).at
    assert_allclose(through, [0.1, 0.51])
    assert_allclose(into, [0.5])
    assert_allclose(down, [0.4 / 5, 1.9 / 5])
    # The surface is no face.
    assert_allclose(SHAPES["ell at the surface"].crossings(start, end=end).at[2], [1.9 / 5])


@pytest.mark.parametrize(
    ("name", "start", "end", "lies"),
    [
        ("ell", (1, 0.5, -0.4), (3, 0.5, -0.4), True),  # in the top
        ("ell", (-3, 0.5, -1.9), (3, 0.6, -1.9), True),  # partly in the bottom
        ("ell", (-3, 0.0, -1.0), (2, 0.0, -1.0), True),  # partly along a wall
        ("ell", (-3, 0.0, -2.5), (2, 0.0, -2.5), False),  # below that wall
        ("ell", (2.0, 2.0, -0.4), (1.3, 3.0, -0.4), False),  # beside the top, in the notch
        ("ell at the surface", (1, 0.5, 0.0), (3, 0.5, 0.0), False),
        ("cylinder", (2.3, 0.2, 0.0), (2.3, 0.2, -1.0), True),
        ("cylinder", (2.3, -2.0, -1.0), (2.3, 2.0, -1.0), False),  # touches the wall
        ("half ball", (0.6, 0.2, 0.0), (0.6, 3.2, 0.0), False),
        ("beyond a plane", (3.4, 4.7 - 1.75, -1.0), (-3.6, 0.7 - 3.0, -2.0), True),
    ],
)
def test_a_segment_in_a_face_is_reported(name, start, end, lies):
    crossings = SHAPES[name].crossings(np.array([start], float), end=np.array([end], float))
    assert crossings.in_face.tolist() == [lies]


def test_bounds_hold_all_that_is_held(shape):
    low, high = shape.bounds()
    points = _around(200_000, seed=6)
    held = points[shape.holds(points)]
    assert (held >= low).all()
    assert (held <= high).all()
    # And they are tight wherever the shape ends within the places looked at.
    near = (low > [-4, -4, -5]) & np.isfinite(low)
    assert_allclose(held.min(axis=0)[near], low[near], atol=0.25)


def test_the_smallest_side_is_the_narrowest_measure():
    assert SHAPES["ell"].smallest_side == pytest.approx(1.2)
    assert Prism(ELL, top=0.0, bottom=0.15).smallest_side == pytest.approx(0.15)
    sliver = Prism(((0.0, 0.0), (8.0, 0.0), (4.0, 0.3)), top=0.0, bottom=2.0)
    assert sliver.smallest_side == pytest.approx(0.3)
    assert SHAPES["cylinder"].smallest_side == pytest.approx(1.8)
    assert Cylinder((0.0, 0.0), radius=0.2, top=0.0, bottom=inf).smallest_side == 0.4
    assert SHAPES["bowl"].smallest_side == pytest.approx(1.1)
    assert SHAPES["beyond a plane"].smallest_side == inf


@pytest.mark.parametrize(
    ("make", "match"),
    [
        (lambda: Prism(ELL[::-1], top=0.0, bottom=1.0), "clockwise"),
        (
            lambda: Prism(((0, 0), (1, 1), (1, 0), (0, 1)), top=0.0, bottom=1.0),
            "meets its side",
        ),
        (lambda: Prism(((0, 0), (1, 1)), top=0.0, bottom=1.0), "three corners"),
        (lambda: Prism(ELL, top=1.0, bottom=1.0), "bottom below its top"),
        (lambda: Cylinder((0, 0), radius=1.0, top=-0.1, bottom=1.0), "at the surface"),
        (lambda: Cylinder((0, 0), radius=0.0, top=0.0, bottom=1.0), "radius above 0"),
        (lambda: Ball((0, 0, -2.0), radius=1.5), "must lie in the soil"),
        (lambda: Ball((0, float("nan"), 2.0), radius=1.5), "finite"),
        (lambda: HalfSpace((0, 0), normal=(0, 0)), "direction"),
    ],
)
def test_what_is_no_shape_is_refused(make, match):
    with pytest.raises(CaseError, match=match):
        make()
