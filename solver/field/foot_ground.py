"""The ground straight below a foot, and what the mesh feels of a foot on it.

A foot is far smaller than the elements it stands on, so its near field must know what lies a
hand below it: its background is the column of ground under it, as layers without an end. Where
the ground is another one, beyond the edge of a pad, the mesh makes up for it (`across_faces`).
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from scipy.special import erf

from ..bodies import touching
from ..limits.disc import slope_of_disc
from ..model import Flags, Floats, Integers, Soil
from .across_faces import fed_by_mesh
from .conductivity import LayeredElements
from .images import Ray
from .media import conductivities, resistivities
from .space import Space
from .split_elements import split_quadrature

_cut = 3.6  # standard deviations; 3e-4 of the potential is left there
_wide, _most_splits = 0.8, 4  # of elements, in terms of their distance from the foot
_batch = 200_000  # points worked out at once


def column_under(soil: Soil, place: Floats, *, depth: float) -> Soil:
    """Layers as they lie straight below a place of the surface, shape (2,), to a depth [m].

    The layers of the soil themselves where no body is.
    """
    top, bottom = np.array([[*place, 0.0]]), np.array([[*place, -depth]])
    met = [body.shape.crossings(top, end=bottom).at[0] for body in soil.bodies]
    every = np.concatenate([[0.0, depth], soil.interface_depth, *(depth * at for at in met)])
    stops = np.unique(every[every <= depth])
    stops = stops[np.append(True, np.diff(stops) > 2 * touching)]
    middle = np.append(0.5 * (stops[1:] + stops[:-1]), depth)
    points = np.column_stack([np.tile(place, (len(middle), 1)), -middle])
    material = soil.material_at(points)
    if (material < len(soil.resistivity)).all():
        return soil.layers_alone
    found = resistivities(soil)[material]
    # Where it changes; the last stretch goes on for ever.
    first = np.flatnonzero(np.diff(found[:-1], prepend=-1.0))
    planes = stops[first[1:]]
    return Soil(tuple(found[first]), tuple(np.diff(planes, prepend=0.0)))


@dataclass(frozen=True)
class Felt:
    """What the mesh feels of one foot per ampere."""

    source: Floats  # (n,): what it feeds into each unknown; sums to 1
    off: float  # what the ground beyond its column takes from its own voltage [Ω]


def felt_by_mesh(
    space: Space,
    *,
    place: Floats,
    radius: float,
    spread: float,
    soil: Soil,
    column: Soil,
    paths: list[Ray],
    conductivity: LayeredElements,
) -> Felt:
    """The ball of a foot on the mesh, and the integral over ground that is not its column.

    Parameters
    ----------
    place : ndarray of float, shape (2,)
        Where the foot stands. [m]
    radius, spread : float
        Of its disc and its ball. [m]
    paths : list of Ray
        From the surface into the layers of its column.
    """
    centre = np.append(place, 0.0)
    corners = space.mesh.points[space.mesh.tetrahedra]
    middle = space.centroids
    size = np.linalg.norm(corners - middle[:, None], axis=2).max(axis=1)
    gap = np.linalg.norm(middle - centre, axis=1)
    near = np.flatnonzero(gap < _cut * spread + size)
    foot = _OnColumn(centre, radius, spread, column, paths)
    ball, made_up, own = np.zeros(space.size), np.zeros(space.size), 0.0
    wide = np.ptp(corners[near], axis=1).max(axis=1)
    for some, places, weights, local in _quadrature(space, near, wide / spread):
        scale = space.volume_factor[some, None] * weights
        density = scale * foot.density(places)
        np.add.at(ball, space.element_unknowns[some], density @ space.basis(local).T)
    if soil.bodies:
        other = near[_differ(near, space=space, soil=soil, column=column)]
        wide = np.ptp(corners[other], axis=1).max(axis=1)
        off = np.maximum(gap[other] - 0.5 * size[other], 0.2 * size[other])
        for some, places, weights, local in _quadrature(space, other, wide / (_wide * off)):
            there = _true(places, some, soil=soil, conductivity=conductivity)
            slope, background = foot.slope(places)
            drive = slope * (there - background) * space.volume_factor[some, None] * weights
            turned = np.einsum("nij,jnq->inq", space.inverse[some], drive)
            gained = np.einsum("inq,kiq->nk", turned, space.gradients(local))
            np.add.at(made_up, space.element_unknowns[some], gained)
            own += float((drive * slope).sum())
    fed = fed_by_mesh(space, soil=soil, conductivity=conductivity)
    source = fed * (ball / ball.sum() - made_up)
    return Felt(source / source.sum(), own)


def _quadrature(
    space: Space, elements: Integers, ratio: Floats
) -> Iterator[tuple[Integers, Floats, Floats, Floats]]:
    """Elements by how often they are split, their points (3, n, q), weights, local points.

    Each is split until its width, a ratio of what it should be at most, is that.
    """
    splits = np.clip(np.ceil(np.log2(ratio)).astype(int), 0, _most_splits)
    for split in np.unique(splits).tolist():
        local, weights = split_quadrature(split)
        chosen = elements[splits == split]
        step = max(1, _batch // len(weights))
        for first in range(0, len(chosen), step):
            some = chosen[first : first + step]
            places = space.jacobian[some] @ local + space.origin[some][:, :, None]
            yield some, np.moveaxis(places, 1, 0), weights, local


def _differ(elements: Integers, *, space: Space, soil: Soil, column: Soil) -> Flags:
    """Which elements hold ground that is not that of the column at its height."""
    local = split_quadrature(1)[0]
    places = space.jacobian[elements] @ local + space.origin[elements][:, :, None]
    points = np.moveaxis(places, 1, 2).reshape(-1, 3)
    there = conductivities(soil)[soil.material_at(points)]
    background = column.conductivity[column.layer_at(-points[:, 2])]
    differs = np.abs(there - background) > 1e-9 * background
    return np.asarray(differs.reshape(len(elements), -1).any(axis=1))


def _true(
    places: Floats, elements: Integers, *, soil: Soil, conductivity: LayeredElements
) -> Floats:
    """Conductivity at points (3, n, q) of elements: of their body, or the layer there. [S/m]"""
    assert conductivity.body is not None
    body = conductivity.body[elements]
    layers = soil.conductivity[soil.layer_at(-places[2])]
    return np.where((body >= 0)[:, None], conductivity.horizontal[elements, None], layers)


@dataclass(frozen=True)
class _OnColumn:
    """A foot with its ball over a column of ground."""

    centre: Floats  # (3,) [m]
    radius: float
    spread: float
    column: Soil
    paths: list[Ray]

    def density(self, places: Floats) -> Floats:
        """Source density of the ball at places, shape (3, n, q), per ampere. [1/m³]"""
        sigma, layer = self.column.conductivity, self.column.layer_at(-places[2])
        plan = ((places - self.centre[:, None, None])[:2] ** 2).sum(axis=0)
        found = np.zeros(plan.shape)
        for ray in self.paths:
            acts = layer == ray.target_layer
            ratio = ray.strength * sigma[ray.target_layer] / sigma[0]
            square = (places[2][acts] - ray.shift) ** 2
            found[acts] += ratio * np.exp(-0.5 * square / self.spread**2)
        found *= np.exp(-0.5 * plan / self.spread**2)
        return found / (self.spread**3 * (2 * np.pi) ** 1.5)

    def slope(self, places: Floats) -> tuple[Floats, Floats]:
        """Gradient of disc less ball per ampere [Ω/m], and conductivity of the column [S/m]."""
        sigma, layer = self.column.conductivity, self.column.layer_at(-places[2])
        found = np.zeros(places.shape)
        for ray in self.paths:
            acts = layer == ray.target_layer
            if not acts.any():
                continue
            away = places[:, acts] - (self.centre + np.array([0.0, 0.0, ray.shift]))[:, None]
            r = np.maximum(np.sqrt((away**2).sum(axis=0)), 1e-7 * self.spread)
            at = r / (np.sqrt(2.0) * self.spread)
            rising = np.sqrt(2 / np.pi) * np.exp(-(at**2)) / self.spread
            ball = away * ((rising - erf(at) / r) / r**2)
            factor = ray.strength / (4 * np.pi * sigma[0])
            found[:, acts] += factor * (slope_of_disc(away, radius=self.radius) - ball)
        return found, sigma[layer]
