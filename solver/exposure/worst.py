"""The worst touch and step voltages, located by refinement and not by the nearest sample.

Worst is the largest voltage, or the largest share of what is permissible where a limit says
how much that is at each place.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from ..model import Flags, Floats, Phasors
from ..polygons import inside, nearest_on_segments, on_or_inside
from ..solved_soil import Field
from .places import TouchableMetal
from .raster import Area
from .surface import SurfaceMap

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
    signed : float or None
        The voltage as metal less foot, or foot less other foot, in phase with the largest rise
        and above zero on its side: below zero the soil is above the metal. None in results of
        earlier releases. [V]
    """

    kind: str
    name: str
    voltage: float
    foot: tuple[float, float]
    other_foot: tuple[float, float] | None = None
    signed: float | None = None


@dataclass(frozen=True)
class Yardstick:
    """Where people stand and what they may meet there."""

    # Permissible voltage at plan places of shape (n, 2), shape (n,). [V] None ranks places by
    # their voltage.
    permissible: Callable[[Floats], Floats] | None = None
    # (m, 2): people stand inside this closed outline; None lets them stand anywhere. [m]
    outline: Floats | None = None

    def share(self, voltage: Floats, *feet: Floats) -> Floats:
        """Voltage over what is permissible, by the worse of the places of the feet."""
        if self.permissible is None:
            return voltage
        limits = [self.permissible(places) for places in feet]
        return np.asarray(voltage / np.min(limits, axis=0))

    def allows(self, places: Floats) -> Flags:
        """Whether people may stand at each place, shape (n,), bool."""
        if self.outline is None:
            return np.ones(len(places), dtype=bool)
        return on_or_inside(places, outline=self.outline)

    def pulled(self, places: Floats) -> Floats:
        """Nearest places at which people may stand, shape (n, 2). [m]"""
        if self.outline is None:
            return places
        within = inside(places, outline=self.outline)
        return np.where(within[:, None], places, self._nearest(places))

    def _nearest(self, places: Floats) -> Floats:
        assert self.outline is not None
        ends = np.roll(self.outline, -1, axis=0)
        return nearest_on_segments(places, start=self.outline, end=ends)


_plain = Yardstick()


def farthest_apart(values: Floats, *, places: Floats, apart: float, most: int) -> list[int]:
    """Rows of the largest values that are not close to each other, largest first."""
    rows: list[int] = []
    order = np.argsort(-np.where(np.isfinite(values), values, -np.inf))
    for row in order[:5000]:
        if not np.isfinite(values[row]) or len(rows) == most:
            break
        gaps = np.linalg.norm(places[rows] - places[row], axis=1) if rows else np.zeros(0)
        if (gaps > apart).all():
            rows.append(int(row))
    return rows


def climb(
    start: Floats,
    *,
    steps: Floats,
    value: Callable[[Floats], Floats],
    allowed: Callable[[Floats], Floats],
    rounds: int = _rounds,
) -> Floats:
    """Local maxima by a shrinking star of trials, all starts at once; shape of `start`.

    Trials are brought back to what is allowed, so that the search slides along its edge.
    """
    at = start.copy()
    count, size = at.shape
    star = np.array(np.meshgrid(*[[0.0, -1.0, 1.0]] * size)).reshape(size, -1).T
    step = steps.astype(float)
    for _ in range(rounds):
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


def within_area(metal: TouchableMetal, *, area: Area) -> bool:
    """Whether somebody in the mapped area can reach the metal, to about a reach."""
    corners = [(x, y) for x in (area.low[0], area.high[0]) for y in (area.low[1], area.high[1])]
    nearest = np.clip(_round_metal(metal), area.low, area.high)
    return bool(metal.within_reach(np.concatenate([nearest, corners])).any())


def worst_touch(
    surface: SurfaceMap,
    *,
    index: int,
    metal: TouchableMetal,
    field: Field,
    area: Area,
    yardstick: Yardstick = _plain,
    most: int = 1,
) -> tuple[WorstVoltage, ...]:
    """Largest touch voltages on one metal, within reach and within the mapped area.

    `index` is the metal's row of `surface.touch`. The yardstick ranks places and says where
    people stand; the voltage and anywhere when left out. Worst first, `most` at most, a reach
    or more from each other; empty if no place is within reach.
    """

    def difference(places: Floats) -> Phasors:
        held = field.metal_voltage(metal.group, places=places)
        return np.asarray(held - field.surface_potential(places))

    def voltage(places: Floats) -> Floats:
        return np.abs(difference(places))

    def value(places: Floats) -> Floats:
        share = yardstick.share(voltage(places), places)
        return np.where(field.on_ground(places), share, -1.0)

    def allowed(places: Floats) -> Floats:
        # Pulled twice: one edge may have pushed a place over another.
        for _ in range(2):
            places = metal.pulled_within_reach(yardstick.pulled(places))
            places = np.clip(places, area.low, area.high)
        return places

    def possible(places: Floats) -> Flags:
        mapped = (np.clip(places, area.low, area.high) == places).all(axis=1)
        standing = field.on_ground(places) & yardstick.allows(places)
        return np.asarray(mapped & metal.within_reach(places) & standing)

    # The raster may be too coarse to meet the reach, so places round the metal start too.
    spacing = min(area.spacing, metal.reach)
    seeds = np.concatenate([surface.places, _round_metal(metal)])
    known = np.full(len(seeds), np.nan)
    known[: len(surface.places)] = yardstick.share(surface.touch[index], surface.places)
    known[~yardstick.allows(seeds)] = np.nan
    fresh = np.flatnonzero(np.isnan(known) & possible(seeds))
    known[fresh] = value(seeds[fresh])
    rows = farthest_apart(known, places=seeds, apart=2 * spacing, most=max(_starts, most))
    if not rows:
        return ()
    steps = np.full(2, 0.5 * spacing)
    found = climb(seeds[rows], steps=steps, value=value, allowed=allowed)
    values = np.where(possible(found), value(found), np.nan)
    # Seeds stand beside what was climbed: peaks that have merged leave room for them.
    places, values = np.concatenate([found, seeds]), np.concatenate([values, known])
    best = places[farthest_apart(values, places=places, apart=metal.reach, most=most)]
    apart = difference(best)
    return tuple(
        WorstVoltage("touch", metal.name, float(size), _pair(place), signed=float(sign))
        for size, sign, place in zip(
            np.abs(apart), field.on_side_of_rise(apart), best, strict=True
        )
    )


def worst_step(
    surface: SurfaceMap,
    *,
    field: Field,
    area: Area,
    yardstick: Yardstick = _plain,
    most: int = 1,
) -> tuple[WorstVoltage, ...]:
    """Largest step voltages with one foot in the mapped area, over all directions.

    The yardstick ranks places by the worse of both feet and says where people set one foot.
    Worst first, `most` at most, their middles a pace or more from each other; empty if its
    outline leaves the mapped area out.
    """
    pace = surface.pace

    def feet(state: Floats) -> tuple[Floats, Floats]:
        heading = np.column_stack([np.cos(state[:, 2]), np.sin(state[:, 2])])
        return state[:, :2], state[:, :2] + pace * heading

    def voltage(state: Floats) -> Floats:
        both = field.surface_potential(np.concatenate(feet(state)))
        return np.abs(both[: len(state)] - both[len(state) :])

    def value(state: Floats) -> Floats:
        one, other = feet(state)
        share = yardstick.share(voltage(state), one, other)
        return np.where(field.on_ground(one) & field.on_ground(other), share, -1.0)

    def allowed(state: Floats) -> Floats:
        places = state[:, :2]
        for _ in range(2):
            places = np.clip(yardstick.pulled(places), area.low, area.high)
        return np.column_stack([places, state[:, 2]])

    seeds = np.column_stack([surface.places, surface.step_direction])
    known = yardstick.share(surface.step, *feet(seeds))
    known = np.where(yardstick.allows(surface.places), known, np.nan)
    rows = farthest_apart(
        known, places=surface.places, apart=2 * area.spacing, most=max(_starts, most)
    )
    if not rows:
        return ()
    steps = np.array([0.5 * area.spacing, 0.5 * area.spacing, 0.15])
    found = climb(seeds[rows], steps=steps, value=value, allowed=allowed)
    values = np.where(yardstick.allows(found[:, :2]), value(found), np.nan)
    states, values = np.concatenate([found, seeds]), np.concatenate([values, known])
    one, other = feet(states)
    best = farthest_apart(values, places=(one + other) / 2, apart=pace, most=most)
    ground = field.surface_potential(np.concatenate([one[best], other[best]]))
    signed = field.on_side_of_rise(ground[: len(best)] - ground[len(best) :])
    return tuple(
        WorstVoltage("step", "", float(size), _pair(one[row]), _pair(other[row]), float(sign))
        for size, sign, row in zip(voltage(states[best]), signed, best, strict=True)
    )


def voltages_again(
    worst: Sequence[WorstVoltage], *, field: Field, metal_groups: dict[str, int]
) -> tuple[float, ...]:
    """Voltages between the same places in another field, in the same order. [V]"""
    feet = [foot for item in worst for foot in (item.foot, item.other_foot or item.foot)]
    ground = field.surface_potential(np.array(feet)).reshape(-1, 2)
    found = []
    for item, (first, second) in zip(worst, ground, strict=True):
        if item.other_foot is None:
            group = metal_groups[item.name]
            second = field.metal_voltage(group, places=np.array([item.foot]))[0]
        found.append(float(abs(second - first)))
    return tuple(found)


def _pair(place: Floats) -> tuple[float, float]:
    return float(place[0]), float(place[1])
