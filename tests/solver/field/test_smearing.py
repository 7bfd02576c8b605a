"""Clouds of source on the mesh: weights, averages, refusal of meshes too coarse."""

from dataclasses import replace

import field_layouts as lay
import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.meshes import build_mesh, mesh_plan
from ohmscape.solver.errors import MeshError
from ohmscape.solver.field.elements import line_elements
from ohmscape.solver.field.smearing import cloud_density, coupling
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


@pytest.mark.parametrize("soil", [UNIFORM, Soil((100.0, 900.0), (4.2,))], ids=["one", "two"])
def test_all_current_enters_the_soil(deep, soil):
    space, elements = deep
    layered = replace(elements, layer=soil.layer_at(-elements.middle[:, 2]))
    matrix = coupling(space, elements=layered, soil=soil)
    assert matrix.shape == (len(elements), space.size)
    assert_allclose(np.asarray(matrix.sum(axis=1)), 1.0, rtol=1e-12)


def test_average_of_a_linear_potential_is_its_value_at_the_middle(deep):
    space, elements = deep
    average = coupling(space, elements=elements, soil=UNIFORM)
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
    first = replace(elements, start=np.array([[-0.1, 0, -5.0]]), end=np.array([[0.1, 0, -5.0]]))
    spread = elements.spread[0]
    axis = np.linspace(-5 * spread, 5 * spread, 61)
    x, y, z = np.meshgrid(axis, axis, axis - 5.0, indexing="ij")
    points = np.stack([x, y, z], axis=-1).reshape(1, -1, 3)
    density = cloud_density(points, elements=first, index=np.array([0])).ravel()
    cell = (axis[1] - axis[0]) ** 3
    # The trapezoidal rule on a Gaussian converges faster than any power.
    assert_allclose(density.sum() * cell, 1.0, rtol=1e-5)
    across = (density * y.ravel() ** 2).sum() * cell
    along = (density * x.ravel() ** 2).sum() * cell
    assert_allclose(across, spread**2, rtol=1e-4)
    assert_allclose(along, spread**2 + 0.2**2 / 12, rtol=1e-4)


def test_a_mesh_that_loses_the_metal_is_refused(deep):
    space, elements = deep
    narrow = replace(elements, spread=0.02 * elements.spread)
    with pytest.raises(MeshError, match=r"too coarse for the metal at \(.*more places"):
        coupling(space, elements=narrow, soil=UNIFORM)
