"""Currents from voltages through the parts of the short-range matrix."""

import field_layouts as lay
import numpy as np
import pytest
import scipy.sparse as sparse
from numpy.testing import assert_allclose

from ohmscape.solver.errors import ConvergenceError
from ohmscape.solver.field import short_range as tested
from ohmscape.solver.field.clouds import clouds_of
from ohmscape.solver.field.elements import line_elements
from ohmscape.solver.field.near_field import short_range
from ohmscape.solver.field.short_range import ShortRange
from ohmscape.solver.model import Soil

SOIL = Soil((100.0, 400.0), (1.5,))
APART = [[x, y] for x in (0.0, 4.0, 9.0) for y in (0.0, 5.0)]


def _of(conductors):
    count = len(conductors.start)
    elements = line_elements(
        conductors, soil=SOIL, element_size=np.full(count, 0.8), spread=np.full(count, 1.2)
    )
    return short_range(elements, clouds=clouds_of(elements), soil=SOIL), elements.piece


@pytest.fixture(scope="module", params=["grid", "long wire", "rods apart"])
def metal(request):
    return _of(
        {
            "grid": lambda: lay.grid(sides=(12.0, 9.0), lines=(5, 4), depth=0.5, radius=0.005),
            "long wire": lambda: lay.wire(length=60.0, radius=0.004, depth=0.6),
            "rods apart": lambda: lay.rods(APART, length=2.0, radius=0.008),
        }[request.param]()
    )


def test_the_parts_are_the_whole(metal):
    parts, _ = metal
    current = np.sin(np.arange(len(parts.wires.toarray())))
    assert_allclose(parts @ current, parts.matrix().toarray() @ current, rtol=1e-10, atol=1e-10)


def test_currents_of_large_metal_are_those_of_the_whole_matrix(metal, monkeypatch):
    parts, piece = metal
    exact = np.linalg.inv(parts.matrix().toarray())
    monkeypatch.setattr(tested, "_directly", 0)
    inverse = parts.inverse(piece)
    assert isinstance(inverse, tested._ByBlocks)
    for voltage in (np.ones(len(piece)), np.sin(np.arange(len(piece)))):
        # It stops at 1e-10 V, of which joints, the least resistive, make more current.
        assert_allclose(
            inverse(voltage), exact @ voltage, atol=1e-8 * np.abs(exact @ voltage).max()
        )


@pytest.mark.parametrize(("near", "most"), [(0.0, 3), (tested._near, 7)])
def test_pieces_apart_need_few_steps(near, most, monkeypatch):
    parts, piece = _of(lay.rods(APART, length=2.0, radius=0.008))
    monkeypatch.setattr(tested, "_directly", 0)
    monkeypatch.setattr(tested, "_near", near)
    # With all of the balls one in exact arithmetic, one for single precision, one to see it.
    _, done = parts.inverse(piece).steps(np.sin(np.arange(len(piece))), most=most)
    assert done


def test_blocks_are_runs_of_a_piece():
    piece = np.repeat([0, 1, 2], [3, tested._run + 2, 1])
    expected = np.repeat([0, 1, 2, 3], [3, tested._run, 2, 1])
    assert_allclose(tested._runs(piece), expected)


def _hard():
    """Elements that act on all others more than on themselves: blocks say nothing."""
    count = 200
    rotation, _ = np.linalg.qr(np.random.default_rng(3).normal(size=(count, count)))
    matrix = rotation @ np.diag(np.logspace(-6, 0, count)) @ rotation.T
    return ShortRange(
        wires=sparse.csr_matrix(matrix),
        balls=sparse.csr_matrix(np.full((1, 1), 1e-9)),
        shares=sparse.csr_matrix(np.ones((count, 1))),
    ), np.arange(count)


def test_what_blocks_cannot_do_is_done_directly(monkeypatch):
    parts, piece = _hard()
    monkeypatch.setattr(tested, "_directly", 0)
    inverse = parts.inverse(piece)
    assert not isinstance(inverse, tested._ByBlocks)
    voltage = np.cos(np.arange(len(piece)))
    assert_allclose(parts @ inverse(voltage), voltage, atol=1e-8)


def test_currents_that_are_not_found_are_not_handed_out():
    parts, piece = _hard()
    with pytest.raises(ConvergenceError, match=r"200 line elements .* in 200 steps"):
        tested._ByBlocks(parts, block=tested._runs(piece))(np.cos(np.arange(len(piece))))
