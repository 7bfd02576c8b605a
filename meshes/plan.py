"""What mesh to make, and how large it will be, before any memory is spent."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from ..errors import BudgetError
from ..solver.model import Conductors, Floats, Soil
from ..solver.pairs import numbered
from .sizing import element_size

# Elements keep the size asked for within one element of the metal, then grow by this much
# for each metre of distance, divided by the fineness. Farther out the field is no longer that
# of single wires but of all the metal at once, which such growth would run away from: a 70 m
# grid had four fifths of its error there, in a twentieth of its elements.
plateau = 1.0
_growth = 0.4
_far_start, _far_share = 4.0, 0.625  # in sizes at the metal; of the growth near it
# gmsh looks at the size field only where it already has points; a field that grows faster
# than this hides small metal from it.
fastest_growth = 0.5
# The outer hemisphere in half-diagonals of the electrode; it is nearly free, since the
# elements out there are as large as the distance allows.
_outer_ratio = 20.0
_room_beyond = 1.5  # beyond the farthest place that is looked at
# Interface planes are meshed this many layer thicknesses beyond the electrode; from there
# on elements cross them and hold a laminate. A good layer over a resistive one carries the
# current sideways, where a laminate is up to 1 % off: its plane goes on for longer.
_plane_reach = (10.0, 40.0)
# Measured on shipped cases: elements made per element-size cubed of volume, and memory.
_elements_per_cube = 9.5
_bytes_per_element, _memory_at_rest = 8_000.0, 2e8
default_element_limit = 3_000_000


@dataclass(frozen=True)
class MeshPlan:
    """Everything the mesh generator needs, and what it will cost.

    Attributes
    ----------
    centre : tuple of float, length 2
        Plan centre of the outer hemisphere. [m]
    outer_radius : float
        Its radius. [m]
    planes : tuple of (float, float)
        Depth of each layer interface and the radius to which it is meshed. [m]
    start, end : ndarray of float, shape (n, 3)
        The pieces of metal that attract small elements. [m]
    element_size : ndarray of float, shape (n,)
        Edge length along each piece. [m]
    growth : float
        Increase of the edge length per distance from the metal.
    elements : int
        Number of elements expected, good to about a third.
    memory : float
        Peak memory of the solution expected. [byte]
    """

    centre: tuple[float, float]
    outer_radius: float
    planes: tuple[tuple[float, float], ...]
    start: Floats
    end: Floats
    element_size: Floats
    growth: float
    elements: int
    memory: float

    @property
    def slopes(self) -> tuple[tuple[float, float, float], ...]:
        """Straight lines of which the element size is the least, near the metal and far out.

        Each as its value at the metal and the distance to which it stays so, both in sizes
        asked for there, and its growth beyond.
        """
        return slopes(self.growth)

    @property
    def length(self) -> Floats:
        """Length of each piece of metal, shape (n,). [m]"""
        return np.asarray(np.linalg.norm(self.end - self.start, axis=1))


def slopes(growth: float) -> tuple[tuple[float, float, float], ...]:
    """Lines of `MeshPlan.slopes` for a growth near the metal."""
    return (1.0, plateau, growth), (_far_start, 0.0, _far_share * growth)


def outer_radius(soil: Soil, *, half_diagonal: float) -> float:
    """Radius of the outer hemisphere.

    Over resistive ground the current spreads sideways in the upper layers as far as
    thickness times contrast before it turns down, so the radius grows with both. [m]
    """
    deep = soil.resistivity[-1]
    sideways = sum(
        thickness * deep / resistivity
        for thickness, resistivity in zip(soil.thickness, soil.resistivity, strict=False)
    )
    total = sum(soil.thickness)
    return _outer_ratio * max(half_diagonal, total) + 10.0 * sideways


def _planes(soil: Soil, *, half_diagonal: float) -> tuple[tuple[float, float], ...]:
    """Depth and radius of each interface plane."""
    thickness = soil.thickness
    planes = []
    for k, depth in enumerate(soil.interface_depth):
        thinnest = min(thickness[k], thickness[k + 1] if k + 1 < len(thickness) else np.inf)
        contrast = soil.resistivity[k + 1] / soil.resistivity[k]
        reach = float(np.clip(2 * contrast, *_plane_reach))
        planes.append((float(depth), half_diagonal + reach * thinnest))
    return tuple(planes)


def mesh_plan(
    conductors: Conductors,
    *,
    soil: Soil,
    fineness: float = 1.0,
    size: float | None = None,
    element_limit: int = default_element_limit,
    memory_limit: float = np.inf,
    growth_limit: float = fastest_growth,
    farthest: Floats | None = None,
) -> MeshPlan:
    """Plan of the mesh for conductors in layered soil.

    Parameters
    ----------
    conductors : Conductors
        The pieces of metal.
    soil : Soil
        The layers.
    fineness : float, default 1
        Divides all element sizes.
    size : float, optional
        One element size along all metal, in place of the planned ones. [m]
    element_limit : int
        Most elements allowed.
    memory_limit : float, optional
        Most memory allowed. [byte]
    growth_limit : float, optional
        Fastest growth of elements away from the metal, however low the fineness.
    farthest : ndarray of float, shape (k, 3), optional
        Places that must lie well inside the mesh. [m]

    Returns
    -------
    plan : MeshPlan

    Raises
    ------
    BudgetError
        If the mesh is expected to have more elements or the solution to take more memory
        than the limits.
    """
    corners = np.concatenate([conductors.start, conductors.end])
    low, high = corners.min(axis=0), corners.max(axis=0)
    centre = 0.5 * (low + high)[:2]
    reach = float(np.linalg.norm(corners - [*centre, 0.0], axis=1).max())
    if size is None:
        sizes = element_size(conductors, soil=soil, fineness=fineness)
    else:
        sizes = np.full(len(conductors.start), size)
    radius = outer_radius(soil, half_diagonal=reach)
    if farthest is not None:
        gaps = np.linalg.norm(farthest - [*centre, 0.0], axis=1)
        radius = max(radius, _room_beyond * float(gaps.max()))
    growth = min(_growth / fineness, growth_limit)
    elements = expected_elements(
        conductors,
        element_size=sizes,
        growth=growth,
        outer_radius=radius,
        limit=element_limit,
    )
    memory = _memory_at_rest + _bytes_per_element * elements
    if memory > memory_limit:
        msg = (
            f"about {elements:,} elements would take {memory / 1e9:.1f} GB of memory and "
            f"{memory_limit / 1e9:.1f} GB may be used; ask for larger elements "
            "(numerics.accuracy: coarse, or numerics.element_size)"
        )
        raise BudgetError(msg)
    return MeshPlan(
        centre=(float(centre[0]), float(centre[1])),
        outer_radius=radius,
        planes=_planes(soil, half_diagonal=reach),
        start=conductors.start,
        end=conductors.end,
        element_size=sizes,
        growth=growth,
        elements=elements,
        memory=memory,
    )


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
    conductors : Conductors
        The n pieces of metal.
    element_size : ndarray of float, shape (n,)
        Edge length along each piece. [m]
    growth : float
        Increase of the edge length per distance from the metal.
    outer_radius : float
        Radius of the mesh. [m]
    limit : int
        Stop and refuse when the count passes this.

    Returns
    -------
    count : int

    Raises
    ------
    BudgetError
        If the count passes `limit`.
    """
    least = float((conductors.length / element_size).sum())
    _refuse_above(limit, count=2 * least, size=float(element_size.min()))
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
        asked = sizes[nearest]
        wanted = np.minimum.reduce(
            [
                first * asked + slope * np.maximum(distance - level * asked, 0.0)
                for first, level, slope in slopes(growth)
            ]
        )
        small = side <= np.maximum(1.5 * wanted, 1e-9)
        total += float((_elements_per_cube * (side / wanted[small]) ** 3).sum())
        _refuse_above(limit, count=total + float((~small).sum()), size=float(sizes.min()))
        parents = centres[~small]
        side *= 0.5
        offsets = (
            0.5
            * side
            * np.array([[x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)])
        )
        centres = (parents[:, None, :] + offsets).reshape(-1, 3)
    return int(total * np.pi / 6)


def points_along(start: Floats, *, end: Floats, element_size: Floats) -> tuple[Floats, Floats]:
    """Points on straight pieces about one element apart, and the element size at each.

    Parameters
    ----------
    start, end : ndarray of float, shape (n, 3)
        The pieces. [m]
    element_size : ndarray of float, shape (n,)
        [m]

    Returns
    -------
    points : ndarray of float, shape (m, 3)
        Middles of equal parts. [m]
    size : ndarray of float, shape (m,)
        [m]
    """
    length = np.linalg.norm(end - start, axis=1)
    count = np.maximum(1, np.round(length / element_size)).astype(int)
    piece, step = numbered(count)
    share = ((step + 0.5) / count[piece])[:, None]
    return start[piece] + share * (end - start)[piece], element_size[piece]


def _refuse_above(limit: int, *, count: float, size: float) -> None:
    if count > limit:
        msg = (
            f"the mesh would need more than {limit:,} elements (smallest {size:.3g} m); "
            "ask for larger elements or a smaller model, or raise numerics.element_limit "
            f"if the machine has about {limit * _bytes_per_element / 1e9:.0f} GB to spare"
        )
        raise BudgetError(msg)
