"""Where straight segments cross the faces of a shape, whatever the shape is."""

from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ..arrays import Flags, Floats

Bounds = tuple[Floats, Floats]

# How far from a face a point still lies in it; far below anything that can be built. [m]
touching = 1e-6


@dataclass(frozen=True)
class Crossings:
    """Where segments meet the faces of a shape.

    Attributes
    ----------
    at : tuple of ndarray of float, one for each segment
        Parameters from 0 at the start to 1 at the end, both left out, in ascending order, at
        which the segment meets a face. A mere touch of an edge may be among them.
    in_face : ndarray of bool, shape (n,)
        Whether some stretch of the segment lies in a face.
    """

    at: tuple[Floats, ...]
    in_face: Flags


class Solid(ABC):
    """A shape with faces."""

    @abstractmethod
    def bounds(self) -> Bounds:
        """Lowest and highest x, y and z, infinite where it goes on. [m]"""

    @abstractmethod
    def distance(self, points: Floats) -> Floats:
        """Distance of points, shape (n, 3), to the nearest face, from either side. [m]"""

    @abstractmethod
    def _candidates(self, start: Floats, end: Floats) -> Floats:
        """Parameters at which one segment may meet a face.

        Where it meets the planes, cylinders and spheres that the faces are part of.
        """

    def crossings(self, start: Floats, *, end: Floats) -> Crossings:
        """Where segments with ends of shape (n, 3) cross the faces."""
        at = [np.empty(0)] * len(start)
        in_face = np.zeros(len(start), dtype=bool)
        lowest, highest = self.bounds()
        low, high = np.minimum(start, end) - touching, np.maximum(start, end) + touching
        for k in np.flatnonzero(((high >= lowest) & (low <= highest)).all(axis=1)):
            candidates = self._candidates(start[k], end[k])
            at[k], in_face[k] = _of_one(
                start[k], end=end[k], candidates=candidates, distance=self.distance
            )
        return Crossings(at=tuple(at), in_face=in_face)


def _of_one(
    start: Floats,
    *,
    end: Floats,
    candidates: Floats,
    distance: Callable[[Floats], Floats],
) -> tuple[Floats, bool]:
    """Parameters at which one segment meets a face, and whether a stretch lies in one."""
    along = end - start
    margin = touching / max(float(np.linalg.norm(along)), touching)
    inner = np.sort(candidates[(candidates > margin) & (candidates < 1 - margin)])
    inner = inner[np.diff(inner, prepend=-1.0) > margin]
    stops = np.concatenate([[0.0], inner, [1.0]])
    middles = (stops[:-1] + stops[1:]) / 2
    on_face = distance(start + np.concatenate([inner, middles])[:, None] * along) <= touching
    return inner[on_face[: len(inner)]], bool(on_face[len(inner) :].any())


def of_planes(start: float, *, end: float, at: Floats) -> Floats:
    """Parameters at which a coordinate that goes from start to end has given values."""
    return np.empty(0) if start == end else (at - start) / (end - start)


def of_round(start: Floats, *, end: Floats, radius: float) -> Floats:
    """Parameters at which a line from start to end is a radius from the origin."""
    along = end - start
    a, b = float(along @ along), float(along @ start)
    root = b * b - a * (float(start @ start) - radius**2)
    if a == 0 or root < 0:
        return np.empty(0)
    return (-b + np.array([-1.0, 1.0]) * np.sqrt(root)) / a
