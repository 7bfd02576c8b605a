r"""One vertical rod in fill: charges on the true faces of metal and fill in layered soil.

The potential is that of current sources on both faces in the soil without the rod,
:math:`\phi = \int G q`. On the metal φ = V less the drop in its film; on the face of the fill
(conductivity σ_f in soil of σ) the current goes through:

.. math:: (\sigma_f - \sigma) g + (\sigma_f + \sigma) \frac{q}{2 \sigma} = 0

with g the mean of ∂φ/∂n on both sides. Fill that conducts much better than soil makes this
nearly singular, so what leaves the metal is held to what all sources give, with one number of
slack for it. Metal and fill lie in one layer.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from threadpoolctl import threadpool_limits

from .cutting import graded
from .layered_ground import LayeredGround
from .rings import over_panel, ring_gradient

_nodes, _weights = np.polynomial.legendre.leggauss(4)
_nodes, _weights = 0.5 * (_nodes + 1), 0.5 * _weights


@dataclass(frozen=True)
class RodInFill:
    """Depths and radii [m], resistivity of the fill [Ω·m], film on the metal [Ω·m²]."""

    radius: float
    top: float
    bottom: float
    fill_radius: float
    resistivity: float
    cover: float = 0.0
    film: float = 0.0


@dataclass(frozen=True)
class FilledRodField:
    """Solved rod: sources of each face at 1 V. [A/V]"""

    rod: RodInFill
    ground: LayeredGround
    layer: int
    faces: tuple
    current: np.ndarray

    @property
    def resistance(self):
        """To remote earth. [Ω]"""
        return 1 / float(self.current.sum())

    def surface_share(self, distance):
        """Potential of the surface, of fill too, as a share of that of the metal."""
        distance = np.asarray(distance, dtype=float)
        r = np.maximum(distance, self.rod.radius if self.rod.top == 0 else 0.0)
        found = np.zeros(len(r))
        rho = self.ground.resistivity[self.layer] / (4 * np.pi)
        r0, x0, r1, x1 = self.faces
        zero = np.zeros((len(r), 1))
        for share, sign, offset in self.ground.images(self.layer, 0):
            panel = (r0, sign * x0 + offset, r1, sign * x1 + offset)
            found += rho * share * (over_panel(r[:, None], zero, panel=panel) @ self.current)
        wide = np.hypot(r[:, None], np.hypot(r0, r1) / np.sqrt(2))
        depth = np.broadcast_to(0.5 * (x0 + x1), wide.shape)
        rest = self.ground.rest(
            wide, source=depth, field=np.zeros(wide.shape), i=self.layer, j=0
        )
        found += rho * (rest @ self.current)
        on_metal = (distance <= self.rod.radius) & (self.rod.top == 0) & (self.rod.film == 0)
        return np.where(on_metal, 1.0, found)


@threadpool_limits.wrap(limits=1)  # of small matrices, they only get in the way
def solve_filled_rod(rod, *, resistivity, thickness, fineness, reach):
    """Rod in fill; `reach` is the farthest distance ever asked for. [m]"""
    lowest = 1.01 * (rod.bottom + rod.cover)
    ground = LayeredGround(tuple(resistivity), tuple(thickness), reach, lowest)
    layer = int(ground.layer_at(0.5 * (rod.top + rod.bottom)))
    faces, metal, in_fill, normal = _faces(rod, fineness=fineness)
    count = len(metal)
    r0, x0, r1, x1 = faces
    area = np.pi * (r0 + r1) * np.hypot(r1 - r0, x1 - x0)
    sigma, fill_sigma = 1 / ground.resistivity[layer], 1 / rod.resistivity
    share, steepness = _fields(faces, normal=normal, ground=ground, layer=layer)
    density = np.diag(1 / area)  # of sources, per area
    beside = np.where(in_fill, fill_sigma, sigma)[:, None]
    leaving = beside * (density / (2 * sigma) - steepness)  # current density out of metal
    matrix = np.zeros((count + 1, count + 1))
    right = np.zeros(count + 1)
    matrix[:count, :count] = np.where(
        metal[:, None],
        share + rod.film * leaving,
        (fill_sigma - sigma) * steepness + (fill_sigma + sigma) * density / (2 * sigma),
    )
    right[:count] = metal
    matrix[:count, count] = np.where(metal, 0.0, fill_sigma + sigma)
    matrix[count, :count] = (metal * area) @ leaving - 1.0
    # Rows in their own units are decades apart.
    scale = np.abs(matrix).max(axis=1, keepdims=True)
    current = np.linalg.solve(matrix / scale, right / scale[:, 0])[:count]
    return FilledRodField(rod, ground, layer, faces, current)


def _faces(rod, *, fineness):
    """Panels, which are of metal, which of these lie in fill, and normals (r, depth)."""
    rows = []

    def side(radius, top, bottom, *, metal, kinds):
        at = top + graded(bottom - top, kinds=kinds, face=_scale(rod), fineness=fineness)
        rows.extend((radius, a, radius, b, metal, 1.0, 0.0) for a, b in pairwise(at))

    def end(inner, outer, depth, *, metal, down):
        kinds = ("smooth" if inner == 0 else "free", "free")
        at = inner + graded(outer - inner, kinds=kinds, face=_scale(rod), fineness=fineness)
        rows.extend((a, depth, b, depth, metal, 0.0, down) for a, b in pairwise(at))

    a, b = rod.radius, rod.fill_radius
    buried = rod.top > 0
    kinds = ("free" if buried else "smooth", "free")
    upper = rod.top - rod.cover if buried else 0.0
    side(a, rod.top, rod.bottom, metal=True, kinds=kinds)
    side(b, upper, rod.bottom + rod.cover, metal=False, kinds=kinds)
    for depth, out, down in ((rod.bottom, rod.bottom + rod.cover, 1.0), (rod.top, upper, -1.0)):
        if down > 0 or buried:
            end(0.0, a, depth, metal=True, down=down)
            end(0.0 if rod.cover else a, b, out, metal=False, down=down)
    table = np.array([row[:4] + row[5:] for row in rows])
    metal = np.array([row[4] for row in rows])
    flat = table[:, 5] != 0
    in_fill = metal & (~flat | (rod.cover > 0))
    return tuple(table[:, :4].T), metal, in_fill, table[:, 4:]


def _scale(rod):
    """What panels at edges are measured by: the metal, or less where fill or cover is thin."""
    thin = [rod.radius, rod.fill_radius - rod.radius, *([rod.cover] if rod.cover else [])]
    return min(thin)


def _fields(faces, *, normal, ground, layer):
    """Mean potential on panels and of its normal slope, per current of each. [Ω, Ω/m]"""
    r0, x0, r1, x1 = faces
    count = len(r0)
    rho = ground.resistivity[layer] / (4 * np.pi)
    share, slope = np.zeros((count, count)), np.zeros((count, count))
    shape = (count, count)
    for node, weight in zip(_nodes, _weights, strict=True):
        r, x = r0 + node * (r1 - r0), x0 + node * (x1 - x0)
        weight = (weight * r / (0.5 * (r0 + r1)))[:, None]
        wide = (np.broadcast_to(value[:, None], shape) for value in (r, x))
        wide_r, wide_x = wide
        for part, sign, offset in ground.images(layer, layer):
            panel = (r0, sign * x0 + offset, r1, sign * x1 + offset)
            panel = tuple(np.broadcast_to(value, shape) for value in panel)
            share += rho * part * weight * over_panel(wide_r, wide_x, panel=panel)
            to_r, to_x = over_panel(wide_r, wide_x, panel=panel, of=ring_gradient)
            slope += rho * part * weight * (normal[:, :1] * to_r + normal[:, 1:] * to_x)
        if len(ground.resistivity) > 1:
            level = np.broadcast_to(0.5 * (x0 + x1), shape)
            across = np.hypot(r0, r1) / np.sqrt(2)

            def rest(r, x, level=level, across=across):
                return ground.rest(np.hypot(r, across), source=level, field=x, i=layer, j=layer)

            step = 1e-3 * ground.scale
            share += rho * weight * rest(wide_r, wide_x)
            to_r = (rest(wide_r + step, wide_x) - rest(wide_r - step, wide_x)) / (2 * step)
            to_x = (rest(wide_r, wide_x + step) - rest(wide_r, wide_x - step)) / (2 * step)
            slope += rho * weight * (normal[:, :1] * to_r + normal[:, 1:] * to_x)
    return share, slope
