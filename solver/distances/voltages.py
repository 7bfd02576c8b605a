"""Potential, step and touch voltage at any place of the surface."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..exposure.places import TouchableMetal
from ..exposure.raster import Area
from ..exposure.surface import sample_places, steepest_steps
from ..model import Floats
from .outlines import Voltage
from .plan import Level
from .wide import WideField

_directions = 12  # of steps that are tried, before the best of them is turned to the worst
_raster, _margin, _least = 100, 0.2, 5.0  # of the map that growing begins with, as maps are


@dataclass(frozen=True)
class Start:
    """The map that growing begins with, and the voltage beyond it.

    Attributes
    ----------
    low, high : ndarray of float, shape (2,)
        Corners. [m]
    places : ndarray of float, shape (n, 2)
        [m]
    values : ndarray of float, shape (n,)
        Voltage there. [V]
    voltage : callable
        Voltage at any places of shape (n, 2). [V]
    """

    low: Floats
    high: Floats
    places: Floats
    values: Floats
    voltage: Voltage


def start_of(
    level: Level,
    *,
    wide: WideField,
    metals: Sequence[TouchableMetal],
    pace: float,
    factor: float,
) -> Start:
    """The map that a level is looked for on first: round all metal, or round what is touched.

    Parameters
    ----------
    factor : float
        Growth and decrement, in all voltages.
    """
    if level.kind == "touch":
        metal = next(item for item in metals if item.name == level.metal)
        ends, beyond = metal.vertices, 2.5 * metal.reach
    else:
        conductors = wide.field.solution.conductors
        ends = np.concatenate([conductors.start[:, :2], conductors.end[:, :2]])
        diagonal = float(np.linalg.norm(np.ptp(ends, axis=0)))
        beyond = max(_least, _margin * diagonal)
    low, high = ends.min(axis=0) - beyond, ends.max(axis=0) + beyond
    spacing = float(np.max(high - low)) / _raster
    area = Area((low[0], low[1]), (high[0], high[1]), spacing)
    places = sample_places(area, field=wide.field, pace=pace)
    potential = wide.field.surface_potential(places)
    if level.kind == "potential":
        return Start(
            low,
            high,
            places,
            factor * np.abs(potential),
            lambda where: factor * np.abs(wide.surface(where)),
        )
    if level.kind == "touch":
        touch = _touch(metal, wide, factor)
        return Start(low, high, places, touch(places), touch)
    step, _ = steepest_steps(
        places, potential=potential, field=wide.field, area=area, pace=pace
    )
    return Start(
        low,
        high,
        places,
        factor * step,
        lambda where: factor * _steps(where, wide=wide, pace=pace),
    )


def _touch(metal: TouchableMetal, wide: WideField, factor: float) -> Voltage:
    """Between metal and a foot, nought where nobody reaches it. [V]"""

    def voltage(places: Floats) -> Floats:
        found = np.zeros(len(places))
        near = metal.within_reach(places)
        held = wide.field.metal_voltage(metal.group, places=places[near])
        found[near] = factor * np.abs(held - wide.surface(places[near]))
        return found

    return voltage


def _steps(places: Floats, *, wide: WideField, pace: float) -> Floats:
    """Largest voltage between a foot at each place and one a pace away, shape (n,). [V]"""
    here = wide.surface(places)

    def step(angle: Floats) -> Floats:
        there = places + pace * np.column_stack([np.cos(angle), np.sin(angle)])
        return np.abs(here - wide.surface(there))

    apart = 2 * np.pi / _directions
    tried = np.array(
        [step(np.full(len(places), number * apart)) for number in range(_directions)]
    )
    best, rows = tried.argmax(axis=0), np.arange(len(places))
    before, most, after = (tried[(best + k) % _directions, rows] for k in (-1, 0, 1))
    # The top of a parabola through the three lies between them.
    bend = np.maximum(2 * most - before - after, 1e-300)
    shift = np.clip(0.5 * (after - before) / bend, -0.5, 0.5)
    return np.maximum(most, step((best + shift) * apart))
