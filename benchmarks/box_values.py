"""Values to compare with: charges on the faces of a box beside metal, without the solver.

The field of a body is that of charges on its faces, q = 2 s k E across them with the mean
field E there and k = (outside - inside) / (outside + inside) of the resistivities. Rectangles
that get narrower towards edges, where charges crowd, in closed form (Kellogg 1929; from
memory); fields are means over each, and what rectangles send through all of the face is put
right on their diagonal to the half that it is. The surface insulates. None of it takes anything
from the package.
"""

from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from face_values import Array, Kernel, line_mean

_mirror = np.array([1.0, 1.0, -1.0])
_steepest = 1.4  # power by which rectangles get narrower towards edges
_finer, _order = 1.5, 1.8  # of a second set of them, with which values are extrapolated


@dataclass(frozen=True)
class Box:
    """Opposite corners of a box, z up, and the resistivities of it and of the soil round it.

    Its top may lie in the surface; metal must lie outside.
    """

    low: tuple[float, float, float]
    high: tuple[float, float, float]
    inside: float
    outside: float
    fine: int = 14
    _kept: dict[bytes, Array] = field(default_factory=dict, compare=False)

    def __call__(self, points: Array, start: Array, end: Array, radius: float) -> Array:
        """Potential at points per ampere from each element, shape (p, n)."""
        direct = sum(
            line_mean(points, start * flip, end * flip, radius) for flip in (1.0, _mirror)
        )
        charge = self._charge_of(start, end)
        step = max(1, 4_000_000 // len(charge))
        parts = [
            self._potential(points[k : k + step]) @ charge for k in range(0, len(points), step)
        ]
        return (direct + np.concatenate(parts)) * self.outside / (4 * np.pi)

    @cached_property
    def _panels(self) -> tuple[Array, Array, Array, Array]:
        """Low and high corners of rectangles, (n, 3), axis across each and the way out."""
        low, high = np.array(self.low), np.array(self.high)
        stops = []
        for axis in range(3):
            half = np.linspace(0.0, 1.0, self.fine + 1)
            share = np.where(
                half < 0.5, 0.5 * (2 * half) ** _steepest, 1 - 0.5 * (2 - 2 * half) ** _steepest
            )
            if axis == 2 and high[2] == 0.0:  # no edge in the surface
                share = np.linspace(0.0, 0.5, self.fine // 2 + 1)
                share = 2 * (0.5 * (2 * share) ** _steepest)
            stops.append(low[axis] + share * (high - low)[axis])
        lows, highs, axes, ways = [], [], [], []
        for axis in range(3):
            one, other = (k for k in range(3) if k != axis)
            a, b = np.meshgrid(stops[one][:-1], stops[other][:-1], indexing="ij")
            c, d = np.meshgrid(stops[one][1:], stops[other][1:], indexing="ij")
            for way, place in ((-1.0, low[axis]), (1.0, high[axis])):
                if axis == 2 and place == 0.0:
                    continue
                corner, opposite = np.full((2, a.size, 3), place)
                corner[:, one], corner[:, other] = a.ravel(), b.ravel()
                opposite[:, one], opposite[:, other] = c.ravel(), d.ravel()
                lows.append(corner)
                highs.append(opposite)
                axes.append(np.full(a.size, axis))
                ways.append(np.full(a.size, way))
        return (
            np.concatenate(lows), np.concatenate(highs), np.concatenate(axes),
            np.concatenate(ways),
        )  # fmt: skip

    def _area(self) -> Array:
        low, high, axis, _ = self._panels
        sides = np.where(np.arange(3) == axis[:, None], 1.0, high - low)
        return np.asarray(sides.prod(axis=1))

    def _potential(self, points: Array) -> Array:
        """Mean inverse distance of points from rectangles and their images, (p, n)."""
        low, high, axis, _ = self._panels
        total = np.zeros((len(points), len(low)))
        for flip in (np.ones(3), _mirror):
            places = points * flip
            for each in range(3):
                own = np.flatnonzero(axis == each)
                total[:, own] += _of_rectangles(places, low[own], high[own], each, None)
        return total / self._area()

    def _across(self, points: Array, along: int) -> Array:
        """Field of unit densities and their images at points, in one direction, (p, n)."""
        low, high, axis, _ = self._panels
        total = np.zeros((len(points), len(low)))
        for flip in (np.ones(3), _mirror):
            for each in range(3):
                own = np.flatnonzero(axis == each)
                found = _of_rectangles(points * flip, low[own], high[own], each, along)
                total[:, own] += flip[along] * found
        return total

    def _samples(self, count: int) -> tuple[Array, Array]:
        """Places in each rectangle, shape (count, n, 3), and their weights."""
        low, high, axis, _ = self._panels
        nodes, weights = np.polynomial.legendre.leggauss(count)
        one = np.array([[1, 2], [0, 2], [0, 1]])[axis]
        rows = np.arange(len(low))
        places, shares = [], []
        for a, wa in zip((nodes + 1) / 2, weights / 2, strict=True):
            for b, wb in zip((nodes + 1) / 2, weights / 2, strict=True):
                there = low.copy()
                for column, share in ((one[:, 0], a), (one[:, 1], b)):
                    there[rows, column] += share * (high - low)[rows, column]
                places.append(there)
                shares.append(wa * wb)
        return np.array(places), np.array(shares)

    @cached_property
    def _inverse(self) -> Array:
        """Densities by the field across each rectangle that other sources make, (n, n)."""
        _, _, axis, way = self._panels
        area, count = self._area(), len(axis)
        field_ = np.zeros((count, count))
        places, shares = self._samples(2)
        for there, share in zip(places, shares, strict=True):
            for each in range(3):
                own = np.flatnonzero(axis == each)
                field_[own] += share * way[own, None] * self._across(there[own], each)
        field_[np.diag_indices(count)] += 2 * np.pi - area @ field_ / area
        k = self._mirror_share
        return np.linalg.inv(2 * np.pi * np.eye(count) - k * field_) * k

    @property
    def _mirror_share(self) -> float:
        if np.isinf(self.inside):
            return -1.0
        return (self.outside - self.inside) / (self.outside + self.inside)

    def _charge_of(self, start: Array, end: Array) -> Array:
        """Charge of each rectangle per ampere from each element, shape (n, elements)."""
        key = start.tobytes() + end.tobytes()
        if key not in self._kept:
            _, _, axis, way = self._panels
            area, total = self._area(), np.zeros((len(axis), len(start)))
            places, shares = self._samples(4)
            for there, share in zip(places, shares, strict=True):
                total += share * way[:, None] * _field_of_lines(there, start, end, axis)
            total -= area @ total / area.sum()  # nothing leads through it from outside
            self._kept[key] = area[:, None] * (self._inverse @ total)
        return self._kept[key]


def extrapolated(box: Box) -> Kernel:
    """The potential beside a box by two sets of rectangles, as if they were without number."""
    finer = replace(box, fine=round(_finer * box.fine), _kept={})
    more = 1 / (_finer**_order - 1)

    def kernel(points: Array, start: Array, end: Array, radius: float) -> Array:
        one, other = (each(points, start, end, radius) for each in (box, finer))
        return np.asarray(other + more * (other - one))

    return kernel


def _of_rectangles(
    points: Array, low: Array, high: Array, axis: int, along: int | None
) -> Array:
    """Integral of the inverse distance over rectangles square to an axis, or its field. (p, n)

    In their own plane the field square to them is 0, the mean of both sides.
    """
    one, other = (k for k in range(3) if k != axis)
    w = points[:, None, axis] - low[None, :, axis]
    w = np.where(np.abs(w) < 1e-12, 0.0, w)
    total = np.zeros(w.shape)
    for u_end, u_sign in ((low, -1.0), (high, 1.0)):
        u = u_end[None, :, one] - points[:, None, one]
        for v_end, v_sign in ((low, -1.0), (high, 1.0)):
            v = v_end[None, :, other] - points[:, None, other]
            r = np.sqrt(u**2 + v**2 + w**2)
            if along == axis:
                part = np.arctan2(u * v, np.abs(w) * r) * np.sign(w)
            elif along is None:
                part = u * _log(v, u, w, r) + v * _log(u, v, w, r)
                part -= np.abs(w) * np.arctan2(u * v, np.abs(w) * r)
            else:
                part = _log(v, u, w, r) if along == one else _log(u, v, w, r)
            total += u_sign * v_sign * part
    return total


def _log(a: Array, b: Array, c: Array, r: Array) -> Array:
    """Logarithm of a + r without loss of figures, r the length of all three."""
    small = np.maximum(b**2 + c**2, 1e-300) / np.maximum(r - a, 1e-150)
    return np.asarray(np.log(np.where(a < 0, small, a + r)))


def _field_of_lines(points: Array, start: Array, end: Array, axis: Array) -> Array:
    """Field of elements and their images at points, each in its direction, (p, n)."""
    rows, total = np.arange(len(points)), np.zeros((len(points), len(start)))
    for flip in (np.ones(3), _mirror):
        a, b = start * flip, end * flip
        length = np.linalg.norm(b - a, axis=1)
        unit = (b - a) / length[:, None]
        off = points[:, None] - a
        along = np.einsum("pni,ni->pn", off, unit)
        across = off - along[:, :, None] * unit
        square = np.maximum((across**2).sum(axis=2), 1e-30)
        near, far = np.sqrt(square + along**2), np.sqrt(square + (along - length) ** 2)
        out = (along / near - (along - length) / far) / square / length
        ahead = (1 / far - 1 / near) / length
        total += out * across[rows, :, axis] + ahead * unit[:, axis].T
    return total
