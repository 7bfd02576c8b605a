"""Where the resistance comes from: the density of power over a vertical section."""

from typing import Any

import numpy as np
from scipy.spatial import cKDTree

from ...solver.model import Floats
from ...solver.results.result import Result
from ..canvas.levels import Levels, contour_levels
from ..kept import kept
from ..wording import Unit, length_unit
from .parts import Quantity
from .samples import along_metal
from .section import section_figure, section_of

_title = "Vertical section: where the resistance comes from"
_least_gap = 0.02  # differences are taken over a tenth of this at the metal [m]
_difference = 0.1  # of the distance to the axis of the nearest metal
_at_faces = 0.05  # of a difference, least where it would reach into another body
_most = 0.995  # of the area: where metal has more power near it, all is the highest band


def deciding_figure(result: Result, *, units: str, headed: bool = False) -> Any:
    """Figure of which soil the resistance comes from, as `section_figure` of the potential."""
    shown, section = deciding_soil(result, units=units), section_of(result)
    return section_figure(result, section=section, units=units, shown=shown, headed=headed)


def deciding_soil(result: Result, *, units: str) -> Quantity:
    """Share of all power that a volume of soil takes, over the section of a result.

    A resistance changes by that share of itself per share of change of the soil's resistivity.
    """
    samples, per = section_of(result).samples, length_unit(units)
    density = _density(result)
    order = np.argsort(density)
    covered = np.cumsum(samples.weights[order]) / samples.weights.sum()
    highest = density[order][np.searchsorted(covered, _most)]
    values = np.minimum(density, highest)
    unit = Unit(100 / per.factor**3, f"%/{per.symbol}³")
    levels = contour_levels(values * unit.factor, weights=samples.weights)
    inner = levels.inner / unit.factor
    levels = Levels(levels.low / unit.factor, levels.high / unit.factor, inner)
    return Quantity(_title, "Share of the power in the soil", values, levels, unit, "or more")


@kept
def _density(result: Result) -> Floats:
    """Density at the samples of the section."""
    section = section_of(result)
    return power_density(result, section.plane.points(section.samples.flat))


def power_density(result: Result, points: Floats) -> Floats:
    """Share of the power fed into the soil that it takes at points, shape (n,). [1/m³]

    Parameters
    ----------
    points : ndarray of float, shape (n, 3)
        In the soil, z <= 0. [m]

    Notes
    -----
    σ |∇φ|² by central differences, each direction by its own σ, over a tenth of the distance
    to the metal at the most and within one layer or body.
    """
    solution, field = result.solution, result.field
    gap = cKDTree(along_metal(result, spacing=_least_gap)).query(points)[0]
    planes = -solution.soil.interface_depth
    places = points.copy()
    step = _difference * np.maximum(gap, _least_gap)
    for plane in planes:  # off the plane, into the layer that it bounds from above
        on = np.abs(places[:, 2] - plane) < 1e-3 * step
        places[on, 2] = plane - 1e-2 * step[on]
    upright = step.copy()
    for plane in planes:
        upright = np.minimum(upright, 0.9 * np.abs(places[:, 2] - plane))
    for body in solution.soil.bodies:
        within = np.maximum(0.9 * body.shape.distance(places), _at_faces * step)
        step, upright = np.minimum(step, within), np.minimum(upright, within)
    sideways = 1 / solution.soil.resistivity_at(places)  # 0 in a void
    layer, medium = solution.soil.layer_at(-places[:, 2]), solution.soil.material_at(places)
    in_layer = 1 / np.array(solution.soil.upright)[layer]
    along = (sideways, sideways, np.where(medium < len(planes) + 1, in_layer, sideways))
    density = np.zeros(len(points))
    for axis, width in ((0, step), (1, step), (2, upright)):
        ends = []
        for sign in (1.0, -1.0):
            moved = places.copy()
            moved[:, axis] += sign * width
            moved[:, 2] = -np.abs(moved[:, 2])  # the air is as a mirror
            ends.append(field.potential(moved))
        density += along[axis] * np.abs((ends[0] - ends[1]) / (2 * width)) ** 2
    fed = np.real(result.operating.voltage @ np.conj(result.operating.current))
    return np.asarray(density / float(fed))
