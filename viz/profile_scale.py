"""The axis of a long profile: stretched near metal, where a person meets what matters."""

from dataclasses import dataclass

import numpy as np

from ..solver.model import Floats
from ..solver.polygons import nearest_on_segments
from ..solver.results.result import Profile, Result
from .canvas.levels import round_step, round_values

_most = 0.25  # of a line; one that is near metal for longer is not stretched
_taken = 0.5  # of the width, by what is near
_fine, _coarse = 7, 5  # parts between ticks, on what is near and on the whole
_apart = 0.065  # of the width, from tick to tick at least


@dataclass(frozen=True)
class Stretch:
    """A piecewise linear axis.

    Attributes
    ----------
    knots : ndarray of float, shape (n,)
        Distances at which the scale changes, from one end of the line to the other.
    shares : ndarray of float, shape (n,)
        How far along the axis they lie, from 0 to 1.
    near : tuple of (float, float)
        Parts that are stretched.
    times : float
        How many times larger these are drawn than the rest.
    """

    knots: Floats
    shares: Floats
    near: tuple[tuple[float, float], ...]
    times: float

    def forward(self, distance: Floats) -> Floats:
        """Places on the axis; beyond its ends they go on."""
        return _joined(distance, self.knots, self.shares)

    def inverse(self, share: Floats) -> Floats:
        """Distances at places on the axis."""
        return _joined(share, self.shares, self.knots)

    def ticks(self) -> Floats:
        """Round distances at either scale, none close to another."""
        found: list[float] = []
        fine = [
            value
            for low, high in self.near
            for value in round_values(low, high, step=round_step(high - low, parts=_fine))
        ]
        low, high = self.knots[[0, -1]]
        coarse = round_values(low, high, step=round_step(high - low, parts=_coarse))
        for value in [*fine, *coarse]:
            gaps = np.abs(self.forward(np.array(found)) - self.forward(np.array([value])))
            if not (gaps < _apart).any():
                found.append(float(value))
        return np.array(sorted(found))


def stretch_near_metal(result: Result, *, profile: Profile, factor: float) -> Stretch | None:
    """Axis of a profile in a reader's unit; None where it is not long, or nowhere near metal.

    Near is within reach of metal that can be touched, or a pace of metal in the soil.
    """
    places = profile.points[:, :2]
    metal = result.solution.conductors
    nearest = nearest_on_segments(places, start=metal.start[:, :2], end=metal.end[:, :2])
    near = np.linalg.norm(places - nearest, axis=1) <= result.surface.pace
    for touched in result.metals:
        near |= touched.within_reach(places)
    at = profile.distance
    edges = np.flatnonzero(np.diff(np.concatenate([[False], near, [False]]).astype(int)))
    parts = [
        (float(at[first]), float(at[last - 1]))
        for first, last in edges.reshape(-1, 2)
        if at[last - 1] > at[first]
    ]
    whole, length = float(at[-1] - at[0]), sum(high - low for low, high in parts)
    if not 0 < length <= _most * whole:
        return None
    knots = np.unique([at[0], *np.ravel(parts), at[-1]])
    middles = (knots[1:] + knots[:-1]) / 2
    inner = np.array([any(low < middle < high for low, high in parts) for middle in middles])
    weight = np.where(inner, _taken / length, (1 - _taken) / (whole - length))
    shares = np.concatenate([[0.0], np.cumsum(weight * np.diff(knots))])
    times = (_taken / length) / ((1 - _taken) / (whole - length))
    scaled = tuple((low * factor, high * factor) for low, high in parts)
    return Stretch(knots * factor, shares, scaled, times)


def _joined(values: Floats, here: Floats, there: Floats) -> Floats:
    """Linear between points, and beyond the last ones at their slopes."""
    values = np.asarray(values, dtype=float)
    found = np.interp(values, here, there)
    slope = np.diff(there)[[0, -1]] / np.diff(here)[[0, -1]]
    found = np.where(values < here[0], there[0] + slope[0] * (values - here[0]), found)
    return np.where(values > here[-1], there[-1] + slope[1] * (values - here[-1]), found)
