"""Outwards from live metal: potential over distance, and where another may stand."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.optimize import brentq, minimize_scalar

from ..model import Floats, Phasors
from ..polygons import nearest_on_segments
from ..verdict.step_outline import live_pieces
from .findings import DistanceLine, Separation
from .outlines import FARTHEST
from .plan import Apart
from .wide import WideField

_series, _decades = (1.0, 1.5, 2.0, 3.0, 5.0, 7.0), 5  # from 1 m, or foot, to 70,000
# The table ends where the potential is this share of the rise.
_little = 0.01
_azimuths = 24  # tried for the worst direction, before the best of them is made better
_growth = 1.05  # of the distance, from one looked at to the next
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

    def place_at(self, distance: float, *, azimuth: float) -> Floats | None:
        """The last place in a direction from the middle at a distance from live metal. [m]

        None where all of that way is farther off, as in the open corner of an angle.
        """

        def short_of(along: float) -> float:
            return float(self.distance(self._on(np.array([along]), azimuth))[0]) - distance

        outer = distance + self._radius + 1e-6
        for inner in np.linspace(outer, 0.0, 100)[1:]:
            if short_of(inner) < 0:
                found = brentq(short_of, inner, outer, xtol=1e-9 * (1 + distance))
                return self._on(np.array([found]), azimuth)[0]
            outer = inner
        return None

    def _on(self, along: Floats, azimuth: float) -> Floats:
        heading = np.array([np.cos(azimuth), np.sin(azimuth)])
        return np.asarray(self._middle + along[:, None] * heading)

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
            near = [each * 10.0**decade * unit for each in _series]
            tried = {each: self.place_at(each, azimuth=azimuth) for each in near}
            reached = {each: place for each, place in tried.items() if place is not None}
            if not reached:
                continue
            there = np.array(list(reached.values()))
            values = self._signed(self.wide.surface(there))
            distance = np.append(distance, list(reached))
            places, potential = np.concatenate([places, there]), np.append(potential, values)
            if np.abs(values).min() < _little * self.rise:
                break
        little = np.flatnonzero(np.abs(potential) < _little * self.rise)
        kept = slice(0, little[0] + 1 if len(little) else None)
        return DistanceLine(name, azimuth, distance[kept], places[kept], potential[kept])

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
        if apart.azimuth is not None:
            along = self._farthest(apart, voltage, apart.azimuth)
            azimuth = apart.azimuth
        else:
            azimuth = self._worst_azimuth(apart, voltage)
            along = self._farthest(apart, voltage, azimuth)
        if not np.isfinite(along):
            return Separation(apart, voltage, np.inf, None, np.nan)
        place = self._on(np.array([along]), azimuth)
        signed = self.wide.field.on_side_of_rise(self.taken_on(place, rod=apart.rod))[0]
        where = (float(place[0, 0]), float(place[0, 1]))
        distance = 0.0 if along == 0 else float(self.distance(place)[0])
        return Separation(apart, voltage, distance, where, float(signed))

    def _worst_azimuth(self, apart: Apart, voltage: float) -> float:
        """Direction in which another electrode must stand the farthest from live metal."""

        def nearness(azimuth: float) -> float:
            along = self._farthest(apart, voltage, azimuth)
            if not np.isfinite(along):
                return -np.inf
            return -float(self.distance(self._on(np.array([along]), azimuth))[0])

        step = 2 * np.pi / _azimuths
        first = min(step * np.arange(_azimuths), key=nearness)
        if not np.isfinite(nearness(first)):
            return float(first)
        better = minimize_scalar(
            nearness, bounds=(first - step, first + step), method="bounded",
            options={"xatol": 0.01},
        )  # fmt: skip
        return float(better.x if better.fun < nearness(first) else first)

    def _farthest(self, apart: Apart, voltage: float, azimuth: float) -> float:
        """Largest distance from the middle in a direction at which more is taken on. [m]

        0 where that is so nowhere, infinite where it still is beyond 100 km.
        """

        def excess(along: Floats) -> Floats:
            taken = self.taken_on(self._on(along, azimuth), rod=apart.rod)
            return np.abs(taken) - voltage

        first = max(1.0, 0.02 * self._radius)
        count = int(np.ceil(np.log(FARTHEST / first) / np.log(_growth)))
        tried = np.concatenate([[0.0], first * _growth ** np.arange(count + 1)])
        # From outside in, as what decides is far out: not all of it need be known.
        for end in range(len(tried), 0, -40):
            some = tried[max(0, end - 40) : end]
            above = np.flatnonzero(excess(some) > 0)
            if len(above):
                last = above[-1] + max(0, end - 40)
                if last == len(tried) - 1:
                    return np.inf
                return float(
                    brentq(
                        lambda along: excess(np.array([along]))[0],
                        tried[last],
                        tried[last + 1],
                        xtol=1e-6 * tried[last + 1],
                    )
                )
        return 0.0
