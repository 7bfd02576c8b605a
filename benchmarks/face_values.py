"""Values to compare with: thin wires beside flat and round faces, without the solver.

Galerkin's method with current on the axis and potential on the face, elements that grow from
two radii at free ends and at faces; exact kernels in closed form, by images, by Legendre series
or by an integral over wavelengths. The surface insulates. None of it takes anything from the
package.
"""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.special import j0

Array = np.ndarray
# Potential at points, shape (p, 3), per ampere from each element with ends (n, 3), shape
# (p, n); the last is the radius of the metal where points are on its face.
Kernel = Callable[[Array, Array, Array, float], Array]
_terms, _growth = 400, 1.25
_mirror = np.array([1.0, 1.0, -1.0])


def line_mean(points: Array, start: Array, end: Array, radius: float) -> Array:
    """Mean inverse distance of points from straight elements (Kellogg 1929; from memory)."""
    axis = end - start
    length = np.linalg.norm(axis, axis=1)
    off = points[:, None] - start
    along = np.einsum("pni,ni->pn", off, axis) / length
    across = np.maximum((off**2).sum(axis=2) - along**2, 0.0) + radius**2
    ends = np.sqrt(across + along**2) + np.sqrt(across + (along - length) ** 2)
    return np.log1p(2 * length / (ends - length)) / length


@dataclass(frozen=True)
class Contact:
    """Two soils that meet in the plane x = place, the first below it."""

    place: float
    resistivity: tuple[float, float]

    def __call__(self, points: Array, start: Array, end: Array, radius: float) -> Array:
        """By images in the plane and the surface."""
        rho = np.array(self.resistivity)
        side = ((start + end)[:, 0] / 2 > self.place).astype(int)
        here = points[:, 0] > self.place
        back = (rho[1 - side] - rho[side]) / (rho[0] + rho[1])
        total = np.zeros((len(points), len(start)))
        for flip in (np.ones(3), _mirror):
            a, b = start * flip, end * flip
            direct = line_mean(points, a, b, radius)
            over = np.array([-1.0, 1.0, 1.0])
            shift = np.array([2 * self.place, 0.0, 0.0])
            image = line_mean(points, a * over + shift, b * over + shift, radius)
            same = here[:, None] == side[None, :]
            total += np.where(same, direct + back * image, (1 + back) * direct)
        return total * rho[side] / (4 * np.pi)


@dataclass(frozen=True)
class HalfBall:
    """A half ball about the origin, with a film of so many ohm square metres on it."""

    radius: float
    inside: float
    outside: float
    film: float = 0.0

    def __call__(self, points: Array, start: Array, end: Array, radius: float) -> Array:
        """By Legendre series; the ends of an element are on one side of the face.

        With a film r the other side of each term n conducts as if it were less: the ball
        1 / (1 + r n s / a) of what it does, all round it 1 / (1 + r (n + 1) s / a).
        """
        held = np.linalg.norm((start + end) / 2, axis=1) < self.radius
        far = np.linalg.norm(points, axis=1)
        out = far > self.radius
        total = np.zeros((len(points), len(start)))
        rho = np.where(held, self.inside, self.outside)
        # Two points of an element stand for it where nothing is singular.
        nodes = np.array([-0.5, 0.5]) / np.sqrt(3)
        for flip in (np.ones(3), _mirror):
            a, b = start * flip, end * flip
            same = out[:, None] != held[None, :]
            total += np.where(same, line_mean(points, a, b, radius), 0.0)
            for node in nodes:
                total += 0.5 * self._series(points, (a + b) / 2 + node * (b - a), held, out)
        return total * rho / (4 * np.pi)

    def _series(self, points: Array, sources: Array, held: Array, out: Array) -> Array:
        size, a = self.radius, np.linalg.norm(sources, axis=1)
        far = np.linalg.norm(points, axis=1)
        cosine = points @ sources.T / (far[:, None] * a)
        s, si = 1 / self.outside, 1 / self.inside
        total = np.zeros(cosine.shape)
        before, here = np.zeros_like(cosine), np.ones_like(cosine)
        inner, outer = held[None, :], out[:, None]
        ratio = [
            (inner & ~outer, far[:, None] * a / size**2),
            (inner & outer, a / far[:, None]),
            (~inner & outer, size**2 / (far[:, None] * a)),
            (~inner & ~outer, far[:, None] / a),
        ]
        step = np.select([case for case, _ in ratio], [value for _, value in ratio])
        first = np.select(
            [inner & ~outer, inner & outer, ~inner & outer, ~inner & ~outer],
            [
                np.full_like(step, 1 / size),
                np.broadcast_to(1 / far[:, None], step.shape),
                size / (far[:, None] * a),
                np.broadcast_to(1 / a, step.shape),
            ],
        )
        power = first
        for n in range(_terms):
            less = 1 + self.film * si * n / size
            si_n = si / less
            back = n * (s - si_n) / (n * si_n + (n + 1) * s)
            less_out = 1 + self.film * s * (n + 1) / size
            s_n = s / less_out
            within = (n + 1) * (si - s_n) / (n * si + (n + 1) * s_n)
            weight = np.select(
                [inner & ~outer, inner & outer, ~inner & outer],
                [within, (1 + within) / less_out, back],
                (1 + back) / less,
            )
            total += weight * here * power
            power = power * step
            before, here = here, ((2 * n + 1) * cosine * here - n * before) / (n + 1)
        return total


@dataclass(frozen=True)
class FilmInLayers:
    """A soil of one thickness, a film of so many ohm square metres below it, another soil."""

    thickness: float
    resistivity: tuple[float, float]
    film: float

    def __call__(self, points: Array, start: Array, end: Array, radius: float) -> Array:
        """For metal and places in the upper soil, by an integral over wavelengths.

        The lower soil conducts 1 / (1 + r s L) as well for a wavelength of 2 pi / L.
        """
        h, (upper, lower) = self.thickness, self.resistivity
        total = np.zeros((len(points), len(start)))
        for flip in (np.ones(3), _mirror):
            total += line_mean(points, start * flip, end * flip, radius)
        z = -points[:, 2]
        nodes, weights = np.polynomial.legendre.leggauss(24)
        for node in np.array([-0.5, 0.5]) / np.sqrt(3):
            source = (start + end) / 2 + node * (end - start)
            d = -source[:, 2]
            plan = np.linalg.norm(points[:, None, :2] - source[None, :, :2], axis=2)
            gap = float((2 * h - z[:, None] - d).min())
            edges = np.concatenate(
                [[0.0], np.geomspace(1e-4, 1.0, 20), np.arange(1.5, 30, 0.5)]
            )
            most = max(1.0, float(plan.max()) / gap)
            edges = np.unique(
                np.concatenate([edges, np.arange(0, 30, np.pi / most)]) if most < 300 else edges
            )
            for low, high in pairwise(edges / gap):
                for at, weight in zip(nodes, weights, strict=True):
                    k = (low + high) / 2 + at * (high - low) / 2
                    less = 1 / lower / (1 + self.film * k / lower)
                    back = (1 / upper - less) / (1 / upper + less)
                    loop = back * np.exp(-2 * k * h) / (1 - back * np.exp(-2 * k * h))
                    up, down = np.cosh(k * z)[:, None], np.cosh(k * d)
                    factor = 4 * loop * up * down * (high - low) / 2 * weight
                    total += 0.5 * factor * j0(k * plan)
        return total * upper / (4 * np.pi)


@dataclass(frozen=True)
class Value:
    """Resistance, and potential of places per ampere."""

    resistance: float
    potentials: tuple[float, ...]


def value_of(
    pieces: list[tuple[Array, Array]], *, radius: float, kernel: Kernel, places: Array
) -> Value:
    """A straight wire of pieces that end at faces, in ground of a kernel."""
    cuts = [_graded(a, b, radius) for a, b in pieces]
    start = np.concatenate([cut[:-1] for cut in cuts])
    end = np.concatenate([cut[1:] for cut in cuts])
    nodes, weights = np.polynomial.legendre.leggauss(6)
    matrix = np.zeros((len(start), len(start)))
    for node, weight in zip(nodes, weights, strict=True):
        at = (start + end) / 2 + node / 2 * (end - start)
        matrix += weight / 2 * kernel(at, start, end, radius)
    current = np.linalg.solve((matrix + matrix.T) / 2, np.ones(len(start)))
    there = kernel(places, start, end, radius) @ current / current.sum()
    return Value(1 / float(current.sum()), tuple(there.tolist()))


def _graded(a: Array, b: Array, radius: float) -> Array:
    """Ends of elements from a to b that grow from both ends, shape (n + 1, 3)."""
    length = float(np.linalg.norm(b - a))
    steps = [2 * radius]
    while sum(steps) < length / 2:
        steps.append(min(steps[-1] * _growth, length / 24))
    half = np.concatenate([[0.0], np.cumsum(steps)])
    half *= length / 2 / half[-1]
    share = np.concatenate([half, length - half[-2::-1]]) / length
    return a + share[:, None] * (b - a)
