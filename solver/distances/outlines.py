"""Closed outlines of a voltage on the surface, on a map that grows until they close."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.spatial import Delaunay

from ..model import Flags, Floats
from ..verdict.outline import closed_outlines, on_edge, outermost

FARTHEST = 100e3
"""Distance at which growing ends. [m]"""
_doubling = 2.0
_rings = 48  # places along the longer side of what the map grows by
_halvings = 8  # of the side of a triangle, until its crossing is where the voltage is

Voltage = Callable[[Floats], Floats]


@dataclass(frozen=True)
class Grown:
    """A map with the voltage at its places.

    Attributes
    ----------
    places : ndarray of float, shape (n, 2)
        [m]
    values : ndarray of float, shape (n,)
        [V]
    whole : bool
        Whether the voltage is below the lowest level all along its border.
    """

    places: Floats
    values: Floats
    whole: bool


def grown(
    places: Floats,
    *,
    values: Floats,
    low: Floats,
    high: Floats,
    voltage: Voltage,
    lowest: float,
) -> Grown:
    """The map of a rectangle, made larger until a voltage is not met at its border.

    Parameters
    ----------
    places, values
        Samples of the rectangle, its border among them. [m], [V]
    low, high : ndarray of float, shape (2,)
        Its corners. [m]
    voltage : callable
        Voltage at places of shape (n, 2). [V]
    lowest : float
        [V]
    """
    border = values[on_edge(places, low=low, high=high)]
    while border.max() >= lowest:
        if np.max(high - low) > 2 * FARTHEST:
            return Grown(places, values, False)
        middle, half = (low + high) / 2, (high - low) / 2
        inner = (low, high)
        low, high = middle - _doubling * half, middle + _doubling * half
        ring = _ring(low, high, inner=inner)
        more = voltage(ring)
        places, values = np.concatenate([places, ring]), np.concatenate([values, more])
        border = more[on_edge(ring, low=low, high=high)]
    return Grown(places, values, True)


def _ring(low: Floats, high: Floats, *, inner: tuple[Floats, Floats]) -> Floats:
    """Raster of a rectangle without one inside it, shape (n, 2). [m]"""
    spacing = float(np.max(high - low)) / _rings
    axes = [
        np.linspace(a, b, max(8, round((b - a) / spacing)) + 1)
        for a, b in zip(low, high, strict=True)
    ]
    raster = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 2)
    within = ((raster >= inner[0]) & (raster <= inner[1])).all(axis=1)
    return raster[~within]


def outlines(map_: Grown, *, level: float, voltage: Voltage) -> tuple[Floats, ...]:
    """Closed outlines outside which the voltage is below a level, holes left out. [m]

    Their corners are where the voltage itself passes the level, not where a map would have it.
    """
    above = map_.values >= level
    if not above.any():
        return ()
    triangles = Delaunay(map_.places).simplices
    mixed = triangles[above[triangles].any(axis=1) & ~above[triangles].all(axis=1)]
    if not len(mixed):
        return ()
    sides = np.sort(mixed[:, [[0, 1], [1, 2], [2, 0]]], axis=2)
    crossed = above[sides[..., 0]] != above[sides[..., 1]]  # two of three
    edges, row = np.unique(sides[crossed], axis=0, return_inverse=True)
    swap = above[edges[:, 1]]
    inner = np.where(swap, edges[:, 1], edges[:, 0])
    outer = np.where(swap, edges[:, 0], edges[:, 1])
    points = _crossings(
        map_.places[inner], outer=map_.places[outer], level=level, voltage=voltage
    )
    segments = points[row.reshape(-1, 2)]
    return outermost(closed_outlines(segments))


def _crossings(inner: Floats, *, outer: Floats, level: float, voltage: Voltage) -> Floats:
    """Where each straight line from what is met to what is not passes a level, (n, 2). [m]

    By halving, which holds at the edge of what can be reached too.
    """
    met, not_met = inner, outer
    for _ in range(_halvings):
        middle = (met + not_met) / 2
        reached: Flags = voltage(middle) >= level
        met = np.where(reached[:, None], middle, met)
        not_met = np.where(reached[:, None], not_met, middle)
    return np.asarray((met + not_met) / 2)
