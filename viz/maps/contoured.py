"""Contours of a plan map, computed once for sheet, paper and page: outlines of its bands."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np

from ...solver.model import Flags, Floats
from ...solver.polygons import inside, nearest_on_segments
from ..canvas.levels import Levels, band_colours, contour_levels
from .triangles import Outlines, Triangles

if TYPE_CHECKING:
    from .plans import PlanMap

_slack = 1.02  # what interpolation may add to the largest value
_passes = 8  # in each of which an outline may lose every other point ...
_speck = 1e-3  # of the map's longer side: no outline is shown that is smaller
_thin = 2.5e-4  # ... that lies no farther beside its neighbours, of the map's longer side
_fewest = 8  # points of an outline that may lose any


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
        return self._parts(border=False)

    def edges(self) -> list[Floats]:
        """Parts that are edges of the map, each as a polyline. [m]"""
        return self._parts(border=True)

    def _parts(self, *, border: bool) -> list[Floats]:
        sides = self.border if border else ~self.border
        if sides.all():
            return [np.concatenate([self.points, self.points[:1]])]
        first = int(np.argmin(sides))
        points, sides = np.roll(self.points, -first, axis=0), np.roll(sides, -first)
        points, found, at = np.concatenate([points, points[:1]]), [], 0
        for wanted, run in groupby(sides.tolist()):
            count = len(list(run))
            if wanted:
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
    mesh : Triangles
        What is shown, cut at the reach of the metal.
    rings : tuple of Ring
        From the lowest level up: filled in this order, they show the bands.
    unsafe : tuple of Ring
        Outlines of what does not keep the limit.
    """

    levels: Levels
    colours: Floats
    mesh: Triangles
    rings: tuple[Ring, ...]
    unsafe: tuple[Ring, ...]

    def view(self, *, beside: float) -> tuple[Floats, Floats]:
        """Corners of what is shown, with some room round it. [m]"""
        places = self.mesh.places
        return places.min(axis=0) - beside, places.max(axis=0) + beside

    def lines(self) -> Iterator[tuple[float, Floats]]:
        """Contours as polylines with the value of each. [m]"""
        first = self.rings[0].band
        for ring in self.rings:
            if ring.band > first:  # what is below the lowest level is all of the map
                value = float(self.levels.inner[ring.band - first - 1])
                yield from ((value, line) for line in ring.contours())


def map_contours(plan: "PlanMap") -> MapContours:
    """Contours of a map."""
    mesh = _shown(plan)
    levels = _levels(plan, shown=mesh.value, weights=mesh.areas)
    if plan.worst is not None and levels.high < _slack * plan.worst.value:
        # Found by refinement: above every sample, and below what triangles make of the edge.
        inner = levels.inner[levels.inner < plan.worst.value]
        levels = replace(levels, high=plan.worst.value, inner=inner)
        mesh = replace(mesh, value=np.minimum(mesh.value, plan.worst.value))
    first = _first_band(plan, levels=levels)
    count = levels.bands if plan.inner is None else len(plan.inner) + 1
    span = float(np.subtract(plan.high, plan.low).max())
    bounds = np.concatenate([[-np.inf], levels.inner])
    unsafe: tuple[Ring, ...] = ()
    if plan.limit is not None and mesh.held.max() > plan.limit:
        held = mesh.outlines(mesh.held, levels=np.array([plan.limit]))
        unsafe = _rings(held, first=0, span=span)
    return MapContours(
        levels,
        band_colours(count)[first : first + levels.bands],
        mesh,
        _rings(mesh.outlines(mesh.value, levels=bounds), first=first, span=span),
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


def _shown(plan: "PlanMap") -> Triangles:
    """Triangles of a map, cut at the reach of its metal."""
    metal, held = plan.metal, plan.values + (0 if plan.doubt is None else plan.doubt)
    given = Triangles.of(plan.places, triangles=plan.triangles, value=plan.values, held=held)
    if metal is None:
        return given.cut(np.zeros(len(plan.places)), at=0.0)  # without places of no triangle
    shown = given.cut(metal.distance(given.places) - metal.reach, at=1e-9 * metal.reach)
    if metal.kind != "body":
        return shown
    # Nobody stands inside.
    outline = metal.vertices
    wall = nearest_on_segments(shown.places, start=outline, end=np.roll(outline, -1, axis=0))
    depth = np.linalg.norm(shown.places - wall, axis=1)
    within = inside(shown.places, outline=outline)
    return shown.cut(np.where(within, depth, -depth), at=0.0)


def _rings(outlines: Outlines, *, first: int, span: float) -> tuple[Ring, ...]:
    """Outlines without points and specks that show nothing."""
    outlines = _thinned(outlines, within=_thin * span)
    if not len(outlines.starts):
        return ()
    size = np.maximum.reduceat(outlines.points, outlines.starts)
    size -= np.minimum.reduceat(outlines.points, outlines.starts)
    seen = np.flatnonzero((outlines.counts > 2) & (size.max(axis=1) > _speck * span))
    ends = outlines.starts + outlines.counts
    return tuple(
        Ring(
            first + int(outlines.level[k]),
            outlines.points[outlines.starts[k] : ends[k]],
            outlines.rim[outlines.starts[k] : ends[k]],
        )
        for k in seen
    )


def _thinned(outlines: Outlines, *, within: float) -> Outlines:
    """Outlines without points that show nothing; where a border ends they stay."""
    for turn in range(_passes):
        points, rim, counts = outlines.points, outlines.rim, outlines.counts
        place = np.arange(len(points)) - np.repeat(outlines.starts, counts)
        last = np.repeat(np.where(counts < _fewest, 0, counts - 1), counts)
        # Never two neighbours at once.
        row = np.flatnonzero((place % 2 == turn % 2) & (place > 0) & (place < last))
        before, along = points[row - 1], points[row + 1] - points[row - 1]
        out = points[row] - before
        aside = np.abs(along[:, 0] * out[:, 1] - along[:, 1] * out[:, 0])
        flat = aside <= within * np.hypot(along[:, 0], along[:, 1])
        kept = np.ones(len(points), dtype=bool)
        kept[row[flat & (rim[row] == rim[row - 1])]] = False
        outlines = outlines.only(kept)
    return outlines
