"""Contours of a plan map, computed once: bands for a sheet, outlines for paper and page."""

from dataclasses import dataclass, replace
from itertools import groupby
from typing import TYPE_CHECKING, Any

import numpy as np

from ...solver.model import Flags, Floats, Integers
from ...solver.polygons import inside, nearest_on_segments
from ..canvas.contours import banded
from ..canvas.levels import Levels, band_colours, contour_levels
from ..canvas.offscreen import graphics

if TYPE_CHECKING:
    from .plans import PlanMap

_slack = 1.02  # what interpolation may add to the largest value
_merged = 1e-8  # of the map's longer side: points no farther apart are one
_passes = 8  # in each of which an outline may lose every other point ...
_speck = 1e-3  # of the map's longer side: no outline is shown that is smaller
_thin = 2.5e-4  # ... that lies no farther beside its neighbours, of the map's longer side


@dataclass(frozen=True)
class Ring:
    """Closed outline of all that reaches a level; what it holds lies on its left.

    Attributes
    ----------
    band : int
        Lowest band of values inside, counted in the colours of the map.
    points : ndarray of float, shape (n, 2)
        [m]
    border : ndarray of bool, shape (n,)
        Whether the side from each point to the next is an edge of the map, not a contour.
    """

    band: int
    points: Floats
    border: Flags

    def contours(self) -> list[Floats]:
        """Parts that are contours, each as a polyline. [m]"""
        if not self.border.any():
            return [np.concatenate([self.points, self.points[:1]])]
        first = int(np.argmax(self.border))
        points, border = np.roll(self.points, -first, axis=0), np.roll(self.border, -first)
        points, found, at = np.concatenate([points, points[:1]]), [], 0
        for edge, sides in groupby(border.tolist()):
            count = len(list(sides))
            if not edge:
                found.append(points[at : at + count + 1])
            at += count
        return found


@dataclass(frozen=True)
class MapContours:
    """What one map shows.

    Attributes
    ----------
    levels : Levels
        Of what is shown.
    colours : ndarray of float, shape (bands, 3)
        Of the bands of `levels`, 0 to 1.
    mesh : pyvista.PolyData
        Triangles with the point data `value` and `held`, what a limit is set against. [m]
    bands : pyvista.PolyData
        The same cut along the levels, with the number of the band of each cell. [m]
    lines : pyvista.PolyData
        Contours with the point data `value`. [m]
    rings : tuple of Ring
        From the lowest level up: filled in this order, they show the bands.
    unsafe : tuple of Ring
        Outlines of what does not keep the limit.
    """

    levels: Levels
    colours: Floats
    mesh: Any
    bands: Any
    lines: Any
    rings: tuple[Ring, ...]
    unsafe: tuple[Ring, ...]

    def view(self, *, beside: float) -> tuple[Floats, Floats]:
        """Corners of what is shown, with some room round it. [m]"""
        points = np.asarray(self.mesh.points)[:, :2]
        return points.min(axis=0) - beside, points.max(axis=0) + beside


def map_contours(plan: "PlanMap") -> MapContours:
    """Contours of a map."""
    mesh, weights = _shown(plan)
    values = np.asarray(mesh.point_data["value"])
    levels = _levels(plan, shown=values, weights=weights)
    if plan.worst is not None and levels.high < _slack * plan.worst.value:
        # Found by refinement: above every sample, and below what triangles make of the edge.
        inner = levels.inner[levels.inner < plan.worst.value]
        levels = replace(levels, high=plan.worst.value, inner=inner)
        mesh.point_data["value"] = np.minimum(values, plan.worst.value)
    bands, lines = banded(mesh, levels=levels)
    first = _first_band(plan, levels=levels)
    count = levels.bands if plan.inner is None else len(plan.inner) + 1
    span = float(np.subtract(plan.high, plan.low).max())
    unsafe: tuple[Ring, ...] = ()
    if plan.limit is not None and np.asarray(mesh.point_data["held"]).max() > plan.limit:
        above = mesh.clip_scalar(scalars="held", value=plan.limit, invert=False)
        above.cell_data["Scalars"] = np.zeros(above.n_cells)
        unsafe = _rings(above, levels=1, first=0, span=span)
    return MapContours(
        levels,
        band_colours(count)[first : first + levels.bands],
        mesh,
        bands,
        lines,
        _rings(bands, levels=levels.bands, first=first, span=span),
        unsafe,
    )


def _levels(plan: "PlanMap", *, shown: Floats, weights: Floats) -> Levels:
    if plan.inner is None:
        return contour_levels(shown, weights=weights)
    low, high = float(shown.min()), float(shown.max())
    return Levels(low, high, plan.inner[(plan.inner > low) & (plan.inner < high)])


def _first_band(plan: "PlanMap", *, levels: Levels) -> int:
    """Number of the lowest band shown; with fixed levels each keeps its own on every map."""
    if plan.inner is None:
        return 0
    return int(np.searchsorted(plan.inner, levels.low, side="right"))


def _shown(plan: "PlanMap") -> tuple[Any, Floats]:
    """Triangles cut at the reach, and the area each of their points stands for."""
    pv = graphics()
    points = np.column_stack([plan.places, np.zeros(len(plan.places))])
    triangles, metal = plan.triangles, plan.metal
    if metal is not None:
        gap = metal.distance(plan.places) - metal.reach
        triangles = triangles[gap[triangles].min(axis=1) < 0]
    cells = np.column_stack([np.full(len(triangles), 3), triangles])
    mesh = pv.PolyData(points, faces=cells.ravel())
    mesh.point_data["value"] = plan.values
    mesh.point_data["held"] = plan.values + (0 if plan.doubt is None else plan.doubt)
    if metal is not None:
        mesh.point_data["gap"] = gap
        mesh = mesh.clip_scalar(scalars="gap", value=1e-9 * metal.reach)
        if metal.kind == "body":  # nobody stands inside
            places, outline = np.asarray(mesh.points)[:, :2], metal.vertices
            ends = np.roll(outline, -1, axis=0)
            wall = nearest_on_segments(places, start=outline, end=ends)
            depth = np.linalg.norm(places - wall, axis=1)
            mesh.point_data["depth"] = np.where(inside(places, outline=outline), depth, -depth)
            mesh = mesh.clip_scalar(scalars="depth", value=0.0)
    mesh = mesh.extract_surface(algorithm="dataset_surface").triangulate()
    kept = {name: np.asarray(mesh.point_data[name]) for name in ("value", "held")}
    weights = point_areas(np.asarray(mesh.points)[:, :2], triangles=mesh.regular_faces)
    mesh.clear_data()
    for name, values in kept.items():
        mesh.point_data[name] = values
    return mesh, weights


def point_areas(places: Floats, *, triangles: Integers) -> Floats:
    """Area of the triangles round each place, shape (n,), for weights. [m²]"""
    a, b, c = (places[triangles[:, k]] for k in range(3))
    (ux, uy), (vx, vy) = (b - a).T, (c - a).T
    sizes = 0.5 * np.abs(ux * vy - uy * vx)
    found = np.bincount(triangles.ravel(), weights=np.repeat(sizes, 3), minlength=len(places))
    return found.astype(float)


def _rings(cells: Any, *, levels: int, first: int, span: float) -> tuple[Ring, ...]:
    """Outlines of the cells of each band and all above it."""
    points, start, end, band = _sides(cells, span=span)
    # A side and the one that runs back along it cancel where both are inside.
    pair = _pair(start, end, count=len(points))
    side, number = np.unique(pair, return_inverse=True)
    sign = np.where(start < end, 1, -1)
    low, high = side // len(points), side % len(points)
    found, border = [], None
    for level in range(levels):
        left = np.bincount(number, weights=sign * (band >= level), minlength=len(side))
        outline = np.flatnonzero(left)
        border = left != 0 if border is None else border
        forward = left[outline] > 0
        ends = (low[outline], high[outline])
        loops = _loops(np.where(forward, *ends), np.where(forward, *ends[::-1]))
        for loop in loops:
            key = _pair(loop, np.roll(loop, -1), count=len(points))
            at = np.minimum(np.searchsorted(side, key), len(side) - 1)
            # A chain may end on a map so wide that triangles round thin metal are specks.
            on_edge = border[at] & (left[at] != 0) & (side[at] == key)
            ring = _thinned(points[loop], border=on_edge, within=_thin * span)
            if len(ring[0]) > 2 and np.ptp(ring[0], axis=0).max() > _speck * span:
                found.append(Ring(first + level, *ring))
    return tuple(found)


def _pair(start: Integers, end: Integers, *, count: int) -> Integers:
    """One number for both directions of each side between `count` points."""
    return np.asarray(np.minimum(start, end) * count + np.maximum(start, end))


def _sides(cells: Any, *, span: float) -> tuple[Floats, Integers, Integers, Integers]:
    """Points of cells, and their directed sides with the band on the left of each."""
    cells = cells.extract_surface(algorithm="dataset_surface").triangulate()
    corners = cells.regular_faces
    places = np.asarray(cells.points, dtype=float)[:, :2]
    lattice = np.round((places - places.min(axis=0)) / (_merged * span)).astype(np.int64)
    _, kept, number = np.unique(
        lattice[:, 0] * 2**31 + lattice[:, 1], return_index=True, return_inverse=True
    )
    a, b, c = (places[corners[:, k]] for k in range(3))
    (ux, uy), (vx, vy) = (b - a).T, (c - a).T
    corners = number[corners]
    corners[ux * vy < uy * vx] = corners[ux * vy < uy * vx][:, ::-1]
    start, end = corners.ravel(), np.roll(corners, -1, axis=1).ravel()
    band = np.repeat(np.asarray(cells.cell_data["Scalars"]).astype(int), 3)
    real = start != end
    return places[kept], start[real], end[real], band[real]


def _loops(start: Integers, end: Integers) -> list[Integers]:
    """Directed sides joined to closed outlines, as rows of points."""
    follow: dict[int, list[int]] = {}
    for a, b in zip(start.tolist(), end.tolist(), strict=True):
        follow.setdefault(a, []).append(b)
    loops = []
    while follow:
        first = next(iter(follow))
        loop, at = [], first
        while at in follow:
            loop.append(at)
            ways = follow[at]
            step = ways.pop()
            if not ways:
                del follow[at]
            at = step
        loops.append(np.array(loop))
    return loops


def _thinned(points: Floats, *, border: Flags, within: float) -> tuple[Floats, Flags]:
    """A closed outline without points that show nothing; where its border ends it stays."""
    for turn in range(_passes):
        count = len(points)
        if count < 8:
            break
        row = np.arange(2 - turn % 2, count - 1, 2)  # never two neighbours at once
        before, along = points[row - 1], points[row + 1] - points[row - 1]
        out = points[row] - before
        aside = np.abs(along[:, 0] * out[:, 1] - along[:, 1] * out[:, 0])
        flat = aside <= within * np.hypot(along[:, 0], along[:, 1])
        kept = np.ones(count, dtype=bool)
        kept[row[flat & (border[row] == border[row - 1])]] = False
        points, border = points[kept], border[kept]
    return points, border
