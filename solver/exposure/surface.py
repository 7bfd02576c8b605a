"""Maps of the soil surface: potential, touch voltage and step voltage.

Sampling is a raster, halved twice near shallow metal. Of the worst step up to three directions
are tried in the field itself: the two best ones on a quick surface (a spline through the
raster, finer over shallow metal), and that to the nearest metal. Where that surface knows the
metal, directions that it shows to be far from the worst are left out.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..model import Conductors, Floats, Integers, Phasors
from ..solved_soil import Field
from .directions import a_pace_on, along_voids, steepest, towards_metal
from .places import TouchableMetal
from .quick_surface import Fineness, quick_surface
from .raster import Area, Raster, joined, plan_points
from .void_rims import with_rims

# Of the largest potential: a direction whose step on the quick surface is less by so much than
# one tried before is not tried in the field.
_likely = 2e-3
# Tops of rods that a foot can stand on: no deeper than this share of a pace, and so many that
# the circles about them do not become most of the places.
_in_sight, _most_tops, _round_a_top = 0.1, 40, 96
# Share of its voltage by which a head is above its soil; of bare metal it is a twentieth.
_stands_out = 0.1


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

    None in a void, where nobody stands, but along its rim. Finer where metal lies less deep
    than two rasters. A step is largest with one foot on the top of a rod, a circle too thin for
    any raster.

    Parameters
    ----------
    pace : float
        Distance between the feet, > 0. [m]

    Returns
    -------
    places : ndarray of float, shape (n, 2)
        [m]
    """
    return _sampled(area, field=field, pace=pace)[0]


def _sampled(area: Area, *, field: Field, pace: float) -> tuple[Floats, Raster, int]:
    """Places to sample, the raster that most of them are on, and how often that was halved."""
    conductors = field.solution.conductors
    depth = -np.maximum(conductors.start[:, 2], conductors.end[:, 2])
    halved = sum(bool((depth < 2 * area.spacing / 2**level).any()) for level in (1, 2))
    raster = Raster.of(area, halved=halved)
    nodes = np.zeros(raster.shape, dtype=bool)
    nodes[:: 2**halved, :: 2**halved] = True
    for level in range(1, halved + 1):
        spacing, stride = area.spacing / 2**level, 2 ** (halved - level)
        shallow = depth < 2 * spacing
        along = plan_points(
            conductors.start[shallow], end=conductors.end[shallow], spacing=spacing
        )
        nodes[::stride, ::stride] |= Raster.of(area, halved=level).near(
            along, distance=2.5 * spacing
        )
    places = np.round(raster.places(nodes), 9)
    soil = field.solution.soil
    places = with_rims(places, area=area, soil=soil, apart=float(raster.step.max()))
    others = about_rods(area, field=field, pace=pace)
    if len(others):
        places = np.unique(np.concatenate([places, np.round(others, 9)]), axis=0)
    return places[field.on_ground(places)], raster, halved


def about_rods(area: Area, *, field: Field, pace: float) -> Floats:
    """Places that no raster meets: a pace from rods in sight, and beside heads, (n, 2). [m]"""
    tops = _a_pace_from_tops(area, conductors=field.solution.conductors, pace=pace)
    return np.concatenate([tops, _beside_heads(area, field=field)])


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
    places, raster, halved = _sampled(area, field=field, pace=pace)
    triangles = joined(places, raster=raster, halved=halved)
    triangles = triangles[field.on_ground(places[triangles].mean(axis=1))]
    potential = field.surface_potential(places)
    step, direction = steepest_steps(
        places, potential=potential, field=field, area=area, pace=pace
    )
    touch = touch_voltages(places, potential=potential, field=field, metals=metals)
    return SurfaceMap(places, triangles, potential, step, direction, touch, pace)


def touch_voltages(
    places: Floats, *, potential: Phasors, field: Field, metals: Sequence[TouchableMetal]
) -> Floats:
    """Voltage between each of k metals and feet, not a number out of reach, (k, n). [V]"""
    found = [
        np.where(
            metal.within_reach(places),
            np.abs(field.metal_voltage(metal.group, places=places) - potential),
            np.nan,
        )
        for metal in metals
    ]
    return np.array(found).reshape(len(metals), len(places))


def steepest_steps(
    places: Floats,
    *,
    potential: Phasors,
    field: Field,
    area: Area,
    pace: float,
    fineness: Fineness | None = None,
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
    fineness : Fineness, optional
        Of the surface on which directions are sought, over shallow metal.

    Returns
    -------
    step, direction : ndarray of float, shape (n,)
        Voltage between a foot here and one a pace away [V], and the direction of that pace,
        anticlockwise from the +x axis, from 0 and below a full turn [rad].
    """
    surface = quick_surface(
        area,
        places=places,
        known=potential,
        field=field,
        pace=pace,
        fineness=fineness or Fineness(),
    )
    margin = _likely * float(np.abs(potential).max(initial=0.0))
    if _shallowest(field) < surface.raster.step.max():
        margin = np.inf  # too thin for the quick surface: everything is tried
    step, direction = np.full(len(places), -np.inf), np.zeros(len(places))
    for candidate in (
        *steepest(places, potential=potential, surface=surface, field=field, pace=pace),
        *along_voids(places, potential=potential, surface=surface, field=field, pace=pace),
        towards_metal(places, field=field, spacing=area.spacing),
    ):
        other = a_pace_on(places, candidate, pace=pace)
        value, doubt = surface.smoothly(other)
        tried = (np.abs(potential - value) + doubt + margin > step) & field.on_ground(other)
        rows = np.flatnonzero(tried)
        voltage = np.abs(potential[rows] - field.surface_potential(other[rows]))
        larger = voltage > step[rows]
        rows = rows[larger]
        step[rows], direction[rows] = voltage[larger], candidate[rows]
    step[np.isinf(step)] = 0.0  # all that is a pace away is a void
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


def _shallowest(field: Field) -> float:
    """Depth of the metal nearest to the surface. [m]"""
    conductors = field.solution.conductors
    return -float(np.maximum(conductors.start[:, 2], conductors.end[:, 2]).max())
