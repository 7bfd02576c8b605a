"""Round levels, number formats and file names."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.viz.canvas.boxes import Box
from ohmscape.viz.canvas.dashing import dashed
from ohmscape.viz.canvas.frame import Frame
from ohmscape.viz.canvas.levels import band_colours, contour_levels, round_step
from ohmscape.viz.wording import (
    file_stems,
    length_unit,
    place_text,
    scaled_unit,
    share_text,
    short,
    significant,
    with_unit,
)
from ohmscape.viz.words.amounts import section


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.123456, "123 mV"),
        (596.45, "596 V"),
        (9.996, "10.0 V"),
        (999.6, "1000 V"),
        (1506.19, "1.51 kV"),
        (20_000.0, "20.0 kV"),
        (-3.14159, "−3.14 V"),
        (0.0, "0 V"),
    ],
)
def test_voltages_read_with_three_figures_and_a_prefix(value, text):
    assert with_unit(value, symbol="V") == text


@pytest.mark.parametrize(
    ("value", "text"), [(0.0372, "0.0372"), (1234.5, "1230"), (-0.5, "−0.500")]
)
def test_significant_figures(value, text):
    assert significant(value) == text


@pytest.mark.parametrize(
    ("share", "text"),
    [(0.4567, "45.7 %"), (1.0004, "100.04 %"), (0.99996, "99.996 %"), (1.0, "100 %")],
)
def test_a_share_shows_on_which_side_of_the_limit_it_lies(share, text):
    assert share_text(share) == text


def test_levels_print_without_trailing_zeros():
    assert [short(v) for v in (50.0, 0.25, -1.5, 0.0)] == ["50", "0.25", "−1.5", "0"]


def test_units_of_length():
    assert_allclose(length_unit("US").factor * 0.3048, 1.0, rtol=1e-15)
    assert length_unit("SI").symbol == "m"
    # A place a hair below zero reads 0.0, not -0.0.
    text = place_text((3.048, -1e-4), unit=length_unit("US"), step=0.1)
    assert text == "(10.0, 0.0) ft"
    assert scaled_unit(1500.0, symbol="V").symbol == "kV"


def test_file_names_are_plain_and_never_twice():
    assert file_stems(("Gate / west", "gate west", "***", "Ωmega")) == [
        "gate-west",
        "gate-west-2",
        "unnamed",
        "ωmega",
    ]


def test_levels_are_even_where_values_are():
    values = np.linspace(3.7, 96.1, 500)
    levels = contour_levels(values, weights=np.ones(500))
    assert_allclose(levels.inner, np.arange(10, 100, 10), rtol=1e-12)
    assert (levels.low, levels.high) == (3.7, 96.1)


def test_levels_follow_decades_where_even_steps_would_show_one_colour():
    radius = np.linspace(0.01, 10, 2000)
    values = 120 * 0.01 / radius
    levels = contour_levels(values, weights=radius)  # rings of a map round a rod
    share = np.bincount(np.digitize(values, levels.inner), weights=radius) / radius.sum()
    assert share.max() < 0.5
    # The few high values near the rod have levels of their own.
    assert (levels.inner > 10).sum() >= 2
    first = levels.inner / 10 ** np.floor(np.log10(levels.inner) + 1e-9)
    assert set(np.round(first, 6)) <= {1.0, 1.5, 2.0, 3.0, 5.0, 7.0}


def test_levels_of_both_signs_mirror_at_zero():
    values = np.concatenate([-np.geomspace(0.01, 3, 50), np.geomspace(0.01, 100, 500)])
    levels = contour_levels(values, weights=1 / np.abs(values))
    inner = levels.inner
    assert 0.0 in inner
    negative = -inner[inner < 0][::-1]
    assert_allclose(negative, inner[inner > 0][: len(negative)], rtol=1e-12)


def test_constant_map_has_one_band():
    levels = contour_levels(np.full(9, 4.3), weights=np.ones(9))
    assert levels.bands == 1
    assert len(band_colours(1)) == 1


def test_bands_grow_lighter_so_that_grey_print_ranks_them():
    for scale in ("cividis", "magma"):
        lightness = band_colours(9, scale=scale) @ [0.2126, 0.7152, 0.0722]
        assert (np.diff(lightness) > 0).all()


@pytest.mark.parametrize(
    ("span", "parts", "step"), [(10.0, 9, 2.0), (0.93, 12, 0.1), (70.0, 7, 10.0), (1.0, 1, 1.0)]
)
def test_round_steps(span, parts, step):
    assert_allclose(round_step(span, parts=parts), step, rtol=1e-12)


def test_frame_keeps_one_scale_and_clips_lines_at_its_edge():
    frame = Frame.equal_scale(Box(100, 200, 500, 400), low=(-2.0, 1.0), high=(6.0, 3.0))
    assert_allclose(frame.scale, [50.0, 50.0])
    assert_allclose(frame.page([[-2.0, 3.0], [6.0, 1.0]]), [[100, 400], [500, 300]])
    across = frame.clipped([[[-10.0, 2.0], [10.0, 2.0]]])
    assert_allclose(across, [[[-2.0, 2.0], [6.0, 2.0]]])
    diagonal = frame.clipped([[[0.0, 0.0], [4.0, 4.0]]])
    assert_allclose(diagonal, [[[1.0, 1.0], [3.0, 3.0]]])
    outside = [[[-10.0, 0.0], [10.0, 0.0]], [[7.0, 0.0], [7.0, 5.0]]]
    assert len(frame.clipped(outside)) == 0


def test_dashes_run_on_over_joints():
    whole = dashed(np.array([[[0.0, 0.0], [100.0, 0.0]]]), dash=(7, 3))
    cut = dashed(
        np.array([[[0.0, 0.0], [33.0, 0.0]], [[33.0, 0.0], [100.0, 0.0]]]), dash=(7, 3)
    )
    drawn = [np.linalg.norm(d[:, 1] - d[:, 0], axis=1).sum() for d in (whole, cut)]
    assert_allclose(drawn, [70.0, 70.0], rtol=1e-12)


def test_a_section_is_told_in_square_millimetres_and_circular_mils():
    # 1/0 AWG is 53.475 mm² and 105.6 kcmil (ASTM B258, from memory).
    text = section(53.475e-6)
    assert text.plain(units="SI", vocabulary="earth") == "53.5 mm²"
    assert text.plain(units="US", vocabulary="ground") == "106 kcmil"
