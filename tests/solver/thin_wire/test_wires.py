"""Cutting metal into wires: what must stay the same, and what is refused."""

from dataclasses import replace

import field_layouts as lay
import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.errors import BudgetError
from ohmscape.solver.model import Conductors, Soil
from ohmscape.solver.thin_wire.wires import bluntness, cut_into_wires

SOIL = Soil((100.0, 20.0, 500.0), (0.5, 1.5))


def cut(conductors, *, soil=SOIL, longest=0.4, most=5000):
    return cut_into_wires(conductors, soil=soil, longest=longest, most=most)


def test_wires_of_a_piece_make_up_its_length_in_its_place():
    metal = Conductors.bare(
        [[0, 0, 0], [3, 0, -0.7]], end=[[1, 2, -4], [9, 0, -0.7]], radius=0.01
    )
    wires = cut(metal)
    assert_allclose(np.bincount(wires.piece, weights=wires.length), metal.length, rtol=1e-12)
    for piece in (0, 1):
        mine = wires.piece == piece
        assert_allclose(wires.start[mine][0], metal.start[piece])
        assert_allclose(wires.end[mine][-1], metal.end[piece])
        assert_allclose(wires.start[mine][1:], wires.end[mine][:-1], atol=1e-12)


def test_no_wire_crosses_a_plane_and_each_knows_its_layer():
    wires = cut(lay.rod(length=3.0, radius=0.008))
    tops, bottoms = np.array([0.0, 0.5, 2.0]), np.array([0.5, 2.0, np.inf])
    assert set(wires.layer) == {0, 1, 2}
    assert (-wires.start[:, 2] >= tops[wires.layer] - 1e-12).all()
    assert (-wires.end[:, 2] <= bottoms[wires.layer] + 1e-12).all()


def test_metal_in_a_plane_belongs_to_the_layer_below():
    wires = cut(lay.wire(length=4.0, radius=0.005, depth=0.5))
    assert (wires.layer == 1).all()


def test_wires_get_shorter_towards_ends_but_not_shorter_than_the_face_is_wide():
    wires = cut(lay.rod(length=3.0, radius=0.03), soil=Soil((100.0,)), longest=0.001)
    assert wires.length[0] == pytest.approx(wires.length[-1])
    assert wires.length.argmax() in (len(wires) // 2 - 1, len(wires) // 2)
    # One radius, but for rounding to an even number of wires.
    assert 0.7 * 0.03 < wires.length.min() < 1.5 * 0.03


def test_film_and_shell_are_resistances_in_series():
    rod = lay.rod(length=3.0, radius=0.01)
    dressed = replace(
        rod,
        contact=np.array([0.6]),
        sheath_radius=np.array([0.05]),
        sheath_resistivity=np.array([40.0]),
    )
    wires = cut(dressed)
    # In parallel they are the film over the face of the metal plus the shell's
    # ρ ln(b / a) / 2 π L.
    total = 1 / (1 / wires.series).sum()
    expected = 0.6 / (2 * np.pi * 0.01 * 3) + 40 * np.log(5) / (2 * np.pi * 3)
    assert_allclose(total, expected, rtol=1e-12)
    assert (wires.face == 0.05).all()


def test_fill_goes_on_beyond_free_ends_only_and_there_it_is_harder_to_reach():
    pieces = Conductors.bare(
        [[0, 0, 0], [0, 0, -1]], end=[[0, 0, -1], [0, 0, -3]], radius=[0.01, 0.01]
    )
    filled = replace(
        pieces,
        sheath_radius=np.full(2, 0.1),
        sheath_resistivity=np.full(2, 40.0),
        sheath_cover=np.full(2, 0.3),
    )
    wires = cut(filled, soil=Soil((100.0,)))
    assert_allclose(np.bincount(wires.piece, weights=wires.length), [1.0, 2.3])
    assert wires.end[:, 2].min() == pytest.approx(-3.3)
    assert wires.start[:, 2].max() == 0.0
    found = 1 / (1 / wires.series[wires.piece == 1]).sum()
    # Geometric mean of ρ ln(b/a) / 2 π cover and ρ (1/a - 1/b) / 2 π beside 2 m of metal.
    straight = 40 * np.log(10) / (2 * np.pi)
    end = np.sqrt(straight / 0.3 * 40 * (1 / 0.01 - 1 / 0.1) / (2 * np.pi))
    assert_allclose(found, 1 / (2 / straight + 1 / end), rtol=1e-12)


def test_pairs_join_two_neighbours_of_one_group():
    metal = lay.in_groups(
        lay.rod(length=3.0, radius=0.01), lay.wire(length=5.0, radius=0.01, depth=0.7)
    )
    wires = cut(metal)
    sizes = np.bincount(wires.pair)
    assert set(sizes) <= {1, 2}
    assert (sizes == 1).sum() <= 2
    for number in range(len(sizes)):
        assert len(set(wires.group[wires.pair == number])) == 1


def test_fewer_wires_at_free_ends_before_refusing_and_then_a_refusal():
    many = lay.rods(lay.line_places(20, spacing=3.0), length=2.0, radius=0.008)
    soil = Soil((100.0,))
    assert len(cut(many, soil=soil, longest=5.0, most=120)) == 120
    assert len(cut(many, soil=soil, longest=5.0, most=119)) == 80
    with pytest.raises(BudgetError, match=r"into 40 wires; its matrix takes at most 39"):
        cut(many, soil=soil, longest=5.0, most=39)


def test_bluntness_counts_the_faces_of_free_ends():
    rod = lay.rod(length=2.0, radius=0.01)  # its top is at the surface
    wire = lay.wire(length=5.0, radius=0.02, depth=0.7)
    square = lay.grid(sides=(3.0, 3.0), lines=(2, 2), radius=0.1, depth=0.7)
    assert bluntness(square) == 0.0
    assert bluntness(rod) == pytest.approx(0.005)
    assert bluntness(lay.in_groups(rod, wire)) == pytest.approx(2 * 0.02 / 5.0)
