"""Outwards from live metal: potential over distance, and where another may stand."""

from bisect import bisect_left
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property, partial

import numpy as np
from scipy.optimize import minimize_scalar

from ..model import Flags, Floats, Phasors
from ..polygons import nearest_on_segments
from ..verdict.step_outline import live_pieces
from .crossings import crossings
from .findings import DistanceLine, Separation
from .outlines import FARTHEST
from .plan import Apart
from .wide import WideField

_series, _decades = (1.0, 1.5, 2.0, 3.0, 5.0, 7.0), 5  # from 1 m, or foot, to 70,000
# The table ends where the potential is this share of the rise.
_little = 0.01
_azimuths = 24  # tried for the worst direction, before the best of them is made better
_growth = 1.05  # of the distance, from one looked at to the next
_at_once = 8  # of them
_surely = 1.1  # times what is at most taken on, for the error of images
_along_rod = (np.polynomial.legendre.leggauss(8)[0] + 1) / 2
_weights = np.polynomial.legendre.leggauss(8)[1] / 2


@dataclass(frozen=True)
class Outward:
    """The field outwards from the middle of live metal, growth and decrement included."""

    wide: WideField
    factor: float

    @cached_property
    def _metal(self) -> tuple[Floats, Floats]:
        """Ends in plan of the live pieces. [m]"""
        conductors = self.wide.field.solution.conductors
        live = live_pieces(self.wide.field)
        return conductors.start[live, :2], conductors.end[live, :2]

    @cached_property
    def _middle(self) -> Floats:
        ends = np.concatenate(self._metal)
        return np.asarray((ends.min(axis=0) + ends.max(axis=0)) / 2)

    @cached_property
    def _radius(self) -> float:
        """Distance from the middle beyond which there is no live metal. [m]"""
        return float(np.linalg.norm(np.concatenate(self._metal) - self._middle, axis=1).max())

    @property
    def rise(self) -> float:
        """Largest rise. [V]"""
        return self.factor * float(np.abs(self.wide.field.voltage).max())

    def distance(self, places: Floats) -> Floats:
        """From the nearest live metal in plan, shape (n,). [m]"""
        start, end = self._metal
        nearest = nearest_on_segments(places, start=start, end=end)
        return np.asarray(np.linalg.norm(places - nearest, axis=1))

    def _on(self, along: Floats, azimuth: Floats | float) -> Floats:
        """Places at distances from the middle, each in its direction or all in one, (n, 2)."""
        heading = np.column_stack([np.cos(azimuth), np.sin(azimuth)])
        return np.asarray(self._middle + along[:, None] * heading)

    def _leaving(self, distance: Floats, *, azimuth: float) -> Floats:
        """How far from the middle in a direction live metal is last so near, shape (n,). [m]

        NaN where all of that way is farther off, as in the open corner of an angle. So near a
        piece are two discs and the strip between them; a way leaves it with the last of them.
        """
        start, end = (each - self._middle for each in self._metal)
        heading = np.array([np.cos(azimuth), np.sin(azimuth)])
        across = np.array([-heading[1], heading[0]])
        distance = distance[:, None]
        with np.errstate(divide="ignore", invalid="ignore"):
            left = [
                one @ heading + np.sqrt(distance**2 - (one @ across) ** 2)
                for one in (start, end)
            ]
            along = (end - start) / np.linalg.norm(end - start, axis=1)[:, None]
            aside = np.column_stack([-along[:, 1], along[:, 0]])
            slope = aside @ heading
            side = (np.sum(aside * start, axis=1) + distance * np.sign(slope)) / slope
            share = side * (along @ heading) - np.sum(along * start, axis=1)
            beside = (share >= 0) & (share <= np.linalg.norm(end - start, axis=1))
            found = np.fmax(np.fmax(*left), np.where(beside, side, np.nan))
        last = np.fmax.reduce(found, axis=1)
        return np.where(last >= 0, last, np.nan)

    def lines(self, *, unit: float = 1.0) -> tuple[DistanceLine, ...]:
        """Potential along and across live metal, both ways, until little of it is left.

        At distances that are round in a unit. [m]
        """
        start, end = self._metal
        ends = np.concatenate([start, end]) - self._middle
        first = 0.0
        if np.ptp(ends, axis=0).max() > 1e-6:
            spread = ends.T @ ends
            axis = np.linalg.eigh(spread)[1][:, -1]
            first = float(np.arctan2(axis[1], axis[0])) % np.pi
            first = 0.0 if np.isclose(first, np.pi) else first
        names = ("along", "across", "along, the other way", "across, the other way")
        return tuple(
            self._line(name, first + k * np.pi / 2, unit) for k, name in enumerate(names)
        )

    def _line(self, name: str, azimuth: float, unit: float) -> DistanceLine:
        distance, places, potential = np.zeros(0), np.zeros((0, 2)), np.zeros(0)
        for decade in range(_decades):
            near = np.array(_series) * 10.0**decade * unit
            along = self._leaving(near, azimuth=azimuth)
            reached = np.isfinite(along)
            held = self._known(np.where(reached, along, 0.0), azimuth)
            if not (reached & held).any():
                continue
            reached &= held
            there = self._on(along[reached], azimuth)
            values = self._signed(self.wide.surface(there))
            distance = np.append(distance, near[reached])
            places, potential = np.concatenate([places, there]), np.append(potential, values)
            if np.abs(values).min() < _little * self.rise:
                break
        little = np.flatnonzero(np.abs(potential) < _little * self.rise)
        kept = slice(0, little[0] + 1 if len(little) else None)
        return DistanceLine(name, azimuth, distance[kept], places[kept], potential[kept])

    def _known(self, along: Floats, azimuth: float) -> Flags:
        """Whether the field is known so far from the middle in a direction, shape (n,)."""
        off = self._on(along, azimuth) - self.wide.middle
        return np.asarray(np.linalg.norm(off, axis=1) < self.wide.farthest)

    def _signed(self, values: Phasors) -> Floats:
        return self.factor * self.wide.field.on_side_of_rise(values)

    def taken_on(self, places: Floats, *, rod: float) -> Phasors:
        """Complex or real voltage of another electrode at places, shape (n,). [V]

        The mean along its rod: by reciprocity what it would do to the soil if it leaked evenly,
        and did not itself change the field.
        """
        if rod == 0:
            return self.factor * self.wide.surface(places)
        points = np.concatenate(
            [
                np.column_stack([places, np.full(len(places), -share * rod)])
                for share in _along_rod
            ]
        )
        found = self.wide.potential(points).reshape(len(_along_rod), len(places))
        return np.asarray(self.factor * (_weights @ found))

    def separation(self, apart: Apart) -> Separation:
        """How far from live metal another electrode takes on no more than asked."""
        voltage = apart.voltage
        if voltage is None:
            assert apart.transfer is not None  # one of the two is given
            voltage = apart.transfer * self.rise
        within = self._within(voltage, rod=apart.rod)
        farthest = partial(self._farthest, apart, voltage, within)
        if apart.azimuth is not None:
            azimuth = apart.azimuth
            along = farthest(np.array([azimuth]))[0]
        else:
            azimuth, along = self._worst_way(farthest)
        if not np.isfinite(along) and np.isfinite(self.wide.farthest):
            raise self.wide.too_far()
        if not np.isfinite(along):
            return Separation(apart, voltage, np.inf, None, np.nan)
        place = self._on(np.array([along]), azimuth)
        signed = self.wide.field.on_side_of_rise(self.taken_on(place, rod=apart.rod))[0]
        where = (float(place[0, 0]), float(place[0, 1]))
        distance = 0.0 if along == 0 else float(self.distance(place)[0])
        return Separation(apart, voltage, distance, where, float(signed))

    def _worst_way(self, farthest: Callable[[Floats], Floats]) -> tuple[float, float]:
        """Direction in which another electrode must stand the farthest from live metal.

        With the distance from the middle there. [rad, m]
        """
        step = 2 * np.pi / _azimuths
        tried = np.arange(_azimuths) * np.float64(step)
        along = farthest(tried)
        if not np.isfinite(along).all():
            first = int(np.argmax(along))
            return float(tried[first]), np.inf
        away = self.distance(self._on(along, tried))
        first = int(away.argmax())

        def nearness(azimuth: float) -> float:
            along = farthest(np.array([azimuth]))
            return -float(self.distance(self._on(along, azimuth))[0])

        better = minimize_scalar(
            nearness, bounds=(tried[first] - step, tried[first] + step), method="bounded",
            options={"xatol": 0.01},
        )  # fmt: skip
        if better.fun >= -away[first]:
            return float(tried[first]), float(along[first])
        return float(better.x), float(farthest(np.array([better.x]))[0])

    def _within(self, voltage: float, *, rod: float) -> Floats:
        """Growing distances from the middle, to where less is surely taken on, or 100 km."""
        first = max(1.0, 0.02 * self._radius)
        count = int(np.ceil(np.log(FARTHEST / first) / np.log(_growth)))
        tried = np.concatenate([[0.0], first * _growth ** np.arange(count + 1)])
        apart = float(np.linalg.norm(self._middle - self.wide.middle))
        tried = tried[tried < self.wide.farthest - apart]
        depths, weights = (rod * _along_rod, _weights) if rod else (np.zeros(1), np.ones(1))

        def is_less(number: int) -> bool:
            most = self.wide.at_most(tried[number], middle=self._middle, depths=depths)
            return bool(_surely * self.factor * (weights @ most) <= voltage)

        return tried[: 1 + bisect_left(range(len(tried)), True, key=is_less)]

    def _farthest(
        self, apart: Apart, voltage: float, within: Floats, azimuth: Floats
    ) -> Floats:
        """Largest distance from the middle in directions at which more is taken on, (n,). [m]

        0 where that is so nowhere, infinite where it still is at the last one.
        """

        def excess(along: Floats, azimuth: Floats) -> Floats:
            taken = self.taken_on(self._on(along.ravel(), azimuth.ravel()), rod=apart.rod)
            return np.asarray((np.abs(taken) - voltage).reshape(along.shape))

        last, ways = np.full(len(azimuth), -1), np.arange(len(azimuth))
        # From outside in, as what decides is far out: not all of it need be known.
        for end in range(len(within), 0, -_at_once):
            begin = max(0, end - _at_once)
            along, heading = np.meshgrid(within[begin:end], azimuth[ways])
            above = excess(along, heading) > 0
            some = above.any(axis=1)
            last[ways[some]] = end - 1 - above[some, ::-1].argmax(axis=1)
            ways = ways[~some]
            if not len(ways):
                break
        found = np.where(last < 0, 0.0, np.inf)
        ways = np.flatnonzero((last >= 0) & (last < len(within) - 1))
        if len(ways):
            found[ways] = crossings(
                lambda along: excess(along, azimuth[ways]),
                inner=within[last[ways]],
                outer=within[last[ways] + 1],
            )
        return found
