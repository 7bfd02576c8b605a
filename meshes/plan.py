"""What mesh to make, and how large it will be, before any memory is spent."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.spatial import cKDTree

from ..solver.anisotropy import stretched, twin_of
from ..solver.bodies import Body
from ..solver.model import Conductors, Floats, Integers, Mesh, Soil
from ..solver.stretches import Stretches
from .body_edges import EdgeSizes, sizes_at_edges
from .counting import (
    asked_elements,
    default_element_limit,
    expected_elements,
    expected_memory,
    refuse_above,
)
from .near_faces import Cut, cut_at_faces, laid_out
from .plates import refuse_plates_ending_in_planes
from .sizing import SizeField, element_size, size_away, slopes

# Growth of elements away from the metal, divided by the fineness.
_growth = 0.4
# Standard deviation of the smeared metal in element sizes at it, least and most: quadratic
# elements carry a wide cloud better (benchmarks/method.md, "How wide the source is smeared"),
# with an error that falls as its cube. So does its cost rise, per element along the metal: it
# is one size wide where there are so many of these.
_least_spread, _most_spread, _along_at_one_size = 0.75, 2.0, 1_200
# Beside faces clouds are as wide as these let them, whatever the mesh; on finer ones more
# elements carry them. With one in a spread, rods 0.14 m from ground 100 and 100,000 times
# better were 0.16 and 0.19 % low at fineness 1.6, with 1.5 of them 0.10 %, with two 0.06 %.
_least_at_faces, _most_at_faces = 1.0, 1.5
# gmsh looks at the size field only where it already has points; a field that grows faster
# than this hides small metal from it.
fastest_growth = 0.5
# The outer hemisphere in half-diagonals of the electrode; it is nearly free, since the
# elements out there are as large as the distance allows.
_outer_ratio = 20.0
# And in thickness times contrast, where resistive ground drives the current sideways: with 10
# a rod in a metre of 50 over 1000 ohm m came out 0.06 % lower.
_sideways_ratio = 40.0
# A dyke leaks to both sides: with 10 times its width times contrast, rods beside three of 3 to
# 20 times better ground were within 0.01 % of a mesh of 650 m, with two thirds of the unknowns.
_dyke_ratio = 10.0
_room_beyond = 1.5  # beyond the farthest place that is looked at
# The interface plane of most contrast is meshed this many times its depth beyond the electrode;
# from there on elements cross it and know what is where in them (solver/field/conductivity.py).
_plane_reach = 10.0
# And each other one this many times its distance from the surface or a plane of more contrast.
# With 10 times its thinner layer for all, potentials 1 to 10 m from rings in three and four
# layers were 0.3 % of the rise off, whatever the mesh.
_inner_reach = 20.0
# Through a thin poor layer below a better one current leaks over a length of its own, the root
# of conductance above times resistance of the layer. Elements that hold some of the layer let
# it pass where they hold least: to 10 thicknesses a ring was 7.5 % low, to 3 lengths 0.2 %.
_leak_reach = 3.0
# Where an element is wider than this many planes are apart, those between the outer two are not
# meshed: gmsh does not end between many flat elements, and laminates of a stack do as well.
_planes_in_element = 5
# But only if they are within this many elements at the metal: of layers of 0.1 to 1 m of 3 to
# 2300 ohm m under a rod, resistance came 2.7 % low so, 0.04 % with all planes.
_stack_in_elements = 2.0
# Planes closer than this share of an element get the same triangles.
_flat = 0.2
# Smeared metal must find layers that it lies in meshed for this many elements.
_cloud = 3.0
# Places along each side of the box round the metal at which its hollows are looked for.
_across = 64
# No plane goes on to the outer boundary.
widest_plane = 0.8


@dataclass(frozen=True)
class Background:
    """Element sizes on the tetrahedra of an earlier mesh, linear in each.

    Attributes
    ----------
    mesh : Mesh
        n vertices.
    size : ndarray of float, shape (n,)
        Edge length wanted at each vertex. [m]
    """

    mesh: Mesh
    size: Floats


@dataclass(frozen=True)
class Stack:
    """Planes so close together that they are meshed alike; a plane on its own is one too."""

    planes: tuple[
        tuple[float, float], ...
    ]  # depth and radius; the first may be the surface [m]
    flat: float  # least distance of two of them over the size of elements there


@dataclass(frozen=True)
class MeshPlan:
    """Everything the mesh generator needs, and what it will cost.

    Attributes
    ----------
    centre : tuple of float, length 2
        Plan centre of the outer hemisphere. [m]
    outer_radius : float
        Its radius. [m]
    stacks : tuple of Stack
        The planes between layers, from the surface down.
    start, end : ndarray of float, shape (n, 3)
        The pieces of metal that attract small elements, or their stretches. [m]
    element_size : ndarray of float, shape (n,)
        Edge length along each. [m]
    spread : ndarray of float, shape (n,)
        Standard deviation of the Gaussian that smears each. [m]
    growth : float
        Increase of the edge length per distance from the metal.
    asked : int
        Number of elements that the size field asks for, which the presets go by.
    elements : int
        Number of elements expected, good to a fifth.
    memory : float
        Peak memory of the solution expected. [byte]
    background : Background or None
        Smaller sizes wherever an earlier solution showed that they are needed.
    bodies : tuple of Body
        Of which the faces are faces of elements.
    cut : Cut or None
        What the pieces of metal are cut into, where they come near to a face.
    edges : EdgeSizes or None
        Where elements are small at edges of bodies.
    """

    centre: tuple[float, float]
    outer_radius: float
    stacks: tuple[Stack, ...]
    start: Floats
    end: Floats
    element_size: Floats
    spread: Floats
    growth: float
    asked: int
    elements: int
    memory: float
    background: Background | None = None
    bodies: tuple[Body, ...] = ()
    cut: Cut | None = None
    edges: EdgeSizes | None = None

    def mesh(self, points: Floats, *, tetrahedra: Integers) -> Mesh:
        """The mesh of these elements with what was asked for along the metal."""
        size, spread, cut = self.element_size, self.spread, self.cut
        if cut is None:
            return Mesh(points, tetrahedra, self.centre, size, spread)
        sizes, spreads = np.full((2, int(cut.piece.max()) + 1), np.inf)
        np.minimum.at(sizes, cut.piece, size)
        np.minimum.at(spreads, cut.piece, spread)
        stretches = Stretches(cut.piece, cut.begin, cut.end, size, spread, cut.apart)
        return Mesh(points, tetrahedra, self.centre, sizes, spreads, stretches)

    @property
    def planes(self) -> tuple[tuple[float, float], ...]:
        """Depth of each layer interface, and the radius to which it is meshed. [m]"""
        return tuple(plane for item in self.stacks for plane in item.planes if plane[0] > 0.0)

    @property
    def flat(self) -> float:
        """Least distance of two planes of a stack over the size of elements there."""
        return min((item.flat for item in self.stacks), default=float("inf"))

    @property
    def length(self) -> Floats:
        """Length of each piece of metal, shape (n,). [m]"""
        return np.asarray(np.linalg.norm(self.end - self.start, axis=1))


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
    return _outer_ratio * max(half_diagonal, total) + _sideways_ratio * sideways


def _beyond_bodies(soil: Soil, *, centre: Floats, usual: float) -> float:
    """Radius that takes in bodies along which current goes far, at least the usual one. [m]

    Those closed off by a film, those better than the layers as far as current keeps in them.
    """
    radius = usual
    for body in soil.bodies:
        low, high = body.shape.bounds()
        far = float(np.abs([low[:2] - centre, high[:2] - centre]).max())
        better = max(soil.resistivity) / body.resistivity
        if not np.isfinite(far) or not (body.film or body.resistivity < min(soil.resistivity)):
            continue
        reach = _room_beyond * far
        if not body.film:
            thin = int(np.argmin(high - low))
            ratio = _sideways_ratio if thin == 2 else _dyke_ratio
            reach = min(reach, usual + ratio * float((high - low)[thin]) * better)
        radius = max(radius, reach)
    return radius


def _planes(soil: Soil, *, half_diagonal: float) -> tuple[tuple[float, float], ...]:
    """Depth and radius of each interface plane."""
    thickness = (*soil.thickness, np.inf)
    reach = _reaches(soil)
    conductance = 0.0  # of a square of all layers above
    for k in range(1, len(thickness) - 1):
        conductance += thickness[k - 1] / soil.resistivity[k - 1]
        leak = float(np.sqrt(conductance * thickness[k] * soil.resistivity[k]))
        for plane in (k - 1, k):
            reach[plane] = max(reach[plane], _leak_reach * leak)
    return tuple(
        (float(depth), half_diagonal + far)
        for depth, far in zip(soil.interface_depth, reach, strict=True)
    )


def _reaches(soil: Soil) -> list[float]:
    """How far out each plane matters, by its distance from the surface and stronger planes. [m]

    Far out a plane between much alike layers, or one of two that are close, is no more than a
    part of what the stronger one does.
    """
    depth = soil.interface_depth
    rho = np.array(soil.resistivity)
    strength = np.abs(np.diff(rho)) / (rho[1:] + rho[:-1])
    reach = np.zeros(len(depth))
    stronger = [0.0]  # depths
    # Of planes as strong the deepest comes first.
    for plane in sorted(range(len(depth)), key=lambda k: (-round(strength[k], 6), -k)):
        apart = min(abs(depth[plane] - other) for other in stronger)
        alone = len(stronger) == 1
        reach[plane] = (_plane_reach if alone else _inner_reach) * apart
        stronger.append(float(depth[plane]))
    return reach.tolist()


def _thinned(
    planes: tuple[tuple[float, float], ...], *, half_width: float, size: float, growth: float
) -> tuple[tuple[float, float], ...]:
    """Planes without those inside a stack, from where elements are wider than the stack.

    Parameters
    ----------
    planes : tuple of (float, float)
        Depth and radius of each. [m]
    half_width : float
        Of the metal in plan, with the smallest `size` of elements at it. [m]
    """
    radius = [far for _, far in planes]
    for first in range(len(planes) - _planes_in_element + 1):
        last = first + _planes_in_element - 1
        apart = planes[last][0] - planes[first][0]
        if apart > _stack_in_elements * size:
            continue
        reach = max(
            level * size + (apart - share * size) / slope
            for share, level, slope in slopes(growth)
        )
        for plane in range(first + 1, last):
            radius[plane] = min(radius[plane], half_width + max(reach, _cloud * size))
    # A disc smaller than one element carries nothing.
    return tuple((d, r) for (d, _), r in zip(planes, radius, strict=True) if r > size)


def _never_flat(
    planes: tuple[tuple[float, float], ...], *, half_width: float, size: float, growth: float
) -> tuple[tuple[float, float], ...]:
    """Planes that end where they, or the surface, would be close together beside elements.

    Faces of bodies cut them into pieces, which cannot get the same triangles. Parameters as
    for `_thinned`.
    """
    found, above = [], 0.0
    for depth, radius in planes:
        widest = (depth - above) / _flat
        reach = max(
            level * size + (widest - first * size) / slope
            for first, level, slope in slopes(growth)
        )
        found.append((depth, min(radius, half_width + max(reach, _cloud * size))))
        above = depth
    return tuple(found)


def _hollow(field: SizeField, *, low: Floats, high: Floats) -> float:
    """Largest distance in plan from metal within the box from `low` to `high`. [m]"""
    x, y = np.linspace(low[:2], high[:2], _across).T
    places = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    gap, _ = cKDTree(field.seeds[:, :2]).query(places)
    return float(np.max(gap))


def _stacks(
    planes: tuple[tuple[float, float], ...],
    *,
    half_width: float,
    size: float,
    growth: float,
    hollow: float,
) -> tuple[Stack, ...]:
    """Planes together where elements are wider than the planes, or the surface, are apart.

    Parameters as for `_thinned`, and the largest distance from metal within a grid or loop
    [m]. The surface goes as far as the plane below it.
    """
    stacks: list[Stack] = []
    above, flat = (0.0, np.inf), np.inf
    held: list[tuple[float, float]] = [above]
    for depth, radius in planes:
        beyond = max(hollow, min(radius, above[1]) - half_width)
        width = size_away(np.array(size), distance=np.array(beyond), growth=growth)
        ratio = (depth - above[0]) / float(width)
        if ratio >= _flat:
            stacks.append(_alike(held, flat))
            held, flat = [], np.inf
        else:
            held = [(0.0, radius)] if held[0][1] == np.inf else held
            flat = min(flat, ratio)
        above = (depth, radius)
        held.append(above)
    stacks.append(_alike(held, flat))
    return tuple(stack for stack in stacks if stack.planes[0][1] < np.inf)


def _alike(planes: list[tuple[float, float]], flat: float) -> Stack:
    """Stack of planes, those that end within a tenth of each other's radius ending together."""
    ends = sorted({radius for _, radius in planes}, reverse=True)
    kept = [ends[0]]
    kept += [here for above, here in pairwise(ends) if here < 0.9 * above]
    together = [(d, min(end for end in kept if end >= r)) for d, r in planes]
    return Stack(tuple(together), flat)


def mesh_plan(
    conductors: Conductors,
    *,
    soil: Soil,
    fineness: float = 1.0,
    size: float | Floats | None = None,
    element_limit: int = default_element_limit,
    memory_limit: float = np.inf,
    growth_limit: float = fastest_growth,
    farthest: Floats | None = None,
    cut: Cut | None = None,
) -> MeshPlan:
    """Plan of the mesh for conductors in layered soil, of which it fills the isotropic twin.

    Parameters
    ----------
    fineness : float, default 1
        Divides all element sizes.
    size : float or ndarray of float, shape (number of pieces,), optional
        One element size along all metal, or one for each piece, in place of the planned ones.
        [m]
    memory_limit : float, optional
        Most memory allowed. [byte]
    growth_limit : float, optional
        Fastest growth of elements away from the metal, however low the fineness.
    farthest : ndarray of float, shape (k, 3), optional
        Places that must lie well inside the mesh. [m]
    cut : Cut, optional
        What metal near bodies is cut into, where another plan has that already.

    Raises
    ------
    CaseError
        If metal, planes and bodies lie so that no mesh can be made for them (`cut_at_faces`,
        `twin_of`, `refuse_plates_ending_in_planes`).
    BudgetError
        If the mesh is expected to have more elements or the solution to take more memory
        than the limits.
    """
    if farthest is not None:
        farthest = stretched(farthest, soil=soil)
    twin = twin_of(conductors, soil=soil)
    conductors, soil = twin.conductors, twin.soil
    refuse_plates_ending_in_planes(conductors, soil=soil)
    corners = np.concatenate([conductors.start, conductors.end])
    low, high = corners.min(axis=0), corners.max(axis=0)
    centre = 0.5 * (low + high)[:2]
    reach = float(np.linalg.norm(corners - [*centre, 0.0], axis=1).max())
    if size is None:
        sizes = element_size(conductors, soil=soil, fineness=fineness)
    else:
        sizes = np.broadcast_to(np.asarray(size, dtype=float), (len(conductors.start),)).copy()
    radius = outer_radius(soil, half_diagonal=reach)
    radius = _beyond_bodies(soil, centre=centre, usual=radius)
    if farthest is not None:
        gaps = np.linalg.norm(farthest - [*centre, 0.0], axis=1)
        radius = max(radius, _room_beyond * float(gaps.max()))
    growth = min(_growth / fineness, growth_limit)
    refuse_above(
        element_limit,
        count=2.0 * float((conductors.length / sizes).sum()),
        size=float(sizes.min()),
    )
    cut = cut or cut_at_faces(
        conductors,
        soil=soil,
        usual=_most_spread * sizes,
        elements=float(np.clip(fineness, _least_at_faces, _most_at_faces)),
    )
    laid, usual = laid_out(conductors, cut=cut), float(sizes.max())
    sizes, spread = _sizes(laid, sizes=sizes, cut=cut)
    field = SizeField.of(laid.start, end=laid.end, element_size=sizes, growth=growth)
    asked = asked_elements(field, outer_radius=radius, limit=element_limit)
    metal = {
        "half_width": float(np.linalg.norm(corners[:, :2] - centre, axis=1).max()),
        "size": float(sizes.min()),
        "growth": growth,
    }
    planes = _thinned(_planes(soil, half_diagonal=reach), **metal)
    if soil.bodies:
        planes = _never_flat(planes, **metal)
    stacks = _stacks(planes, hollow=_hollow(field, low=low, high=high), **metal)
    at = (float(centre[0]), float(centre[1]))
    elements = expected_elements(
        asked,
        field=field,
        stacks=[
            [(depth, min(far, widest_plane * radius)) for depth, far in stack.planes]
            for stack in stacks
        ],
        centre=at,
        limit=element_limit,
    )
    edges = None
    if soil.bodies:
        edges = sizes_at_edges(soil, size=field, usual=usual, centre=at, far=radius)
        elements += edges.elements
        refuse_above(element_limit, count=elements, size=float(sizes.min()))
    return MeshPlan(
        centre=at,
        outer_radius=radius,
        stacks=stacks,
        start=laid.start,
        end=laid.end,
        element_size=sizes,
        spread=spread,
        growth=growth,
        asked=asked,
        elements=elements,
        memory=expected_memory(elements, limit=memory_limit),
        bodies=soil.bodies,
        cut=cut,
        edges=edges,
    )


def _sizes(laid: Conductors, *, sizes: Floats, cut: Cut | None) -> tuple[Floats, Floats]:
    """Element size and spread of each piece, or stretch of one. [m]"""
    if cut is not None:
        sizes = sizes[cut.piece]
    ratio = _spread(float(np.sum(laid.length / sizes)))
    spread = ratio * sizes
    if cut is None:
        return sizes, spread
    # Near faces no more elements than the narrower clouds need.
    near = np.minimum(spread, cut.widest)
    return np.minimum(sizes, near / min(ratio, cut.elements)), near


def _spread(along: float) -> float:
    """Standard deviation of a cloud in element sizes, with so many of these along the metal."""
    ratio = (_along_at_one_size / along) ** (1 / 3)
    return float(np.clip(ratio, _least_spread, _most_spread))


def planned_size(plan: MeshPlan, points: Floats) -> Floats:
    """Edge length that a plan asks for at points of its mesh, shape (n,). [m]"""
    field = SizeField.of(
        plan.start, end=plan.end, element_size=plan.element_size, growth=plan.growth
    )
    return field(points)
