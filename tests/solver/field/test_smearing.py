"""Clouds of source on the mesh: weights, averages, refusal of meshes too coarse."""

from dataclasses import replace

import field_layouts as lay
import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.meshes import build_mesh, mesh_plan
from ohmscape.solver.errors import MeshError
from ohmscape.solver.field.clouds import clouds_of
from ohmscape.solver.field.elements import line_elements
from ohmscape.solver.field.images import rays
from ohmscape.solver.field.smearing import _read_heights, coupling, heights_of
from ohmscape.solver.field.space import Space
from ohmscape.solver.model import Soil

UNIFORM = Soil((100.0,))


@pytest.fixture(scope="module")
def deep():
    """A raked wire far below the surface, whose clouds no plane cuts."""
    conductors = lay.together(
        lay.moved(lay.wire(length=3.0, radius=0.005, depth=4.0), turn=0.4, shift=(0.3, 0.7))
    )
    conductors = replace(conductors, end=conductors.end - [0.0, 0.0, 0.8])
    mesh = build_mesh(mesh_plan(conductors, soil=UNIFORM, fineness=1.5))
    space = Space(mesh)
    elements = line_elements(
        conductors, soil=UNIFORM, element_size=mesh.element_size, spread=mesh.spread
    )
    return space, elements


def _average(space, *, elements, soil):
    """Average of each basis function under the balls of each element."""
    clouds = clouds_of(elements)
    return clouds.shares @ coupling(space, clouds=clouds, soil=soil)


@pytest.mark.parametrize("soil", [UNIFORM, Soil((100.0, 900.0), (4.2,))], ids=["one", "two"])
def test_all_current_enters_the_soil(deep, soil):
    space, elements = deep
    layered = replace(elements, layer=soil.layer_at(-elements.middle[:, 2]))
    matrix = _average(space, elements=layered, soil=soil)
    assert matrix.shape == (len(elements), space.size)
    assert_allclose(np.asarray(matrix.sum(axis=1)), 1.0, rtol=1e-12)


def test_average_of_a_linear_potential_is_its_value_at_the_middle(deep):
    space, elements = deep
    average = _average(space, elements=elements, soil=UNIFORM)
    points = space.mesh.points
    for direction in ([1.0, 0, 0], [0, 1.0, 0], [0, 0, 1.0], [0.3, -0.5, 0.8]):
        linear = space.vertex_prolongation @ (points @ direction)
        # Four quadrature points an element place the cloud to a few percent of its width.
        assert_allclose(
            average @ linear, elements.middle @ direction, atol=0.06 * elements.spread.max()
        )


def test_cloud_has_unit_weight_and_its_own_spread():
    elements = line_elements(
        lay.wire(length=0.5, radius=0.005, depth=5.0),
        soil=UNIFORM,
        element_size=np.array([0.6]),
        spread=np.array([0.45]),
    )
    first = replace(
        elements,
        start=np.array([[-0.1, 0, -5.0]]),
        end=np.array([[0.1, 0, -5.0]]),
        **{
            name: getattr(elements, name)[:1]
            for name in ("radius", "spread", "series", "layer")
        },
        **{name: getattr(elements, name)[:1] for name in ("piece", "group")},
    )
    clouds, spread = clouds_of(first), elements.spread[0]
    axis = np.linspace(-5 * spread, 5 * spread, 61)
    x, y, z = np.meshgrid(axis, axis, axis - 5.0, indexing="ij")
    density = np.zeros(x.size)
    for k, share in enumerate(clouds.shares.toarray()[0]):
        upright = heights_of(
            clouds,
            index=np.array([k]),
            z=z.reshape(1, -1),
            layer=np.array([0]),
            soil=UNIFORM,
            paths=list(rays(clouds, soil=UNIFORM, reach=1.0)),
        )
        plan = (x - clouds.place[k, 0]) ** 2 + (y - clouds.place[k, 1]) ** 2
        density += share * upright[0] * np.exp(-0.5 * plan.ravel() / spread**2)
    cell = (axis[1] - axis[0]) ** 3
    # The trapezoidal rule on a Gaussian converges faster than any power.
    assert_allclose(density.sum() * cell, 1.0, rtol=1e-5)
    across = (density * y.ravel() ** 2).sum() * cell
    along = (density * x.ravel() ** 2).sum() * cell
    assert_allclose(across, spread**2, rtol=1e-4)
    assert_allclose(along, spread**2 + 0.2**2 / 12, rtol=1e-4)


@pytest.mark.parametrize("places", [20_000, 50])
def test_what_stands_above_a_ball_is_the_same_from_a_table(places):
    soil = Soil((100.0, 900.0), (1.5,))
    elements = line_elements(
        lay.rod(length=3.0, radius=0.01),
        soil=soil,
        element_size=np.array([1.0]),
        spread=np.array([1.2]),
    )
    clouds = clouds_of(elements)
    index = np.array([0, len(clouds.place) - 1])
    assert clouds.layer[index[0]] != clouds.layer[index[1]]
    chance = np.random.default_rng(5)
    row, layer = chance.integers(2, size=(2, places))
    z = chance.uniform(-6.0, 0.0, size=(places, 4))
    known = {"soil": soil, "paths": list(rays(clouds, soil=soil, reach=6.0))}
    expected = heights_of(clouds, index=index[row], z=z, layer=layer, **known)
    found = _read_heights(clouds, index=index, row=row, z=z, layer=layer, **known)
    # Straight lines between places 0.004 deviations apart: 0.004² / 8 of the curvature, for
    # each of the images that overlap.
    assert_allclose(found, expected, atol=1e-5 * expected.max())
    # Few places are worked out themselves, many are not.
    assert (found == expected).all() == (places == 50)


def test_a_mesh_that_loses_the_metal_is_refused(deep):
    space, elements = deep
    narrow = replace(elements, spread=0.02 * elements.spread)
    with pytest.raises(MeshError, match=r"too coarse for the metal at \(.*more places"):
        coupling(space, clouds=clouds_of(narrow), soil=UNIFORM)
