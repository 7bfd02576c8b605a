"""The plan of a finer mesh, from how much smaller each element of a mesh should be."""

from dataclasses import replace

import numpy as np

from ..solver.field.space import Space
from ..solver.model import Floats, Integers
from ..solver.pairs import numbered
from .counting import expected_memory, refuse_above
from .plan import Background, MeshPlan, planned_size
from .sizing import points_along

# Sizes change no faster than this over a distance, below what hides small metal from gmsh.
_steepest = 0.45
_samples = 3.0  # along a piece, in one element


def refined_plan(
    plan: MeshPlan,
    *,
    space: Space,
    ratio: Floats,
    element_limit: int,
    memory_limit: float = np.inf,
) -> MeshPlan:
    """Plan of a mesh that is finer where it should be and the same elsewhere.

    Parameters
    ----------
    ratio : ndarray of float, shape (m,)
        New size over old of each element, at most 1.
    memory_limit : float, optional
        Most memory allowed. [byte]

    Returns
    -------
    plan : MeshPlan
        The metal is smeared as widely as before, so that smaller elements carry it better;
        it is cut into line elements as small as the mesh beside it.

    Raises
    ------
    BudgetError
        If the mesh would have more elements or take more memory than allowed.
    """
    mesh = space.mesh
    count, corners = len(mesh.points), mesh.tetrahedra.ravel()
    logarithms = np.bincount(corners, np.repeat(np.log(ratio), 4), count)
    share = np.exp(logarithms / np.bincount(corners, minlength=count))
    size = _graded(_size_there(plan, mesh.points) * share, space=space)
    along = _size_along(plan, space=space, size=size)
    elements = int((ratio**-3.0).sum())
    refuse_above(element_limit, count=elements, size=float(size.min()))
    return replace(
        plan,
        element_size=np.minimum(plan.element_size, along),
        elements=elements,
        memory=expected_memory(elements, limit=memory_limit),
        background=Background(mesh, size),
    )


def _size_there(plan: MeshPlan, points: Floats) -> Floats:
    """Edge length that the plan asks for, its background included, shape (n,). [m]"""
    size = planned_size(plan, points)
    if plan.background is None:
        return size
    before = Space(plan.background.mesh, order=1)
    return np.minimum(size, _interpolated(before, plan.background.size, points=points))


def _interpolated(space: Space, values: Floats, *, points: Floats) -> Floats:
    """Values at vertices, interpolated at points; beyond the mesh those of its rim."""
    element, weights = space.locate(points)
    inside = np.clip(weights, 0.0, 1.0)
    inside /= inside.sum(axis=1, keepdims=True)
    corners: Integers = space.mesh.tetrahedra[element]
    return np.asarray((values[corners] * inside).sum(axis=1))


def _graded(size: Floats, *, space: Space) -> Floats:
    """Sizes lowered until none is larger than a neighbour's and the growth to it."""
    first, second = space.topology.edges
    room = _steepest * np.linalg.norm(
        space.mesh.points[first] - space.mesh.points[second], axis=1
    )
    while True:
        lower = size.copy()
        np.minimum.at(lower, first, size[second] + room)
        np.minimum.at(lower, second, size[first] + room)
        if (lower > 0.999 * size).all():
            return lower
        size = lower


def _size_along(plan: MeshPlan, *, space: Space, size: Floats) -> Floats:
    """Geometric mean of the size along each piece of metal, shape (n,). [m]"""
    apart = plan.element_size / _samples
    places, _ = points_along(plan.start, end=plan.end, element_size=apart)
    count = np.maximum(1, np.round(plan.length / apart)).astype(int)
    piece, _ = numbered(count)
    found = _interpolated(space, size, points=places)
    return np.exp(np.bincount(piece, np.log(found)) / count)
