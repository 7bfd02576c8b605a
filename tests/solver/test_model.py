"""Soil and conductors as the solver takes them."""

from dataclasses import replace

import field_layouts as lay
import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.solver.errors import CaseError
from ohmscape.solver.model import Conductors, Mesh, Soil


def test_layers_need_one_thickness_fewer():
    with pytest.raises(CaseError, match="2 resistivities and 0 thicknesses"):
        Soil((100.0, 50.0))


@pytest.mark.parametrize(
    "soil",
    [
        {"resistivity": (100.0, -3.0), "thickness": (1.0,)},
        {"resistivity": (100.0, 3.0), "thickness": (0.0,)},
        {"resistivity": (float("nan"),)},
        {"resistivity": (float("inf"),)},
    ],
    ids=["resistivity", "thickness", "nan", "inf"],
)
def test_values_must_be_positive_and_finite(soil):
    with pytest.raises(CaseError, match="must be positive and finite"):
        Soil(**soil)


def test_a_plane_belongs_to_the_layer_below_it():
    soil = Soil((10.0, 20.0, 30.0), (1.5, 2.0))
    assert soil.interface_depth.tolist() == [1.5, 3.5]
    assert soil.layer_at([0.0, 1.4, 1.5, 3.4, 3.5, 99.0]).tolist() == [0, 0, 1, 1, 2, 2]
    assert_allclose(soil.conductivity, [0.1, 0.05, 1 / 30])


def test_bare_pieces_have_no_film_and_no_sheath():
    conductors = Conductors.bare(
        [[0, 0, -1], [3, 0, -1]], end=[[3, 0, -1], [3, 4, -1]], radius=0.004, group=[0, 1]
    )
    assert conductors.length.tolist() == [3.0, 4.0]
    assert conductors.direction.tolist() == [[1, 0, 0], [0, 1, 0]]
    assert conductors.contact.tolist() == [0.0, 0.0]
    assert conductors.sheath_radius.tolist() == conductors.radius.tolist()
    assert conductors.sheath_cover.tolist() == [0.0, 0.0]
    assert conductors.group_names == conductors.part_names == ("group 0", "group 1")


def test_one_piece_may_be_given_flat():
    assert lay.wire(length=2.0, radius=0.01, depth=0.5).start.shape == (1, 3)


def test_outer_radius_is_that_of_the_farthest_point():
    points = np.array([[1.0, 2.0, 0.0], [4.0, 2.0, 0.0], [1.0, 6.0, 0.0], [1.0, 2.0, -3.0]])
    mesh = Mesh(points, np.array([[0, 1, 2, 3]]), (1.0, 2.0), np.array([0.1]), np.array([0.1]))
    assert mesh.outer_radius == 4.0


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"end": [[0.0, 0.0, 0.4]]}, "an end that is above the surface"),
        ({"radius": [0.0]}, "a radius that is not positive"),
        ({"radius": [-0.2]}, r"\(piece 1 of 1, of part '.*': -0.2 m; give the radius of the"),
        ({"group": [1]}, "a group without pieces"),
    ],
)
def test_impossible_conductors_are_refused(change, message):
    good = {"start": [[0.0, 0.0, 0.0]], "end": [[0.0, 0.0, -1.7]], "radius": [0.007]}
    given = good | change
    with pytest.raises(CaseError, match=message):
        Conductors.bare(given.pop("start"), **given)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"contact": -0.1}, "a contact resistance below zero"),
        ({"sheath_radius": 0.0079}, "a sheath narrower than the metal"),
        ({"sheath_resistivity": 0.0}, "a sheath resistivity that is not positive"),
        ({"sheath_cover": -0.01}, "a sheath cover below zero"),
        ({"sheath_cover": np.nan}, "a sheath cover below zero"),
    ],
)
def test_impossible_covers_are_refused(change, message):
    rod = lay.rod(length=1.7, radius=0.008)
    with pytest.raises(CaseError, match=message):
        replace(rod, **{name: np.array([value]) for name, value in change.items()})
