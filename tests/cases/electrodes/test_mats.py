"""Reinforcement: bars at even spacing in outlines, their levels, and what they are worth."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.electrodes.counts import count_pieces
from ohmscape.cases.electrodes.mats import bars_of, mat_pieces
from ohmscape.cases.electrodes.schema import Mat
from ohmscape.cases.loading import load_case_text
from ohmscape.solver.errors import BudgetError, CaseError
from ohmscape.solver.thin_wire import second_opinion

CASE = """
ohmscape: 1
title: Mat
soil: {{layers: [{{resistivity: 100 ohm*m}}]}}
electrodes:
  - name: foundation
    drive: {{current: 1 A}}
    parts: [{part}]
"""
SQUARE = "kind: mat, centre: [1 m, 2 m], size: [4 m, 4 m], depths: [0.5 m], diameter: 10 mm"


def mat(**more):
    block = {"kind": "mat", "diameter": "12 mm", "depths": ["0.5 m"], **more}
    return Mat.model_validate(block)


def metal(part):
    return load_case_text(CASE.format(part="{" + part + "}")).conductors


def lengths(pieces):
    return np.linalg.norm(pieces.end - pieces.start, axis=1)


@pytest.mark.parametrize(
    ("spacing", "ohms"),
    # Thin wires of their own, halved until nothing moved; good to 0.2 %.
    [("1 m", 9.819), ("0.5 m", 9.330), ("0.25 m", 9.058)],
)
def test_a_square_mat_has_the_resistance_of_its_wires(spacing, ohms):
    conductors = metal(f"{SQUARE}, spacing: {spacing}")
    found = second_opinion(
        conductors, soil=load_case_text(CASE.format(part="{" + SQUARE + ", spacing: 1 m}")).soil
    )
    assert_allclose(1 / found.current_matrix[0, 0], ohms, rtol=2e-3)


def test_bars_that_do_not_fill_the_rectangle_stand_about_its_middle():
    part = mat(corner=["10 m", "0 m"], size=["2.5 m", "1.3 m"], spacing="1 m")
    pieces = mat_pieces(part)
    assert bars_of(part) == (3, 2)
    assert_allclose(lengths(pieces), [2.5, 2.5, 1.3, 1.3, 1.3])
    assert_allclose(np.unique(pieces.start[2:, 0]), [10.25, 11.25, 12.25])
    assert_allclose(np.unique(pieces.start[:2, 1]), [0.15, 1.15])


def test_bars_on_the_rim_are_there_and_turned_with_the_mat():
    part = mat(centre=["0 m", "0 m"], size=["4 m", "2 m"], spacing="1 m", rotation="90 deg")
    pieces = mat_pieces(part)
    assert len(pieces.start) == 5 + 3
    corners = np.vstack([pieces.start, pieces.end])
    assert_allclose(np.abs(corners).max(axis=0), [1.0, 2.0, 0.5], atol=1e-6)
    assert_allclose(lengths(pieces).sum(), 5 * 2 + 3 * 4, rtol=1e-6)


def test_an_outline_cuts_bars_and_leaves_stubs_out():
    # A triangle: bars along y at x = 0.5, 1.5, 2.5, 3.5, the last 0.5 m long, and on the rim.
    part = mat(outline=[["0 m", "0 m"], ["4 m", "0 m"], ["0 m", "4 m"]], spacing="1.1 m")
    pieces = mat_pieces(part)
    ends = np.stack([pieces.start, pieces.end])
    assert (ends[..., :2].sum(axis=-1) <= 4 + 1e-6).all()
    upright = np.abs(pieces.start[:, 0] - pieces.end[:, 0]) < 1e-9
    at = 2.0 + 1.1 * np.array([-1.5, -0.5, 0.5])  # 3.65 leaves a stub of 0.35 m
    assert_allclose(np.sort(pieces.start[upright, 0]), at)
    # Beside slanted sides a bar is looked for within a millionth.
    assert_allclose(np.sort(lengths(pieces)[upright]), np.sort(4 - at), rtol=1e-6)


def test_two_levels_are_tied_at_crossings_that_are_there():
    outline = [
        ["0 m", "0 m"],
        ["6 m", "0 m"],
        ["6 m", "2 m"],
        ["2 m", "2 m"],
        ["2 m", "6 m"],
        ["0 m", "6 m"],
    ]
    part = mat(outline=outline, spacing="1 m", depths=["0.4 m", "0.7 m"], tie_every=2)
    pieces = mat_pieces(part)
    ties = np.flatnonzero(np.abs(pieces.start[:, 2] - pieces.end[:, 2]) > 0.1)
    assert_allclose(lengths(pieces)[ties], 0.3)
    # An L of two arms: 4 x 2 crossings along each but for the square they share.
    assert len(ties) == 4 * 2 + 2 * 2
    level = [np.isclose(pieces.start[:, 2], -depth).sum() for depth in (0.4, 0.7)]
    assert level[0] - len(ties) == level[1]
    assert count_pieces(part) >= len(pieces.start)


def test_ties_and_bars_of_a_case_are_joined():
    two = SQUARE.replace("[0.5 m]", "[0.5 m, 0.8 m]")
    conductors = metal(f"{two}, spacing: 1 m, tie_every: 2")
    # Bars are split at crossings: 2 levels of 2 x 5 x 4, and 9 ties.
    assert len(conductors.start) == 2 * 40 + 9


@pytest.mark.parametrize(
    ("more", "message"),
    [
        ("depths: [0.5 m, 0.5 m], spacing: 1 m", "both levels are 0.5 m deep"),
        ("depths: [0.5 m], spacing: 1 m, tie_every: 2", "'tie_every' joins two levels"),
        ("depths: [0.5 m]", "spacing"),
        (
            "depths: [0.5 m], spacing: 9 m, outline: [[0 m, 0 m], [1 m, 0 m], [0 m, 1 m]]",
            "centre",
        ),
    ],
)
def test_a_mat_that_cannot_be_is_refused(more, message):
    block = "kind: mat, centre: [0 m, 0 m], size: [4 m, 4 m], diameter: 10 mm"
    with pytest.raises(CaseError, match=message):
        metal(f"{block}, {more}")


def test_a_mat_without_room_for_a_bar_is_refused():
    with pytest.raises(CaseError, match="no bar finds room at a spacing of 9 m in 4 x 4 m"):
        metal(f"{SQUARE}, spacing: 9 m")


def test_a_mat_of_too_many_bars_is_refused_before_it_is_built():
    with pytest.raises(BudgetError, match="straight pieces of metal"):
        metal(f"{SQUARE.replace('4 m, 4 m', '400 m, 400 m')}, spacing: 10 mm")
