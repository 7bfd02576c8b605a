"""What metal with voltages along it has in common with metal at one potential.

Of a solution on the same mesh whose system was kept, the matrix of the soil and the
preconditioner are taken over, and where no element has to be shorter, what couples metal and
soil too: all but the network of the metal and the solution itself.
"""

from collections.abc import Callable
from dataclasses import dataclass

import scipy.sparse as sparse

from ..anisotropy import Twin
from ..model import Floats, Mesh, Soil
from .break_points import Marks
from .conduction import open_boundary, stiffness
from .conductivity import LayeredElements, layered_elements
from .elements import LineElements
from .films import film_matrix, has_films, space_in
from .linear import TwoLevel
from .short_range import ShortRange
from .solution import Solution, coupled
from .sources import elements_on
from .space import Space
from .system import preconditioner_of


@dataclass(frozen=True)
class Shared:
    """Soil and metal on one mesh, whatever the metal is made of.

    Attributes
    ----------
    space : Space
        Finite-element space of n unknowns.
    conductivity : LayeredElements
        Of the elements of the mesh.
    boundary, ground : csr_matrix, shape (n, n)
        The open boundary, and the soil with it. [S]
    average : csr_matrix
        Averages under the balls of source.
    near : ShortRange
        Short-range matrix of the elements of metal.
    elements : LineElements
        Those.
    preconditioner : TwoLevel
        Of metal at one potential.
    """

    space: Space
    conductivity: LayeredElements
    boundary: sparse.csr_matrix
    ground: sparse.csr_matrix
    average: sparse.csr_matrix
    near: ShortRange
    elements: LineElements
    preconditioner: TwoLevel


def shared(
    mesh: Mesh,
    *,
    twin: Twin,
    order: int,
    longest: Floats,
    marks: Marks,
    like: Solution | None,
    lap: Callable[[str], None],
) -> Shared:
    """What is solved for one port as for another, taken over where it is there.

    Parameters
    ----------
    longest : ndarray of float, shape (pieces,)
        Of an element of each piece of the twin. [m]
    marks : Marks
        Where elements have to be short besides.
    like : Solution or None
        On the same mesh with the same order.
    lap : callable
        Told the name of each step as it ends.
    """
    soil, kept = twin.soil, None if like is None else like.kept
    space = space_in(mesh, soil=soil, order=order) if like is None else like.space
    conductivity = layered_elements(mesh, soil=soil) if like is None else like.conductivity
    boundary = open_boundary(space, conductivity=conductivity.horizontal)
    ground = (
        _ground(space, soil=soil, conductivity=conductivity, boundary=boundary)
        if kept is None
        else kept[0].soil_matrix
    )
    lap("assembly")
    elements = elements_on(
        mesh, soil=soil, conductors=twin.conductors, longest=longest, marks=marks
    )
    if like is not None and kept is not None and elements.same_as(like.sources):
        average, near = kept[0].average, kept[0].short_range
    else:
        average, near = coupled(
            space,
            soil=soil,
            conductors=twin.conductors,
            conductivity=conductivity,
            elements=elements,
        )
    lap("coupling")
    preconditioner = (
        preconditioner_of(ground, short_range=near, space=space, elements=elements)
        if kept is None
        else kept[1]
    )
    return Shared(
        space, conductivity, boundary, ground, average, near, elements, preconditioner
    )


def _ground(
    space: Space, *, soil: Soil, conductivity: LayeredElements, boundary: sparse.csr_matrix
) -> sparse.csr_matrix:
    """Matrix of the soil with its open boundary and films. [S]"""
    ground = (stiffness(space, conductivity=conductivity) + boundary).tocsr()
    return (ground + film_matrix(space, soil=soil)).tocsr() if has_films(soil) else ground
