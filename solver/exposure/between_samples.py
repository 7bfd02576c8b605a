"""Steps between the samples of a map, where its lines would not be smooth without them.

The largest step over all directions has creases, where the worst direction jumps from one to
another, and narrow ridges, a pace from where the soil is highest. Lines through samples alone
are ragged there and leave specks. Between samples the worst direction is sought near those of
the samples beside it.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ..model import Flags, Floats, Integers, Phasors
from ..solved_soil import Field
from .halving import halved, sides_of
from .surface import SurfaceMap

_rounds = 3
_smooth = 1e-3  # of the map's longer side: no line is to be farther off
_flat = 1e-4  # of the largest step: less is no ridge
_alike = 0.5  # directions nearer than this are one peak [rad]
_aside = 0.06  # to both sides of a direction, for the parabola through its peak [rad]


@dataclass(frozen=True)
class StepSamples:
    """Samples of the largest step voltage, n places joined by triangles.

    Attributes
    ----------
    places, triangles, potential, step, direction
        As of a `SurfaceMap`, whose samples come first.
    """

    places: Floats
    triangles: Integers
    potential: Phasors
    step: Floats
    direction: Floats


def step_samples(
    surface: SurfaceMap,
    *,
    field: Field,
    levels: Floats,
    within: Callable[[Floats], Flags] | None = None,
) -> StepSamples:
    """The samples of a map, with more where lines of equal step would be ragged.

    Parameters
    ----------
    levels : ndarray of float, shape (k,)
        Of the lines. [V]
    within : callable, optional
        Says of places, shape (m, 2), between which there may be more; everywhere without it.
    """
    found = StepSamples(
        surface.places,
        surface.triangles,
        surface.potential,
        surface.step,
        surface.step_direction,
    )
    span = float(np.ptp(surface.places, axis=0).max())
    for _ in range(_rounds):
        sides = _ragged(found, levels=np.sort(levels), off=_smooth * span)
        if within is not None:
            sides = sides[within(found.places[sides].mean(axis=1))]
        if not len(sides):
            break
        found = _halved(found, sides, field=field, pace=surface.pace)
    return found


def _ragged(samples: StepSamples, *, levels: Floats, off: float) -> Integers:
    """Sides of triangles on which a line would be farther off than allowed, shape (m, 2)."""
    places, step = samples.places, samples.step
    sides = sides_of(samples.triangles, count=len(places))
    slope = _slopes(samples)
    one, other = sides.T
    along = places[other] - places[one]
    # A parabola between two slopes is off by an eighth of their difference, a crease by twice
    # as much.
    error = np.abs(((slope[one] - slope[other]) * along).sum(axis=1)) / 4
    low, high = np.minimum(step[one], step[other]), np.maximum(step[one], step[other])
    met = np.searchsorted(levels, low - error) < np.searchsorted(levels, high + error)
    steep = np.linalg.norm(slope[one] + slope[other], axis=1) / 2
    seen = error > np.maximum(off * steep, _flat * step.max())
    return np.asarray(sides[met & seen & (np.linalg.norm(along, axis=1) > off)])


def _slopes(samples: StepSamples) -> Floats:
    """Gradient of the step at each place, the mean of the triangles round it, (n, 2). [V/m]"""
    corners = samples.triangles
    a, b, c = (samples.places[corners[:, k]] for k in range(3))
    u, v, w = (samples.step[corners[:, k]] for k in range(3))
    (px, py), (qx, qy) = (b - a).T, (c - a).T
    area = px * qy - py * qx
    # Twice the area times the gradient: flat triangles on the edge of the map weigh nothing.
    found = np.column_stack(
        [(v - u) * qy - (w - u) * py, (w - u) * px - (v - u) * qx]
    ) * np.sign(area)[:, None]  # fmt: skip
    rows, count = corners.ravel(), len(samples.places)
    weight = np.bincount(rows, weights=np.repeat(np.abs(area), 3), minlength=count)
    sums = [np.bincount(rows, weights=np.repeat(g, 3), minlength=count) for g in found.T]
    return np.column_stack(sums) / np.maximum(weight, 1e-300)[:, None]


def _halved(samples: StepSamples, sides: Integers, *, field: Field, pace: float) -> StepSamples:
    """The samples with one more in the middle of each of some sides."""
    places = samples.places[sides].mean(axis=1)
    one, other = samples.direction[sides].T
    apart = np.angle(np.exp(1j * (other - one)))
    alike = np.abs(apart) < _alike
    # Both directions of a side whose ends disagree are tried, one after all others.
    twice = np.flatnonzero(~alike)
    potential, step, direction = _peaks(
        np.concatenate([np.where(alike, one + apart / 2, one), other[twice]]),
        places,
        rows=np.concatenate([np.arange(len(places)), twice]),
        field=field,
        pace=pace,
    )
    count = len(places)
    larger = np.flatnonzero(step[count:] > step[twice])
    step[twice[larger]] = step[count + larger]
    direction[twice[larger]] = direction[count + larger]
    # From beside a void all directions of the samples may lead into it: nothing is known there.
    known = (step[:count] > 0) & field.on_ground(places)
    if not field.solution.soil.open_voids:
        known[:] = True
    places = np.concatenate([samples.places, places[known]])
    return StepSamples(
        places,
        halved(samples.triangles, sides=sides[known], places=places),
        np.concatenate([samples.potential, potential[known]]),
        np.concatenate([samples.step, step[:count][known]]),
        np.concatenate([samples.direction, direction[:count][known]]),
    )


def _peaks(
    direction: Floats, places: Floats, *, rows: Integers, field: Field, pace: float
) -> tuple[Phasors, Floats, Floats]:
    """Potential of places, and near each direction the largest step from its place.

    Parameters
    ----------
    direction : ndarray of float, shape (k,)
        [rad]
    places : ndarray of float, shape (n, 2)
        [m]
    rows : ndarray of int, shape (k,)
        Place that each direction is tried at.

    Returns
    -------
    potential : ndarray of float or complex, shape (n,)
        [V]
    step, direction : ndarray of float, shape (k,)
        [V], [rad]
    """

    def feet(angle: Floats) -> Floats:
        return places[rows] + pace * np.column_stack([np.cos(angle), np.sin(angle)])

    tried = direction + np.array([[-_aside], [0.0], [_aside]])
    # Places near each other cost less when they are asked for at once.
    ground = field.surface_potential(np.concatenate([places, *map(feet, tried)]))
    potential, others = ground[: len(places)], ground[len(places) :].reshape(3, -1)
    standing = np.array([field.on_ground(feet(angle)) for angle in tried])
    before, here, after = np.where(standing, np.abs(potential[rows] - others), 0.0)
    largest = np.maximum(here, np.maximum(before, after))
    bend = np.minimum(before + after - 2 * here, -1e-12 * (largest + 1e-300))
    top = direction + _aside * np.clip(0.5 * (before - after) / bend, -2.0, 2.0)
    last = np.abs(potential[rows] - field.surface_potential(feet(top)))
    last[~field.on_ground(feet(top))] = 0.0
    values = np.stack([before, here, after, last])
    best = values.argmax(axis=0)[None]
    angles = np.concatenate([tried, top[None]])
    return (
        potential,
        np.take_along_axis(values, best, axis=0)[0],
        np.take_along_axis(angles, best, axis=0)[0],
    )
