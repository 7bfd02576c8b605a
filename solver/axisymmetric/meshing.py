"""Where the lines of the mesh stand round a body, its fill and the layer planes."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ..model import Flags, Floats, Soil
from .bodies import Cylinder, Fill, Metal
from .bulging import bulged, shapes_of
from .lattice import Lattice, lattice
from .lines import graded_lines

# Steps as shares of the length they stand for, at fineness 1; chosen on the exact values of
# the tests.
_growth = 0.32  # of steps per distance, round rods and plates
_round_growth = 0.22  # round half spheroids, which have fewer places to refine
_at_edge = 0.02  # of the metal's radius: the field has no bound at an edge
_at_rim = 0.0005  # of the radius of a plate: a sharper edge still
_at_round = 0.15  # of the lesser side of a spheroid's shoulder, which has no edge
_at_fill = 0.02  # of the fill's radius: its edge is one between two conductors
_at_plane = 0.25  # of the thinner layer beside it
_at_body = 0.3  # of the radius of metal or fill, at a plane that meets its side
_along = 0.1  # of the length of the metal
# The open boundary is nearly free, so it is far: in sizes of electrode and layers. Deep
# resistive soil gathers the current up to thickness times contrast away.
_far = 40.0


@dataclass(frozen=True)
class Ground:
    """Mesh of the soil and what is in each triangle."""

    mesh: Lattice
    conductivity: Floats  # (number of triangles,) [S/m]
    # (number of outer faces,): of the soil behind each outer face [S/m]
    outer_conductivity: Floats


def ground_round(
    metal: Metal, *, soil: Soil, fill: Fill | None, fineness: float, reach: float
) -> Ground:
    """Mesh of the soil round a body, resolving metal, fill and layer planes.

    `reach` multiplies the distance of the outer boundary. `CaseError` if a layer plane or the
    fill is too near the lowest point of a half spheroid.
    """
    if isinstance(metal, Cylinder):
        radii, depths = _round_cylinder(metal, fill=fill)
        width, span = metal.radius, (metal.top_depth, metal.bottom_depth)
        box = metal.radius, span
        if fill is not None:
            box = fill.radius, (max(0.0, span[0] - fill.cover), span[1] + fill.cover)
        shapes, growth = [], _growth
    else:
        growth = _round_growth
        shapes = shapes_of(metal, fill=fill, soil=soil)
        radii, depths = {0.0: np.inf}, {0.0: np.inf}
        for shape in shapes:
            radii[shape.radius] = depths[shape.depth] = _at_round * min(
                shape.radius, shape.depth
            )
        width, span = shapes[0].radius, (0.0, shapes[0].depth)
        box = shapes[-1].radius, (0.0, shapes[-1].depth)
    _mark_planes(depths, soil=soil, radius=box[0], span=box[1])
    outer = reach * _far * _extent(metal, soil=soil, fill=fill)
    lines = [
        graded_lines(_finer(marks, fineness, outer), growth=growth / fineness)
        for marks in (radii, depths)
    ]
    mesh = lattice(lines[0], depths=lines[1], metal_radius=width, metal_span=span)
    conductivity = soil.conductivity[soil.layer_at(mesh.centre[:, 1])]
    if fill is not None:
        inside = _within(mesh.centre, radius=box[0], span=box[1])
        conductivity = np.where(inside, 1 / fill.resistivity, conductivity)
    return Ground(
        mesh=bulged(mesh, shapes=shapes, planes=soil.interface_depth),
        conductivity=conductivity,
        outer_conductivity=soil.conductivity[soil.layer_at(mesh.outer_cells[:, 1])],
    )


def _round_cylinder(
    metal: Cylinder, *, fill: Fill | None
) -> tuple[dict[float, float], dict[float, float]]:
    """Steps wanted along r and along depth at the metal and its fill."""
    edge = _at_edge * metal.radius if metal.length > 0 else _at_rim * metal.radius
    thin = min(edge, 0.25 * metal.length) if metal.length > 0 else edge
    radii = {0.0: 0.5 * metal.radius, metal.radius: thin}
    depths = {0.0: np.inf, metal.bottom_depth: thin}
    depths[metal.top_depth] = thin if metal.top_depth > 0 else depths[metal.top_depth]
    if metal.length > 0:
        middle = 0.5 * (metal.top_depth + metal.bottom_depth)
        depths[middle] = _along * metal.length
        if metal.top_depth == 0:
            depths[0.0] = _along * metal.length
    if fill is not None:
        step = _at_fill * fill.radius
        radii[fill.radius] = min(step, 0.5 * (fill.radius - metal.radius))
        ends = [metal.bottom_depth + fill.cover]
        if metal.top_depth > 0:
            ends.append(metal.top_depth - fill.cover)
        for end in ends:
            depths[end] = min(step, depths.get(end, np.inf))
    return radii, depths


def _mark_planes(
    depths: dict[float, float], *, soil: Soil, radius: float, span: tuple[float, float]
) -> None:
    """Add the step wanted at each layer plane to the marks along depth.

    Where a plane meets the side of the outermost body the leakage jumps within a radius.
    """
    thickness = np.array(soil.thickness, dtype=float)
    below = np.append(thickness[1:], np.inf)
    steps = _at_plane * np.minimum(thickness, below)
    planes = soil.interface_depth
    beside = (planes > span[0] - radius) & (planes < span[1] + radius)
    steps = np.where(beside, np.minimum(steps, _at_body * radius), steps)
    for plane, step in zip(planes.tolist(), steps.tolist(), strict=True):
        # A plane that differs from another mark by round-off alone is that mark.
        same = [mark for mark in depths if abs(mark - plane) <= 1e-9 * plane]
        place = same[0] if same else plane
        depths[place] = min(step, depths.get(place, np.inf))


def _finer(marks: Mapping[float, float], fineness: float, outer: float) -> dict[float, float]:
    """Marks with finer steps, and one at the outer boundary that asks for nothing."""
    steps = {place: step / fineness for place, step in marks.items()}
    return steps | {outer: np.inf}


def _extent(metal: Metal, *, soil: Soil, fill: Fill | None) -> float:
    """Size that the distance of the outer boundary is counted in. [m]"""
    size = metal.bottom_depth + metal.radius
    if fill is not None:
        size = max(size, metal.bottom_depth + fill.cover + fill.radius)
    gathering = max(1.0, soil.resistivity[-1] / min(soil.resistivity))
    return max(size, float(sum(soil.thickness)) * gathering)


def _within(places: Floats, *, radius: float, span: tuple[float, float]) -> Flags:
    """Whether (radius, depth) places are inside a cylinder."""
    r, depth = places.T
    inside: Flags = (r < radius) & (depth > span[0]) & (depth < span[1])
    return inside
