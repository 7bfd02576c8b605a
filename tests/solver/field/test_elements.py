"""Cutting the metal into line elements."""

from dataclasses import replace

import field_layouts as lay
import numpy as np
from numpy.testing import assert_allclose

from ohmscape.solver.field.break_points import break_points, free_ends
from ohmscape.solver.field.elements import line_elements
from ohmscape.solver.model import Conductors, Soil


def _breaks(length=3.0, longest=0.5, first=(0.5, 0.5), cuts=()):
    return break_points(length, longest=longest, first=first, cuts=np.array(cuts))


def test_no_element_is_longer_than_asked():
    for length in (0.3, 1.0, 2.7):
        breaks = _breaks(length, longest=0.4, first=(0.05, 0.4))
        assert breaks[0] == 0.0
        assert breaks[-1] == length
        assert (np.diff(breaks) > 0).all()
        assert np.diff(breaks).max() <= 0.4 + 1e-9


def test_elements_grow_away_from_a_free_end():
    size = np.diff(_breaks(10.0, longest=1.0, first=(0.05, 1.0)))
    assert_allclose(size[0], 0.05)
    assert_allclose(size[1] / size[0], 1.6)
    assert size[-1] > 10 * size[0]
    both = np.diff(_breaks(10.0, longest=1.0, first=(0.05, 0.05)))
    assert_allclose(both, both[::-1])


def test_interfaces_are_break_points():
    breaks = _breaks(3.0, longest=0.7, first=(0.03, 0.03), cuts=[0.31, 2.2])
    assert {0.31, 2.2} <= set(breaks.tolist())
    # No sliver beside a cut.
    assert np.diff(breaks).min() > 0.02


def test_ends_are_free_unless_they_meet_metal_or_the_surface():
    start, end = free_ends(
        lay.together(
            lay.rods([0.0, 0.0], length=2.0, radius=0.008),
            lay.wire(length=3.0, radius=0.005, depth=0.5),
            lay.moved(lay.wire(length=3.0, radius=0.005, depth=0.5), shift=(3.0, 0.0)),
        )
    )
    assert start.tolist() == [False, True, False]
    assert end.tolist() == [True, False, True]


def test_a_lone_piece_has_two_free_ends():
    start, end = free_ends(lay.wire(length=3.0, radius=0.005, depth=0.5))
    assert (start.tolist(), end.tolist()) == ([True], [True])


def _rod_elements(conductors, soil=None, size=0.4):
    soil = soil or Soil((300.0, 50.0), (1.1,))
    sources = line_elements(
        conductors,
        soil=soil,
        element_size=np.full(len(conductors.start), size),
        spread=np.full(len(conductors.start), 0.75 * size),
    )
    return sources.lines()[0]  # without flat ends


def test_elements_fill_the_metal_and_stay_in_one_layer():
    elements = _rod_elements(lay.rod(length=3.0, radius=0.008))
    assert_allclose(elements.length.sum(), 3.0)
    assert_allclose(elements.start[1:], elements.end[:-1])
    assert (np.diff(elements.layer) >= 0).all()
    depth = -np.array([elements.start[:, 2], elements.end[:, 2]])
    assert depth[:, elements.layer == 0].max() <= 1.1 + 1e-9
    assert depth[:, elements.layer == 1].min() >= 1.1 - 1e-9


def test_metal_along_an_interface_is_cut_nowhere():
    soil = Soil((300.0, 50.0), (1.1,))
    elements = _rod_elements(lay.wire(length=3.0, radius=0.005, depth=1.1), soil)
    assert set(elements.layer.tolist()) == {1}


def test_film_and_sheath_stand_in_series():
    conductors = replace(
        lay.encased_rod(length=3.0, radius=0.01, shell_radius=0.1, shell_resistivity=40.0),
        contact=np.array([0.2]),
    )
    elements = _rod_elements(conductors)
    expected = 0.2 / (2 * np.pi * 0.01) + 40.0 / (2 * np.pi) * np.log(10.0)
    assert_allclose(elements.series, expected)
    assert_allclose(elements.radius, 0.1)


def test_groups_and_pieces_are_kept():
    conductors = Conductors.bare(
        [[0, 0, -1], [5, 0, -1]], end=[[2, 0, -1], [5, 0, -3]], radius=0.01, group=[1, 0]
    )
    elements = _rod_elements(conductors)
    assert (elements.group == np.array([1, 0])[elements.piece]).all()
    assert len(elements) == len(elements.middle)
