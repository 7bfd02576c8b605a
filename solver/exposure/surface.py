"""Maps of the soil surface: potential, touch voltage and step voltage.

Sampling is a raster, halved twice near shallow metal. Of the worst step three directions are
tried in the field itself: the two best ones on a quick surface (a spline through the raster,
finer over shallow metal), and that to the nearest metal.
"""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
from scipy.interpolate import RectBivariateSpline
from scipy.ndimage import map_coordinates, maximum_filter
from scipy.spatial import Delaunay, cKDTree

from ..model import Conductors, Flags, Floats, Integers, Phasors
from ..pairs import numbered
from ..solved_soil import Field
from .places import TouchableMetal

_directions = 72
_batch = 20_000  # places that all directions are tried of at once
# Over metal less deep than a raster the quick surface is this many times finer, so many of its
# steps to each side.
_finer, _beside = 4, 3
# Tops of rods that a foot can stand on: no deeper than this share of a pace, and so many that
# the circles about them do not become most of the places.
_in_sight, _most_tops, _round_a_top = 0.1, 40, 96
# Corners of a square lie on one circle, which costs a triangulation half its time; of a raster
# sheared by so little they do not, and straight edges stay straight.
_shear = np.array([[1.0, 0.0], [2.0**-7, 1.0]])
# Share of its voltage by which a head is above its soil; of bare metal it is a twentieth.
_stands_out = 0.1


@dataclass(frozen=True)
class Area:
    """Rectangle of the surface to be mapped.

    Attributes
    ----------
    low, high : tuple of float, length 2
        Opposite corners. [m]
    spacing : float
        Raster of the sampling away from metal. [m]
    """

    low: tuple[float, float]
    high: tuple[float, float]
    spacing: float


@dataclass(frozen=True)
class SurfaceMap:
    """Sampled surface, n places joined by triangles.

    Attributes
    ----------
    places : ndarray of float, shape (n, 2)
        [m]
    triangles : ndarray of int, shape (m, 3)
    potential : ndarray of float or complex, shape (n,)
        Of the soil surface to remote earth. [V]
    step : ndarray of float, shape (n,)
        Largest voltage between a foot here and one a pace away, in any direction. [V]
    step_direction : ndarray of float, shape (n,)
        Direction of that pace, anticlockwise from the +x axis: from 0, below a full turn.
        Results of earlier releases have half a turn either way too. [rad]
    touch : ndarray of float, shape (k, n)
        Between each touchable metal and a foot here; not a number out of its reach. [V]
    pace : float
        Distance between the feet. [m]
    """

    places: Floats
    triangles: Integers
    potential: Phasors
    step: Floats
    step_direction: Floats
    touch: Floats
    pace: float


def sample_places(area: Area, *, field: Field, pace: float) -> Floats:
    """Places to sample: the raster, finer near shallow metal, and a pace from rods in sight.

    Finer where metal lies less deep than two rasters. A step is largest with one foot on the
    top of a rod, which is a circle too thin for any raster.

    Parameters
    ----------
    pace : float
        Distance between the feet, > 0. [m]

    Returns
    -------
    places : ndarray of float, shape (n, 2)
        [m]
    """
    conductors = field.solution.conductors
    depth = -np.maximum(conductors.start[:, 2], conductors.end[:, 2])
    levels = [_raster(area, spacing=area.spacing)]
    for level in (1, 2):
        spacing = area.spacing / 2**level
        shallow = depth < 2 * spacing
        if not shallow.any():
            break
        finer = _raster(area, spacing=spacing)
        along = _plan_points(
            conductors.start[shallow], end=conductors.end[shallow], spacing=spacing
        )
        near = cKDTree(along).query(finer, distance_upper_bound=2.5 * spacing)[0]
        levels.append(finer[np.isfinite(near)])
    levels.append(_a_pace_from_tops(area, conductors=conductors, pace=pace))
    levels.append(_beside_heads(area, field=field))
    places = np.round(np.concatenate(levels), 9)
    return np.unique(places, axis=0)


def _a_pace_from_tops(area: Area, *, conductors: Conductors, pace: float) -> Floats:
    """Places a pace from the tops of rods in sight, if these are few, shape (n, 2). [m]"""
    steep = np.abs(conductors.direction[:, 2]) > 0.7
    ends = np.concatenate([conductors.start[steep], conductors.end[steep]])
    tops = np.unique(ends[ends[:, 2] > -_in_sight * pace, :2], axis=0)
    if len(tops) > _most_tops:
        return np.zeros((0, 2))
    angle = 2 * np.pi * np.arange(_round_a_top) / _round_a_top
    circle = pace * np.column_stack([np.cos(angle), np.sin(angle)])
    places = (tops[:, None] + circle).reshape(-1, 2)
    return _inside(places, area=area)


def _beside_heads(area: Area, *, field: Field) -> Floats:
    """Places just beside heads that stand out of their soil, as behind a film, (n, 2). [m]

    Without them a map would join a head to soil a raster away: too little touch in between.
    """
    conductors = field.solution.conductors
    ends = np.concatenate([conductors.start, conductors.end])
    flush = np.flatnonzero(ends[:, 2] > -1e-9)
    if not 0 < len(flush) <= _most_tops:
        return np.zeros((0, 2))
    heads, radius = ends[flush], np.tile(conductors.radius, 2)[flush]
    below = heads - [0.0, 0.0, 1.0] * radius[:, None]
    on, under = np.split(np.abs(field.potential(np.concatenate([heads, below]))), 2)
    apart = np.abs(on - under) > _stands_out * on
    angle = 2 * np.pi * np.arange(8) / 8
    circle = np.column_stack([np.cos(angle), np.sin(angle)])
    places = heads[apart, None, :2] + 1.5 * radius[apart, None, None] * circle
    return _inside(places.reshape(-1, 2), area=area)


def _inside(places: Floats, *, area: Area) -> Floats:
    within = ((places >= area.low) & (places <= area.high)).all(axis=1)
    return places[within]


def _plan_points(start: Floats, *, end: Floats, spacing: float) -> Floats:
    """Points about a spacing apart along plan segments, shape (n, 2). [m]"""
    along = end[:, :2] - start[:, :2]
    count = np.ceil(np.linalg.norm(along, axis=1) / spacing).astype(int) + 1
    piece, step = numbered(count)
    share = (step / np.maximum(count - 1, 1)[piece])[:, None]
    return start[piece, :2] + share * along[piece]


def _axes(area: Area, *, spacing: float) -> tuple[Floats, Floats]:
    sides = np.subtract(area.high, area.low)
    count = np.maximum(1, np.round(sides / spacing)).astype(int)
    x = np.linspace(area.low[0], area.high[0], count[0] + 1)
    y = np.linspace(area.low[1], area.high[1], count[1] + 1)
    return x, y


def _raster(area: Area, *, spacing: float) -> Floats:
    x, y = _axes(area, spacing=spacing)
    return np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)


def surface_map(
    area: Area, *, field: Field, metals: Sequence[TouchableMetal], pace: float
) -> SurfaceMap:
    """Map of surface potential, touch and step voltage.

    Parameters
    ----------
    metals : sequence of TouchableMetal, length k
        What can be touched.
    pace : float
        Distance between the feet, > 0. [m]
    """
    places = sample_places(area, field=field, pace=pace)
    with ThreadPoolExecutor(1) as beside:
        joining = beside.submit(Delaunay, places @ _shear)  # leaves numpy to work on
        potential = field.surface_potential(places)
        step, direction = steepest_steps(
            places, potential=potential, field=field, area=area, pace=pace
        )
        triangles = joining.result().simplices.astype(np.int64)
    touch = np.array(
        [
            np.where(
                metal.within_reach(places),
                np.abs(field.voltage[metal.group] - potential),
                np.nan,
            )
            for metal in metals
        ]
    ).reshape(len(metals), len(places))
    return SurfaceMap(places, triangles, potential, step, direction, touch, pace)


def steepest_steps(
    places: Floats, *, potential: Phasors, field: Field, area: Area, pace: float
) -> tuple[Floats, Floats]:
    """Largest step voltage at each place over all directions.

    Parameters
    ----------
    places : ndarray of float, shape (n, 2)
        In the mapped area. [m]
    potential : ndarray of float or complex, shape (n,)
        Of the surface there. [V]
    area : Area
        Rectangle and raster; a pace beyond it is looked at too.
    pace : float
        Distance between the feet, > 0. [m]

    Returns
    -------
    step, direction : ndarray of float, shape (n,)
        Voltage between a foot here and one a pace away [V], and the direction of that pace,
        anticlockwise from the +x axis, from 0 and below a full turn [rad].
    """
    surface = _quick_surface(area, field=field, pace=pace)
    step, direction = np.zeros(len(places)), np.zeros(len(places))
    for candidate in (
        *_steepest(places, potential=potential, surface=surface, pace=pace),
        _towards_metal(places, field=field, spacing=area.spacing),
    ):
        other = places + pace * np.column_stack([np.cos(candidate), np.sin(candidate)])
        voltage = np.abs(potential - field.surface_potential(other))
        larger = voltage > step
        step[larger], direction[larger] = voltage[larger], candidate[larger]
    return step, _in_one_turn(direction)


def _in_one_turn(direction: Floats) -> Floats:
    """Directions from 0 and below a full turn; one just short of it by round-off is 0. [rad]"""
    turned = np.mod(direction, 2 * np.pi)
    return np.where(2 * np.pi - turned < 1e-9, 0.0, turned)


def with_pace(surface: SurfaceMap, *, field: Field, area: Area, pace: float) -> SurfaceMap:
    """The map with the steps of another pace; the same where it has that pace already.

    Parameters
    ----------
    pace : float
        Distance between the feet, > 0. [m]
    """
    if pace == surface.pace:
        return surface
    step, direction = steepest_steps(
        surface.places, potential=surface.potential, field=field, area=area, pace=pace
    )
    return replace(surface, step=step, step_direction=direction, pace=pace)


def _quick_surface(area: Area, *, field: Field, pace: float) -> Callable[[Floats], Phasors]:
    """Potential at places of shape (n, k, 2) in the area and a pace beyond it, shape (n, k).

    Wires less deep than the raster make ridges that a spline through it does not know: so a
    pace that ends on one was up to 29 % low.
    """
    low, high = np.subtract(area.low, pace), np.add(area.high, pace)
    wide = Area((low[0], low[1]), (high[0], high[1]), area.spacing)
    x, y = _axes(wide, spacing=wide.spacing)
    values = field.surface_potential(_raster(wide, spacing=wide.spacing))
    fine = [np.linspace(axis[0], axis[-1], _finer * (len(axis) - 1) + 1) for axis in (x, y)]
    values = _splined(x, y, values=values.reshape(len(x), len(y)), fine=fine)
    near = _over_shallow_metal(*fine, field=field, spacing=area.spacing)
    values[near] = field.surface_potential(
        np.column_stack([axis[i] for axis, i in zip(fine, np.nonzero(near), strict=True)])
    )
    origin = np.array([axis[0] for axis in fine])
    step = np.array([axis[1] - axis[0] for axis in fine])

    def potential(places: Floats) -> Phasors:
        found = map_coordinates(
            values, np.moveaxis((places - origin) / step, -1, 0), order=1, mode="nearest"
        )
        return np.asarray(found)

    return potential


def _over_shallow_metal(x: Floats, y: Floats, *, field: Field, spacing: float) -> Flags:
    """Which nodes of a fine raster stand over or beside metal less deep than `spacing`."""
    conductors = field.solution.conductors
    shallow = -np.maximum(conductors.start[:, 2], conductors.end[:, 2]) < spacing
    along = _plan_points(
        conductors.start[shallow], end=conductors.end[shallow], spacing=x[1] - x[0]
    )
    node = np.column_stack(
        [
            np.round((along[:, k] - axis[0]) / (axis[1] - axis[0]))
            for k, axis in enumerate((x, y))
        ]
    ).astype(int)
    node = node[((node >= 0) & (node < (len(x), len(y)))).all(axis=1)]
    over = np.zeros((len(x), len(y)), dtype=bool)
    over[node[:, 0], node[:, 1]] = True
    return np.asarray(maximum_filter(over, size=2 * _beside + 1))


def _splined(x: Floats, y: Floats, *, values: Phasors, fine: Sequence[Floats]) -> Phasors:
    """Values of a raster, real or complex, at the nodes of a finer one by a spline."""
    degree = [min(3, len(axis) - 1) for axis in (x, y)]

    def part(values: Floats) -> Floats:
        spline = RectBivariateSpline(x, y, values, kx=degree[0], ky=degree[1])
        return np.asarray(spline(fine[0], fine[1]))

    if np.iscomplexobj(values):
        return np.asarray(part(np.real(values)) + 1j * part(np.imag(values)))
    return part(np.asarray(values, dtype=float))


def _towards_metal(places: Floats, *, field: Field, spacing: float) -> Floats:
    """Direction to the nearest metal in plan, where a spline is blind to a thin rod. [rad]"""
    conductors = field.solution.conductors
    along = _plan_points(conductors.start, end=conductors.end, spacing=spacing)
    offset = along[cKDTree(along).query(places)[1]] - places
    return np.arctan2(offset[:, 1], offset[:, 0])


def _steepest(
    places: Floats,
    *,
    potential: Phasors,
    surface: Callable[[Floats], Phasors],
    pace: float,
) -> Floats:
    """The two directions in which a pace differs most by a quick surface, (2, n). [rad]

    Of each peak among the directions tried, the top of the parabola through its neighbours.
    """
    angle = 2 * np.pi * np.arange(_directions) / _directions
    heading = pace * np.column_stack([np.cos(angle), np.sin(angle)])
    best = np.zeros((2, len(places)))
    for first in range(0, len(places), _batch):
        batch = slice(first, first + _batch)
        there = surface(places[batch, None] + heading)
        size = np.abs(potential[batch, None] - there)
        before, after = np.roll(size, 1, axis=1), np.roll(size, -1, axis=1)
        peak = (size >= before) & (size >= after)
        chosen = np.argsort(np.where(peak, size, -1.0), axis=1)[:, :-3:-1]
        here, one, other = (
            np.take_along_axis(values, chosen, axis=1) for values in (size, before, after)
        )
        bend = np.minimum(one + other - 2 * here, -1e-12 * here.max(initial=1e-300))
        shift = np.clip(0.5 * (one - other) / bend, -0.5, 0.5)
        best[:, batch] = (2 * np.pi / _directions * (chosen + shift)).T
    return best
