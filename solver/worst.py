"""The worst touch and step voltage, located by refinement and not by the nearest sample."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from .field import Field
from .model import Floats
from .places import TouchableMetal
from .surface import Area, SurfaceMap

_starts = 6
_rounds = 12


@dataclass(frozen=True)
class WorstVoltage:
    """The largest voltage of one kind and the places it stands between.

    Attributes
    ----------
    kind : {"touch", "step"}
        Metal to foot, or foot to foot.
    name : str
        Name of the touched metal; empty for a step.
    voltage : float
        Prospective (open-circuit) voltage. [V]
    foot : tuple of float, length 2
        Plan place of the foot. [m]
    other_foot : tuple of float, length 2, or None
        Plan place of the other foot of a step. [m]
    """

    kind: str
    name: str
    voltage: float
    foot: tuple[float, float]
    other_foot: tuple[float, float] | None = None


def _starting_rows(values: Floats, *, places: Floats, apart: float) -> list[int]:
    """Rows of the largest values that are not close to each other."""
    rows: list[int] = []
    order = np.argsort(-np.where(np.isfinite(values), values, -np.inf))
    for row in order[:5000]:
        if not np.isfinite(values[row]) or len(rows) == _starts:
            break
        gaps = np.linalg.norm(places[rows] - places[row], axis=1) if rows else np.zeros(0)
        if (gaps > apart).all():
            rows.append(int(row))
    return rows


def _climb(
    start: Floats,
    *,
    steps: Floats,
    value: Callable[[Floats], Floats],
    allowed: Callable[[Floats], Floats],
) -> Floats:
    """Local maxima by a shrinking star of trials, all starts at once; shape of `start`.

    Trials are brought back to what is allowed, so that the search slides along its edge.
    """
    at = start.copy()
    count, size = at.shape
    star = np.array(np.meshgrid(*[[0.0, -1.0, 1.0]] * size)).reshape(size, -1).T
    step = steps.astype(float)
    for _ in range(_rounds):
        trials = allowed((at[:, None, :] + star[None] * step).reshape(-1, size))
        values = value(trials).reshape(count, len(star))
        best = values.argmax(axis=1)
        at = trials.reshape(count, len(star), size)[np.arange(count), best]
        step = np.where((best == 0).all(), 0.4, 0.7) * step
    return at


def _round_metal(metal: TouchableMetal) -> Floats:
    """Places at half and at just within the reach all round the metal, shape (n, 2). [m]"""
    vertices = metal.vertices
    ends = np.roll(vertices, -1, axis=0) if metal.closed else vertices[1:]
    along = [vertices]
    if metal.kind != "points":
        for a, b in zip(vertices, ends, strict=False):
            count = int(np.clip(np.linalg.norm(b - a) / metal.reach, 1, 500))
            along.append(a + np.linspace(0, 1, count + 1)[:, None] * (b - a))
    centres = np.concatenate(along)
    angle = 2 * np.pi * np.arange(12) / 12
    circle = metal.reach * np.column_stack([np.cos(angle), np.sin(angle)])
    rings = [centres[:, None] + share * circle[None] for share in (0.5, 0.999)]
    return np.concatenate([centres, *(ring.reshape(-1, 2) for ring in rings)])


def worst_touch(
    surface: SurfaceMap, *, index: int, metal: TouchableMetal, field: Field, area: Area
) -> WorstVoltage | None:
    """Largest touch voltage on one metal, within reach and within the mapped area.

    Parameters
    ----------
    surface : SurfaceMap
        Samples to start from.
    index : int
        Row of `surface.touch` that belongs to the metal.
    metal : TouchableMetal
        What is touched.
    field : Field
        The field.
    area : Area
        Where to look.

    Returns
    -------
    worst : WorstVoltage or None
        None if no place of the area is within reach.
    """

    def value(places: Floats) -> Floats:
        return np.abs(field.voltage[metal.group] - field.surface_potential(places))

    def allowed(places: Floats) -> Floats:
        # Pulled twice: the edge of the area may have pushed a place out of reach.
        for _ in range(2):
            places = np.clip(metal.pulled_within_reach(places), area.low, area.high)
        return places

    # The raster may be too coarse to meet the reach, so places round the metal start too.
    spacing = min(area.spacing, metal.reach)
    seeds = np.concatenate([surface.places, _round_metal(metal)])
    known = np.full(len(seeds), np.nan)
    known[: len(surface.places)] = surface.touch[index]
    fresh = np.flatnonzero(np.isnan(known) & metal.within_reach(seeds))
    fresh = fresh[(np.clip(seeds[fresh], area.low, area.high) == seeds[fresh]).all(axis=1)]
    known[fresh] = value(seeds[fresh])
    rows = _starting_rows(known, places=seeds, apart=2 * spacing)
    if not rows:
        return None
    steps = np.full(2, 0.5 * spacing)
    found = _climb(seeds[rows], steps=steps, value=value, allowed=allowed)
    values = np.where(metal.within_reach(found), value(found), -np.inf)
    top = int(values.argmax())
    return WorstVoltage("touch", metal.name, float(values[top]), _pair(found[top]))


def worst_step(surface: SurfaceMap, *, field: Field, area: Area) -> WorstVoltage:
    """Largest step voltage with one foot in the mapped area, over all directions.

    Parameters
    ----------
    surface : SurfaceMap
        Samples to start from.
    field : Field
        The field.
    area : Area
        Where to look.

    Returns
    -------
    worst : WorstVoltage
    """
    pace = surface.pace

    def feet(state: Floats) -> tuple[Floats, Floats]:
        heading = np.column_stack([np.cos(state[:, 2]), np.sin(state[:, 2])])
        return state[:, :2], state[:, :2] + pace * heading

    def value(state: Floats) -> Floats:
        both = field.surface_potential(np.concatenate(feet(state)))
        return np.abs(both[: len(state)] - both[len(state) :])

    def allowed(state: Floats) -> Floats:
        return np.column_stack([np.clip(state[:, :2], area.low, area.high), state[:, 2]])

    rows = _starting_rows(surface.step, places=surface.places, apart=2 * area.spacing)
    start = np.column_stack([surface.places[rows], surface.step_direction[rows]])
    steps = np.array([0.5 * area.spacing, 0.5 * area.spacing, 0.15])
    found = _climb(start, steps=steps, value=value, allowed=allowed)
    values = value(found)
    top = int(values.argmax())
    one, other = feet(found[top : top + 1])
    return WorstVoltage("step", "", float(values[top]), _pair(one[0]), _pair(other[0]))


def _pair(place: Floats) -> tuple[float, float]:
    return float(place[0]), float(place[1])
