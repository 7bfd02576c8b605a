r"""Short-range part of the potential at points: exact thin wires minus what the mesh sees.

Points of one cell of space are taken together: each cell sums over all line elements that are
near any of its points, in dense blocks in which wires and their balls are the same source. In
an image far above or below, a row of balls is as good as the wire itself, and both are
:math:`\operatorname{erfc}(r / \sqrt 2 s) / r`. What balls of one height do at the surface, all
images together, depends on the distance in plan alone and is read from a table.
"""

from collections.abc import Iterable

import numpy as np
from scipy.spatial import cKDTree
from scipy.special import erf

from ..model import Floats, Integers, Phasors, Soil
from ..pairs import numbered, pairs_within
from ..threads import in_threads
from .clouds import Clouds
from .elements import LineElements
from .faced_elements import edge_orders, faces_near_points, from_faces
from .images import Ray, rays, seen_from_surface
from .near_field import rows_of_balls_do

_cut = 2.6  # erfc(2.6) = 2e-4 of what is left at that distance, itself little
_face_reach = 6.0  # radii; beyond, a face is as good as its axis
_wide = 0.8  # cells of points, as a share of the usual reach of an element
_groups = 64  # cells of one thread's task
# Of the squared distance over 2 s², to 1e-6 of the value at 0.
_step, _most_tables, _longest_table = 0.004, 100, 500_000


def near_potential(
    points: Floats, *, elements: LineElements, clouds: Clouds, soil: Soil, current: Phasors
) -> Phasors:
    """Short-range part of the potential at points, to be added to that of the mesh.

    Parameters
    ----------
    points : ndarray of float, shape (n, 3)
        Places in the soil or on its surface. [m]
    current : ndarray of float or complex, shape (m,)
        Of each line element. [A]

    Returns
    -------
    potential : ndarray of float or complex, shape (n,)
        Inside the metal the value at its face. [V]
    """
    parts = (current.real, current.imag) if np.iscomplexobj(current) else (current,)
    found = np.zeros((len(points), len(parts)))
    layers = np.where(points[:, 2] < 0, soil.layer_at(-points[:, 2]), -1)  # -1: the surface
    for layer in np.unique(layers):
        members = np.flatnonzero(layers == layer)
        near = _NearField(
            elements,
            clouds=clouds,
            soil=soil,
            current=np.column_stack(parts),
            layer=max(int(layer), 0),
            surface=bool(layer < 0),
        )
        found[members] = _in_cells(points[members], near=near)
    return found[:, 0] if len(parts) == 1 else found[:, 0] + 1j * found[:, 1]


def _in_cells(points: Floats, *, near: "_NearField") -> Floats:
    """The sum at points of one layer, shape (n, c). [V]

    Cells are fixed in space, so that a point does not depend on what is asked with it.
    """
    elements, found = near.elements, np.zeros((len(points), near.current.shape[1]))
    reach = _cut * np.sqrt(2.0) * elements.spread + 0.5 * elements.length
    size = _wide * float(np.median(reach))
    cells, cell = np.unique(np.floor(points / size), axis=0, return_inverse=True)
    cell = cell.ravel()
    order = np.argsort(cell, kind="stable")
    groups = np.split(order, np.cumsum(np.bincount(cell))[:-1])
    centres = (cells + 0.5) * size
    radius = np.sqrt(0.75) * size
    # As far as a cell goes from one side to what is near its other side.
    near.tabulate(farthest=2 * (radius + float(reach.max())))
    tree = cKDTree(elements.middle)

    def of_task(first: int) -> None:
        some = slice(first, first + _groups)
        sources = _sources(tree, centre=centres[some], radius=radius, reach=reach)
        for group, centre, index in zip(groups[some], centres[some], sources, strict=True):
            if len(index):
                found[group] = near.at(points[group], centre=centre, index=index)

    in_threads(of_task, range(0, len(groups), _groups))
    return found


def _sources(tree: cKDTree, *, centre: Floats, radius: float, reach: Floats) -> list[Integers]:
    """Elements near any point of each cell."""
    group, index = pairs_within(
        tree, centres=centre, radius=np.full(len(centre), radius + reach.max())
    )
    gap = np.linalg.norm(tree.data[index] - centre[group], axis=1)
    near = gap < radius + reach[index]
    ends = np.cumsum(np.bincount(group[near], minlength=len(centre)))
    return np.split(index[near], ends[:-1])


class _NearField:
    """Line elements with their balls and currents, as they act in one layer."""

    def __init__(
        self,
        elements: LineElements,
        *,
        clouds: Clouds,
        soil: Soil,
        current: Floats,
        layer: int,
        surface: bool,
    ) -> None:
        self.elements, self.clouds, self.current = elements, clouds, current
        self.length = elements.length
        self.axis = (elements.end - elements.start) / self.length[:, None]
        self.order = edge_orders(elements, soil=soil)
        # Balls of each element, as many columns for all: the first again, without a share.
        row, column = numbered(np.diff(clouds.shares.indptr))
        first = clouds.shares.indices[clouds.shares.indptr[:-1]].astype(np.int64)
        self.balls = np.repeat(first[:, None], int(column.max()) + 1, axis=1)
        self.share = np.zeros(self.balls.shape)
        self.balls[row, column] = clouds.shares.indices
        self.share[row, column] = clouds.shares.data
        key = np.column_stack([np.round(clouds.place[:, 2], 7), clouds.spread, clouds.layer])
        _, self.first, kind = np.unique(key, axis=0, return_index=True, return_inverse=True)
        self.kind = kind.ravel()
        self.tables: list[Floats] | None = None
        self.surface = surface
        reach = _cut * np.sqrt(2.0) * float(elements.spread.max())
        paths: Iterable[Ray] = rays(elements, soil=soil, reach=reach)
        if self.surface:
            paths = seen_from_surface(paths)
        planes = [0.0, *(-soil.interface_depth), -np.inf]
        between = (0.0, 0.0) if surface else (planes[layer + 1], planes[layer])
        # Each ray, its volts per ampere and inverse metre, and whether wires act as such in it.
        self.paths = [
            (
                ray,
                ray.strength / (4 * np.pi * soil.conductivity[ray.source_layer]),
                not rows_of_balls_do(ray, clouds=clouds, between=between),
            )
            for ray in paths
            if ray.target_layer == layer
        ]

    def tabulate(self, *, farthest: float) -> None:
        """Tables of what balls do at the surface, up to a distance in plan."""
        if not self.surface or len(self.first) > _most_tables:
            return
        self.tables = []
        for ball in self.first:
            most = farthest**2 / (2 * self.clouds.spread[ball] ** 2)
            if most > _longest_table * _step:
                self.tables = None
                return
            square = _step * np.arange(int(most / _step) + 2)
            value = self._of_balls(
                square[:, None] * 2 * self.clouds.spread[ball] ** 2,
                index=np.array([ball]),
                heights=np.zeros(1),
            )
            self.tables.append(value[:, 0])

    def at(self, points: Floats, *, centre: Floats, index: Integers) -> Floats:
        """Sum over some elements and their balls at points, shape (n, c). [V]"""
        balls, inverse = np.unique(self.balls[index], return_inverse=True)
        inverse = inverse.ravel()
        charge = np.column_stack(
            [
                np.bincount(inverse, (self.share[index] * one[index, None]).ravel())
                for one in self.current.T
            ]
        )
        square = np.subtract.outer(points[:, 0], self.clouds.place[balls, 0]) ** 2
        square += np.subtract.outer(points[:, 1], self.clouds.place[balls, 1]) ** 2
        if self.tables is None:
            found = self._of_balls(square, index=balls, heights=points[:, 2]) @ charge
        else:
            found = self._from_tables(square, index=balls) @ charge
        for ray, factor, exact in self.paths:
            own = index[self.elements.layer[index] == ray.source_layer]
            if exact and len(own):
                found += factor * self._wires(points, centre=centre, index=own, ray=ray)
        return np.asarray(found)

    def _of_balls(self, square: Floats, *, index: Integers, heights: Floats) -> Floats:
        """Volts per ampere of balls at points, shape (n, k); `square` of the distance in plan.

        Less what the mesh has of them, and more what they are where wires are not exact.
        """
        value = np.zeros(square.shape)
        width = np.sqrt(2.0) * self.clouds.spread[index]
        place, layer = self.clouds.place[index], self.clouds.layer[index]
        for ray, factor, exact in self.paths:
            own = layer == ray.source_layer
            if own.any():
                off = np.subtract.outer(heights, ray.image(place[own])[:, 2])
                r = np.maximum(np.sqrt(square[:, own] + off**2), 1e-7 * width[own])
                value[:, own] += factor * ((0.0 if exact else 1.0) - erf(r / width[own])) / r
        return value

    def _from_tables(self, square: Floats, *, index: Integers) -> Floats:
        """The same at the surface."""
        assert self.tables is not None
        square *= 1 / (2 * _step * self.clouds.spread[index] ** 2)
        below = square.astype(np.int64)
        square -= below
        kinds = self.kind[index]
        value = np.empty_like(square)
        for kind in np.unique(kinds):
            own = kinds == kind
            own = slice(None) if own.all() else own
            table, at = self.tables[kind], below[:, own]
            low = table[at]
            value[:, own] = low + square[:, own] * (table[at + 1] - low)
        return value

    def _wires(self, points: Floats, *, centre: Floats, index: Integers, ray: Ray) -> Floats:
        """Sum of current times mean inverse distance from images of wires. [A/m]"""
        start, axis = ray.image(self.elements.start[index]), self.axis[index].copy()
        axis[:, 2] *= ray.sign
        length, a = self.length[index], self.elements.radius[index]
        # About the middle of the cell: differences of squares would lose figures.
        here, start = points - centre, start - centre
        along = here @ axis.T - np.einsum("ni,ni->n", start, axis)
        across = np.einsum("ni,ni->n", here, here)[:, None] - 2 * here @ start.T
        across += np.einsum("ni,ni->n", start, start)
        across -= along**2
        np.maximum(across, 0.0, out=across)
        beyond = along - length
        near = across < (_face_reach * a) ** 2
        close = np.nonzero(near) if near.any() else None
        if close is not None:  # a point inside the metal is taken at its face
            past = np.maximum(np.maximum(-along[close], beyond[close]), 0.0)
            gap = across[close] + past**2
            across[close] += np.maximum(a[close[1]] ** 2 - gap, 0.0)
        ends = np.sqrt(across + along**2) + np.sqrt(across + beyond**2)
        mean = np.log((ends + length) / (ends - length)) / length
        if close is not None:
            faced = faces_near_points(
                self.elements, index=index[close[1]], gap=np.sqrt(np.maximum(gap, 0.0))
            )
            p, e = close[0][faced], close[1][faced]
            mean[p, e] = self._faces(points[p], index=index[e], ray=ray)
        return np.asarray(mean @ self.current[index])

    def _faces(self, points: Floats, *, index: Integers, ray: Ray) -> Floats:
        """Mean inverse distance of points from images of faces. [1/m]"""
        if not len(index):
            return np.zeros(0)
        ends = (ray.image(self.elements.start[index]), ray.image(self.elements.end[index]))
        heights = (ends[0][:, 2], ends[1][:, 2])
        return from_faces(
            self.elements, points=points, index=index, heights=heights, order=self.order
        )
