"""Line elements with their balls as they act in one layer, and on points of a cell of it."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from scipy.special import erf

from ..model import Floats, Integers, Soil
from .clouds import Clouds
from .elements import WIRE, LineElements
from .faced_elements import edge_orders, faces_near_points, from_faces
from .images import Ray, seen_from_surface
from .joints import EndsSeen, Joints
from .media import conductivities
from .near_field import rows_of_balls_do
from .sheets import Sheet

CUT = 2.6  # erfc(2.6) = 2e-4 of what is left at that distance, itself little
_face_reach = 14.0  # radii; beyond, a face is as good as its axis
_block = 1_000_000  # pairs of a point and an image of an end taken at once
# Of log(1 + q), q the squared distance over 2 s², to 1e-6 of the value at 0.
_step = 0.004


def _faces_near(elements: LineElements, *, ray: Ray, between: tuple[float, float]) -> bool:
    """Whether images of faces are so near some heights that their axes would not do."""
    faced = (elements.face > WIRE) & (elements.layer == ray.source_layer)
    if not faced.any():
        return False
    ends = np.stack([elements.start[faced, 2], elements.end[faced, 2]])
    images = ray.sign * ends + ray.shift
    apart = max(between[0] - images.max(), images.min() - between[1])
    return bool(apart < _face_reach * elements.radius[faced].max())


class Layer:
    """Line elements with their balls, as they act in one layer."""

    def __init__(
        self,
        elements: LineElements,
        *,
        clouds: Clouds,
        joints: Joints,
        soil: Soil,
        paths: Iterable[Ray],
        layer: int,
        surface: bool,
    ) -> None:
        self.elements, self.clouds, self.joints = elements, clouds, joints
        self.length = np.linalg.norm(elements.end - elements.start, axis=1)
        self.axis, self.flat = elements.axis, elements.flat
        self.order = edge_orders(elements, soil=soil)
        key = np.column_stack([np.round(clouds.place[:, 2], 7), clouds.spread, clouds.layer])
        _, self.first, kind = np.unique(key, axis=0, return_index=True, return_inverse=True)
        self.kind = kind.ravel()
        self.table: Floats | None = None  # those of all kinds, one after the other
        self.begin = np.zeros(len(self.first), dtype=np.int64)
        if surface:
            paths = seen_from_surface(paths)
        sigma = conductivities(soil)
        planes = [0.0, *(-soil.interface_depth), -np.inf]
        between = (0.0, 0.0) if surface else (planes[layer + 1], planes[layer])
        # Each ray, its volts per ampere and inverse metre, and whether wires act as such in it.
        self.paths = [
            (
                ray,
                ray.strength / (4 * np.pi * sigma[ray.source_layer]),
                not rows_of_balls_do(ray, clouds=clouds, between=between)
                or _faces_near(elements, ray=ray, between=between),
            )
            for ray in paths
            if ray.target_layer == layer
        ]
        self.exact = [(ray, factor) for ray, factor, exact in self.paths if exact]

    def tabulate(self, *, farthest: float) -> None:
        """Tables of what balls do at the surface, up to a distance in plan."""
        twice = 2 * self.clouds.spread[self.first] ** 2
        tables = []
        for ball, scale in zip(self.first, twice.tolist(), strict=True):
            steps = np.arange(int(np.log1p(farthest**2 / scale) / _step) + 2)
            value = self.of_balls(
                (np.expm1(_step * steps) * scale)[:, None],
                index=np.array([ball]),
                heights=np.zeros(1),
            )
            tables.append(value[:, 0])
        self.begin[1:] = np.cumsum([len(table) for table in tables])[:-1]
        self.table = np.concatenate(tables)

    def cell(
        self,
        centre: Floats,
        *,
        balls: tuple[Integers, Floats],
        wires: tuple[Integers, Floats],
        ends: tuple[Integers, Floats],
    ) -> "Cell":
        """Some balls and wires with their currents, for points near a place.

        `ends` are the joints of the wires and what their leakage changes there.
        """
        seen = self.joints.round(centre, ends=ends, rays=self.exact)
        return Cell(self, centre, balls, wires, seen)

    def of_balls(self, square: Floats, *, index: Integers, heights: Floats) -> Floats:
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

    def from_tables(self, square: Floats, *, index: Integers) -> Floats:
        """The same at the surface."""
        assert self.table is not None
        square *= 0.5 / self.clouds.spread[index] ** 2
        square += 1.0
        np.log(square, out=square)
        square *= 1 / _step
        below = square.astype(np.int64)
        square -= below
        below += self.begin[self.kind[index]]
        low = self.table[below]
        below += 1
        return np.asarray(low + square * (self.table[below] - low))

    def wires(self, points: Floats, *, centre: Floats, index: Integers, ray: Ray) -> Floats:
        """Mean inverse distance from images of wires, shape (n, wires). [1/m]"""
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
        return np.asarray(mean)

    def _faces(self, points: Floats, *, index: Integers, ray: Ray) -> Floats:
        """Mean inverse distance of points from images of faces. [1/m]"""
        if not len(index):
            return np.zeros(0)
        ends = (ray.image(self.elements.start[index]), ray.image(self.elements.end[index]))
        heights = (ends[0][:, 2], ends[1][:, 2])
        return from_faces(
            self.elements, points=points, index=index, heights=heights, order=self.order
        )


@dataclass(frozen=True)
class Cell:
    """What acts on points of one cell."""

    layer: Layer
    centre: Floats
    balls: tuple[Integers, Floats]
    wires: tuple[Integers, Floats]
    ends: EndsSeen

    def at(self, points: Floats) -> Floats:
        """Sum over its balls and wires at points, shape (n, c). [V]"""
        layer, (index, charge) = self.layer, self.balls
        place = layer.clouds.place[index]
        square = np.subtract.outer(points[:, 0], place[:, 0]) ** 2
        square += np.subtract.outer(points[:, 1], place[:, 1]) ** 2
        if layer.table is None:
            found = layer.of_balls(square, index=index, heights=points[:, 2]) @ charge
        else:
            found = layer.from_tables(square, index=index) @ charge
        parts = max(1, len(points) * len(self.ends.row) // _block)
        for some in np.array_split(np.arange(len(points)), parts):
            found[some] += self._of_wires(points[some])
        return np.asarray(found)

    def _of_wires(self, points: Floats) -> Floats:
        """Sum over the images that act as wires, shape (n, c). [V]"""
        sums, left = self.ends.potential(points, apart=_face_reach)
        layer, (index, current) = self.layer, self.wires
        flat = layer.flat[index]
        if flat.any():
            sheet = Sheet.of(layer.elements, index=index[flat], current=current[flat])
            for ray, factor in layer.exact:
                sums += factor * sheet.potential(points, ray=ray)
        for (ray, factor), rows in zip(layer.exact, left, strict=True):
            if len(rows):
                own = np.isin(layer.joints.row_of[index], rows)
                mean = layer.wires(points, centre=self.centre, index=index[own], ray=ray)
                sums += factor * (mean @ current[own])
        return sums
