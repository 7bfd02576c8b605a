"""How many elements a mesh will have, and what they cost, before any memory is spent.

Three things make elements: the size field in the volume, planes between layers, each of which
is covered with triangles however close the next one is, and metal so dense that the vertices
on it are closer together than the size field asks. What each makes was fitted to meshes of
cases drawn at random; `benchmarks/predictions` says how well that foretells others.
"""

from collections.abc import Iterator, Sequence
from itertools import product

import numpy as np
from scipy.spatial import cKDTree

from ..solver.errors import BudgetError
from ..solver.model import Floats
from .sizing import SizeField

# Elements per element-size cubed that the presets go by, and share of them that is made.
_asked_per_cube, _made = 9.5, 0.83
_in_ball = np.pi / 6  # of the cells of a box
# Elements at a plane per element-size squared, where the plane above is near; fewer the farther
# that is, by a power of the distance over `_half_apart` element sizes.
_at_plane, _half_apart, _falls = 10.0, 1.24, 0.92
# Elements that a vertex on metal adds, per vertex within `_crowd` sizes, and at most.
_per_neighbour, _most_added, _crowd = 0.4, 6.0, 1.5
_kept_apart = 0.7  # sizes; of vertices closer than this one is left
_cell = 1.5  # cells of this many sizes are counted at once
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


def asked_elements(field: SizeField, *, outer_radius: float, limit: int) -> int:
    """Number of elements that the size field asks for, by summing it over an octree.

    Parameters
    ----------
    outer_radius : float
        Radius of the mesh. [m]
    limit : int
        Stop and refuse when more than so many would be made.

    Raises
    ------
    BudgetError
        If more would be made than `limit`.
    """
    middle = np.append(0.5 * (field.seeds.min(axis=0) + field.seeds.max(axis=0))[:2], 0.0)
    corners = np.array([[x, y, -1.0] for x in (-1.0, 1.0) for y in (-1.0, 1.0)])
    centres = middle + outer_radius * 0.5 * corners
    total = 0.0
    for side, _, wanted, waiting in _leaves(field, centres, side=outer_radius, axes=3):
        total += float((_asked_per_cube * (side / wanted) ** 3).sum())
        least = _made * _in_ball * (total + waiting)
        refuse_above(limit, count=least, size=float(field.size.min()))
    return int(total * _in_ball)


def expected_elements(
    asked: int,
    *,
    field: SizeField,
    stacks: Sequence[Sequence[tuple[float, float]]],
    centre: tuple[float, float],
    limit: int,
) -> int:
    """Number of elements that are made where so many are asked for.

    Parameters
    ----------
    stacks : sequence of sequence of (float, float)
        Depth of each plane and the radius to which it is meshed, from the surface down, of
        each stack of planes that get the same triangles. [m]
    centre : tuple of float, length 2
        Of the planes. [m]

    Raises
    ------
    BudgetError
        If they are more than `limit`.
    """
    planes = [plane for stack in stacks for plane in stack]
    count = _made * asked + _at_dense_metal(field, depths=[0.0, *(d for d, _ in planes)])
    for stack in stacks:
        for first, least, far in _rings(stack):
            start = np.array([[*centre, -first]])
            for side, places, triangles, _ in _leaves(field, start, side=2 * far, axes=2):
                off = np.linalg.norm(places[:, :2] - centre, axis=1)
                here = (off < far) & (off >= least)
                each = (side / triangles[here]) ** 2
                for depth in (d for d, radius in stack if d > 0.0 and radius >= far):
                    gap = _gap_above(depth, off=off[here], planes=planes)
                    # Triangles are those of the first plane, elements as large as asked for.
                    gap /= field(places[here] * [1.0, 1.0, 0.0] - [0.0, 0.0, depth])
                    share = _at_plane / (1.0 + (gap / _half_apart) ** _falls)
                    count += float((each * share).sum())
                refuse_above(limit, count=count, size=float(field.size.min()))
    return int(count)


def _rings(stack: Sequence[tuple[float, float]]) -> Iterator[tuple[float, float, float]]:
    """Depth of the first plane of a stack that goes on, from a radius to the next. [m]"""
    least = 0.0
    for far in sorted({radius for _, radius in stack}):
        yield min(depth for depth, radius in stack if radius >= far), least, far
        least = far


def _gap_above(depth: float, *, off: Floats, planes: Sequence[tuple[float, float]]) -> Floats:
    """Distance of a plane to the next above, or the surface, at distances off the centre."""
    above = np.zeros(len(off))
    for upper, reach in planes:
        if upper < depth:
            above[off < reach] = upper
    return depth - above


def _at_dense_metal(field: SizeField, *, depths: list[float]) -> float:
    """Elements more than asked for where vertices on metal are closer together than asked."""
    seeds, size = field.seeds, field.size
    off = np.abs(seeds[:, 2:] + depths).min(axis=1)
    seeds, size = seeds[off > 0.5 * size], size[off > 0.5 * size]
    if not len(seeds):
        return 0.0
    tree = cKDTree(seeds)
    near = tree.query_ball_point(seeds, _crowd * size, return_length=True)
    alike = tree.query_ball_point(seeds, _kept_apart * size, return_length=True)
    # A wire on its own has a vertex before and one behind each.
    more = np.maximum(near / alike - 3.0, 0.0)
    return float((np.minimum(_per_neighbour * more, _most_added) / alike).sum())


def _leaves(
    field: SizeField, centres: Floats, *, side: float, axes: int
) -> Iterator[tuple[float, Floats, Floats, int]]:
    """Cells halved until they are as small as elements, level by level.

    Gives the side of those of a level [m], their centres, the size asked for there, and how
    many cells are still to be halved; of squares (two axes) or cubes (three).
    """
    signs = np.array(list(product((-1.0, 1.0), repeat=axes)))
    around = np.pad(signs, ((0, 0), (0, 3 - axes)))
    while len(centres):
        wanted = field(centres)
        small = side <= np.maximum(_cell * wanted, 1e-9)
        yield side, centres[small], wanted[small], int((~small).sum())
        side *= 0.5
        centres = (centres[~small][:, None, :] + 0.5 * side * around).reshape(-1, 3)


def refuse_above(limit: int, *, count: float, size: float) -> None:
    """Raise BudgetError if there are more elements than allowed; `size` is the smallest. [m]"""
    if count > limit:
        msg = (
            f"the mesh would need more than {limit:,} elements (smallest {size:.3g} m); "
            "ask for larger elements or a smaller model, or raise numerics.element_limit "
            f"if the machine has about {limit * _bytes_per_element / 1e9:.0f} GB to spare"
        )
        raise BudgetError(msg)
