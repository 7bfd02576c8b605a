"""How many elements a size field makes, and what they cost, before any memory is spent."""

import numpy as np
from scipy.spatial import cKDTree

from ..solver.errors import BudgetError
from ..solver.model import Conductors, Floats
from .sizing import points_along, size_away

# Measured on shipped cases: elements made per element-size cubed of volume, and memory.
_elements_per_cube = 9.5
_bytes_per_element, _memory_at_rest = 8_000.0, 2e8
default_element_limit = 3_000_000


def expected_memory(elements: int, *, limit: float) -> float:
    """Peak memory of a solution with so many elements. [byte]

    Raises
    ------
    BudgetError
        If it is above the limit. [byte]
    """
    memory = _memory_at_rest + _bytes_per_element * elements
    if memory > limit:
        msg = (
            f"about {elements:,} elements would take {memory / 1e9:.1f} GB of memory and "
            f"{limit / 1e9:.1f} GB may be used; ask for larger elements "
            "(numerics.accuracy: coarse, or numerics.element_size)"
        )
        raise BudgetError(msg)
    return memory


def expected_elements(
    conductors: Conductors,
    *,
    element_size: Floats,
    growth: float,
    outer_radius: float,
    limit: int,
) -> int:
    """Number of elements that the size field asks for, by summing it over an octree.

    Parameters
    ----------
    element_size : ndarray of float, shape (n,)
        Edge length along each piece. [m]
    growth : float
        Increase of the edge length per distance from the metal.
    outer_radius : float
        Radius of the mesh. [m]
    limit : int
        Stop and refuse when the count passes this.

    Raises
    ------
    BudgetError
        If the count passes `limit`.
    """
    least = float((conductors.length / element_size).sum())
    refuse_above(limit, count=2 * least, size=float(element_size.min()))
    seeds, sizes = points_along(conductors.start, end=conductors.end, element_size=element_size)
    tree = cKDTree(seeds)
    middle = np.append(0.5 * (seeds.min(axis=0) + seeds.max(axis=0))[:2], 0.0)
    centres = middle + outer_radius * 0.5 * np.array(
        [[x, y, -1.0] for x in (-1.0, 1.0) for y in (-1.0, 1.0)]
    )
    side = outer_radius
    total = 0.0
    while len(centres):
        distance, nearest = tree.query(centres)
        wanted = size_away(sizes[nearest], distance=np.asarray(distance), growth=growth)
        small = side <= np.maximum(1.5 * wanted, 1e-9)
        total += float((_elements_per_cube * (side / wanted[small]) ** 3).sum())
        refuse_above(limit, count=total + float((~small).sum()), size=float(sizes.min()))
        parents = centres[~small]
        side *= 0.5
        offsets = (
            0.5
            * side
            * np.array([[x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)])
        )
        centres = (parents[:, None, :] + offsets).reshape(-1, 3)
    return int(total * np.pi / 6)


def refuse_above(limit: int, *, count: float, size: float) -> None:
    """Raise BudgetError if there are more elements than allowed; `size` is the smallest. [m]"""
    if count > limit:
        msg = (
            f"the mesh would need more than {limit:,} elements (smallest {size:.3g} m); "
            "ask for larger elements or a smaller model, or raise numerics.element_limit "
            f"if the machine has about {limit * _bytes_per_element / 1e9:.0f} GB to spare"
        )
        raise BudgetError(msg)
