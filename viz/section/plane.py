"""Where a vertical section is laid."""

from dataclasses import dataclass
from textwrap import shorten

import numpy as np

from ...solver.model import Floats
from ...solver.results.result import Result
from ..plates import shown_lines
from ..wording import length_unit, place_text

_least_depth = 0.35  # of the section, in its width: the field reaches about as deep
_most_depth = 0.6
_near = 0.02  # of the width: metal as near as this is drawn as seen along the section
_apart = 0.1  # plan places nearer than this give no direction [m]


@dataclass(frozen=True)
class SectionPlane:
    """A vertical plane through the soil, and which part of it is shown.

    Attributes
    ----------
    origin, direction : ndarray of float, shape (2,)
        Plan place from which distances are counted [m], and the unit vector along them.
    start, end : float
        Distances between which the soil is shown. [m]
    depth : float
        Depth to which it is shown. [m]
    name : str
        Name of the profile it runs along; empty where there is none.
    towards : str
        What the second place is, where it runs through the largest leakage.
    second : ndarray of float, shape (2,)
        Plan place that gives the direction. [m]
    """

    origin: Floats
    direction: Floats
    start: float
    end: float
    depth: float
    name: str
    towards: str
    second: Floats

    @property
    def width(self) -> float:
        """[m]"""
        return self.end - self.start

    @property
    def near(self) -> float:
        """Distance within which metal beside the plane is drawn. [m]"""
        return float(f"{_near * self.width:.1g}")

    def flat(self, points: Floats) -> tuple[Floats, Floats]:
        """Points of shape (n, 3) as (distance, z) along the plane, (n, 2), and their offset."""
        offset = points[:, :2] - self.origin
        across = offset @ [-self.direction[1], self.direction[0]]
        return np.column_stack([offset @ self.direction, points[:, 2]]), across

    def points(self, flat: Floats) -> Floats:
        """Points in space, shape (n, 3), of (distance, z) on the plane. [m]"""
        plan = self.origin + flat[:, :1] * self.direction
        return np.column_stack([plan, flat[:, 1]])

    def words(self, units: str) -> str:
        """Where the plane is, in a reader's units."""
        first, second = (
            place_text((float(x), float(y)), unit=length_unit(units), step=0.1)
            for x, y in (self.origin, self.second)
        )
        if self.name:
            name = shorten(self.name, 60, placeholder=" …")
            return f"Along the profile '{name}', from {first} to {second}."
        through = f"Through the largest leakage of the metal, at {first}"
        return f"{through}, {self.towards.format(place=second)}."


def section_plane(result: Result) -> SectionPlane:
    """Plane along the first profile, or through the largest leakage to the worst voltage.

    Parameters
    ----------
    result : Result
        Whose metal and mapped area the plane is to show.
    """
    metal = result.solution.conductors
    if result.profiles:
        profile = result.profiles[0]
        origin, second = profile.points[0, :2], profile.points[-1, :2]
        name, towards, reached = profile.name, "", [0.0, float(profile.distance[-1])]
    else:
        lines = shown_lines(result)
        strongest = int(np.abs(lines.leakage).argmax())
        origin = 0.5 * (lines.start + lines.end)[strongest, :2]
        name, reached = "", [0.0]
        towards, second = _second_place(result, origin=origin)
    direction = (second - origin) / np.linalg.norm(second - origin)
    chord = _chord(result, origin=origin, direction=direction)
    start, end = min(*chord, *reached), max(*chord, *reached)
    deepest = -float(np.concatenate([metal.start, metal.end])[:, 2].min())
    planes = result.solution.soil.interface_depth
    near = planes[planes < max(3 * deepest, _least_depth * (end - start))]
    depth = max(1.5 * deepest, *(1.3 * near), _least_depth * (end - start))
    # A deep electrode in a narrow map: more soil at both sides keeps the picture on its page.
    more = max(0.0, depth / _most_depth - (end - start)) / 2
    return SectionPlane(
        origin, direction, start - more, end + more, depth, name, towards, second
    )


def _second_place(result: Result, *, origin: Floats) -> tuple[str, Floats]:
    """What a plane through the largest leakage also runs through, and its plan place."""
    kinds = {"touch": "towards the worst touch voltage, with a foot at {place}"}
    kinds["step"] = "towards the worst step voltage, with a foot at {place}"
    metal = result.solution.conductors
    choices = [
        (kinds[item.kind], np.array(item.foot))
        for item in sorted(result.worst, key=lambda item: (item.kind == "step", -item.voltage))
    ]
    middle = 0.5 * (metal.start.min(axis=0) + metal.end.max(axis=0))[:2]
    choices.append(("towards the middle of the metal at {place}", middle))
    for words, place in choices:
        if np.linalg.norm(place - origin) > _apart:
            return words, place
    return "along x", origin + np.array([1.0, 0.0])


def _chord(result: Result, *, origin: Floats, direction: Floats) -> tuple[float, float]:
    """Distances at which the line enters and leaves the mapped area; 0 where it misses it."""
    first, last = -np.inf, np.inf
    bounds = zip(origin, direction, result.area.low, result.area.high, strict=True)
    for at, along, low, high in bounds:
        if abs(along) < 1e-12:
            if not low <= at <= high:
                return 0.0, 0.0
            continue
        ends = sorted(((low - at) / along, (high - at) / along))
        first, last = max(first, ends[0]), min(last, ends[1])
    return (float(first), float(last)) if first < last else (0.0, 0.0)
