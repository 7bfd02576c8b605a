"""A surface of potential that is read quickly, to find in which direction a step is large."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import RectBivariateSpline
from scipy.ndimage import map_coordinates, maximum_filter

from ..model import Flags, Floats, Phasors
from ..solved_soil import Field
from .raster import Area, Raster, plan_points


@dataclass(frozen=True)
class Fineness:
    """How finely a quick surface is made over metal less deep than its raster."""

    halved: int = 2  # times that the raster is halved there
    beside: int = 3  # of those steps to each side of the metal


_usual = Fineness()


@dataclass(frozen=True)
class QuickSurface:
    """Potential at all nodes of a raster of the area and a pace beyond it, linear between."""

    raster: Raster
    values: Phasors

    def at(self, x: Floats, y: Floats) -> Phasors:
        """Potential at places counted in nodes of the raster, of any shape. [V]"""
        found = map_coordinates(self.values, np.stack([x, y]), order=1, mode="nearest")
        return np.asarray(found)

    def smoothly(self, places: Floats) -> tuple[Phasors, Floats]:
        """Potential at places of shape (n, 2) by a spline, and what linear differs. [V]"""
        nodes = ((places - self.raster.low) / self.raster.step).T
        found = np.asarray(map_coordinates(self.values, nodes, order=3, mode="nearest"))
        return found, np.abs(found - self.at(*nodes))


def quick_surface(
    area: Area,
    *,
    places: Floats,
    known: Phasors,
    field: Field,
    pace: float,
    fineness: Fineness = _usual,
) -> QuickSurface:
    """A surface that is read quickly.

    Wires less deep than the raster make ridges that a spline through it does not know: so a
    pace that ends on one was up to 29 % low.

    Parameters
    ----------
    places, known : ndarray of float, shape (n, 2), and of float or complex, shape (n,)
        Where the potential is known already, and what it is there. [m], [V]
    fineness : Fineness, optional
        Over shallow metal.
    """
    raster = Raster.of(area, halved=fineness.halved).wider(pace)
    values = np.zeros(raster.shape, dtype=known.dtype)
    missing = np.ones(raster.shape, dtype=bool)
    on, node = raster.on_nodes(places)
    values[tuple(node.T)] = known[on]
    missing[tuple(node.T)] = False
    # What a spline goes through: the area's own raster, as many nodes beside it, and the rim.
    every = 2**fineness.halved
    first = np.round((area.low - raster.low) / raster.step).astype(int) % every
    knots = [
        np.unique(np.append(np.arange(start, count, every), [0, count - 1]))
        for start, count in zip(first, raster.shape, strict=True)
    ]
    exact = _over_shallow_metal(
        raster, field=field, spacing=area.spacing, beside=fineness.beside
    )
    exact[np.ix_(*knots)] = True
    missing &= exact
    values[missing] = field.surface_potential(raster.places(missing))
    fine = raster.axes()
    x, y = (axis[some] for axis, some in zip(fine, knots, strict=True))
    smooth = _splined(x, y, values=values[np.ix_(*knots)], fine=fine)
    return QuickSurface(raster, np.where(exact, values, smooth))


def _over_shallow_metal(raster: Raster, *, field: Field, spacing: float, beside: int) -> Flags:
    """Which nodes of a fine raster stand over or beside metal less deep than `spacing`."""
    conductors = field.solution.conductors
    shallow = -np.maximum(conductors.start[:, 2], conductors.end[:, 2]) < spacing
    along = plan_points(
        conductors.start[shallow], end=conductors.end[shallow], spacing=raster.step[0]
    )
    node = np.round((along - raster.low) / raster.step).astype(int)
    node = node[((node >= 0) & (node <= raster.cells)).all(axis=1)]
    over = np.zeros(raster.shape, dtype=bool)
    over[tuple(node.T)] = True
    return np.asarray(maximum_filter(over, size=2 * beside + 1))


def _splined(x: Floats, y: Floats, *, values: Phasors, fine: Sequence[Floats]) -> Phasors:
    """Values of a raster, real or complex, at the nodes of a finer one by a spline."""
    degree = [min(3, len(axis) - 1) for axis in (x, y)]

    def part(values: Floats) -> Floats:
        spline = RectBivariateSpline(x, y, values, kx=degree[0], ky=degree[1])
        return np.asarray(spline(fine[0], fine[1]))

    if np.iscomplexobj(values):
        return np.asarray(part(np.real(values)) + 1j * part(np.imag(values)))
    return part(np.asarray(values, dtype=float))
