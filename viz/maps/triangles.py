"""Values on a flat mesh of triangles, linear between its points: cut at a value, outlined."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ...solver.model import Flags, Floats, Integers


@dataclass(frozen=True)
class Outlines:
    """Closed outlines one after the other; what they hold lies on their left.

    Attributes
    ----------
    points : ndarray of float, shape (n, 2)
        [m]
    rim : ndarray of bool, shape (n,)
        Whether the side from each point to the next is on the rim of the mesh, no contour.
    starts : ndarray of int, shape (k,)
        First point of each outline.
    level : ndarray of int, shape (k,)
        Number of the level that it is the outline of.
    """

    points: Floats
    rim: Flags
    starts: Integers
    level: Integers

    @property
    def counts(self) -> Integers:
        """Points of each outline, shape (k,)."""
        return np.diff(self.starts, append=len(self.points))

    def only(self, points: Flags) -> "Outlines":
        """The outlines with some of their points, and without those that have none left."""
        counts = np.bincount(
            np.repeat(np.arange(len(self.starts)), self.counts)[points],
            minlength=len(self.starts),
        )
        some = counts > 0
        starts = np.cumsum(counts[some]) - counts[some]
        return Outlines(self.points[points], self.rim[points], starts, self.level[some])


@dataclass(frozen=True)
class Triangles:
    """Triangles that run anticlockwise; those beside each other share a whole side.

    Attributes
    ----------
    places : ndarray of float, shape (n, 2)
        [m]
    corners : ndarray of int, shape (m, 3)
    value : ndarray of float, shape (n,)
        What is shown.
    held : ndarray of float, shape (n,)
        What a limit is set against.
    """

    places: Floats
    corners: Integers
    value: Floats
    held: Floats

    @classmethod
    def of(
        cls, places: Floats, *, triangles: Integers, value: Floats, held: Floats
    ) -> "Triangles":
        """Of triangles that run either way."""
        corners = triangles.copy()
        backward = _twice_the_area(places, corners) < 0
        corners[backward] = corners[backward][:, ::-1]
        return cls(places, corners, value, held)

    @cached_property
    def areas(self) -> Floats:
        """Area of the triangles round each place, for weights, shape (n,). [m²]"""
        return point_areas(self.places, triangles=self.corners)

    def cut(self, by: Floats, *, at: float) -> "Triangles":
        """The part in which other values, `by` at the places, are no larger than `at`."""
        within = by <= at
        number = within[self.corners].sum(axis=1)
        some = (number == 1) | (number == 2)
        one = number[some] == 1
        # The corner that differs from both others goes first.
        first = np.argmax(within[self.corners[some]] == one[:, None], axis=1)
        turn = (first[:, None] + np.arange(3)) % 3
        a, b, c = np.take_along_axis(self.corners[some], turn, axis=1).T
        count = len(self.places)
        key, row = np.unique(
            np.concatenate([_key(a, b, count=count), _key(a, c, count=count)]),
            return_inverse=True,
        )
        low, high = np.divmod(key, count)
        share = (at - by[low]) / (by[high] - by[low])
        ab, ac = (count + row).reshape(2, -1)
        corners = np.concatenate([
            self.corners[number == 3],
            np.column_stack([a, ab, ac])[one],
            np.column_stack([ab, b, c])[~one],
            np.column_stack([ab, c, ac])[~one],
        ])  # fmt: skip
        kept, corners = np.unique(corners, return_inverse=True)

        def joined(values: Floats) -> Floats:
            risen = share.reshape(-1, *[1] * (values.ndim - 1)) * (values[high] - values[low])
            return np.asarray(np.concatenate([values, values[low] + risen])[kept])

        places, value, held = (joined(each) for each in (self.places, self.value, self.held))
        return Triangles(places, corners.reshape(-1, 3), value, held)

    @cached_property
    def _sides(self) -> tuple[Integers, Integers, Integers]:
        """Ends of all sides, (k, 2); the number of each triangle's, (m, 3); which are rim."""
        count = len(self.places)
        pair = _key(self.corners, np.roll(self.corners, -1, axis=1), count=count)
        key, side, times = np.unique(pair, return_inverse=True, return_counts=True)
        side = side.reshape(pair.shape)
        return np.column_stack(np.divmod(key, count)), side, np.flatnonzero(times[side] == 1)

    def outlines(self, values: Floats, *, levels: Floats) -> Outlines:
        """Outlines of all that reaches each of some levels, in their order.

        Parameters
        ----------
        values : ndarray of float, shape (n,)
            At the places.
        """
        ends, side, rim = self._sides
        count = len(values)
        nodes = count + len(ends)  # of each level: places, and where sides cross it
        above = values >= np.asarray(levels)[:, None]
        a, b, c = (above[:, self.corners[:, k]] for k in range(3))
        level, triangle = np.nonzero((a != b) | (b != c))
        # Anticlockwise round what is above, its edge leaves the side that goes down for that
        # which comes up again.
        of = np.column_stack([each[level, triangle] for each in (a, b, c)])
        to = np.roll(of, -1, axis=1)
        down, up = np.argmax(of & ~to, axis=1), np.argmax(~of & to, axis=1)
        base = nodes * level + count
        inner = base + side[triangle, down], base + side[triangle, up]
        ahead = np.roll(self.corners, -1, axis=1)
        one, other = self.corners.ravel()[rim], ahead.ravel()[rim]
        level, at = np.nonzero(above[:, one] | above[:, other])
        crossing = count + side.ravel()[rim][at]
        outer = [
            nodes * level + np.where(above[level, end[at]], end[at], crossing)
            for end in (one, other)
        ]
        start, finish = (np.concatenate(each) for each in zip(inner, outer, strict=True))
        by_level = np.argsort(start // nodes, kind="stable")
        order, starts = _in_loops(start[by_level], finish[by_level])
        order = by_level[order]
        level, node = np.divmod(start[order], nodes)
        points = self.places[np.minimum(node, count - 1)]
        crossed = node >= count
        one, other = ends[node[crossed] - count].T
        share = (np.asarray(levels)[level[crossed]] - values[one]) / (
            values[other] - values[one]
        )
        along = self.places[other] - self.places[one]
        points[crossed] = self.places[one] + share[:, None] * along
        return Outlines(points, order >= len(inner[0]), starts, level[starts])


def point_areas(places: Floats, *, triangles: Integers) -> Floats:
    """Area of the triangles round each place, shape (n,), for weights. [m²]"""
    sizes = 0.5 * np.abs(_twice_the_area(places, triangles))
    found = np.bincount(triangles.ravel(), weights=np.repeat(sizes, 3), minlength=len(places))
    return found.astype(float)


def _twice_the_area(places: Floats, triangles: Integers) -> Floats:
    """Twice the area of triangles, above zero where they run anticlockwise, (m,). [m²]"""
    a, b, c = (places[triangles[:, k]] for k in range(3))
    (ux, uy), (vx, vy) = (b - a).T, (c - a).T
    return np.asarray(ux * vy - uy * vx)


def _key(start: Integers, end: Integers, *, count: int) -> Integers:
    """One number for both directions of each side between `count` places."""
    return np.asarray(np.minimum(start, end) * count + np.maximum(start, end))


def _in_loops(start: Integers, finish: Integers) -> tuple[Integers, Integers]:
    """Directed sides in the order in which they follow each other, and where loops begin.

    As many sides end at each point as start there. By doubling: after k turns each side knows
    the 2ᵏ sides before it.
    """
    count = len(start)
    before = np.empty(count, dtype=np.int64)
    before[np.argsort(start, kind="stable")] = np.argsort(finish, kind="stable")
    first, back = np.arange(count), before
    turns = max(count, 1).bit_length()
    for _ in range(turns):
        first, back = np.minimum(first, first[back]), back[back]
    opens = first == np.arange(count)
    place, back = (~opens).astype(np.int64), np.where(opens, np.arange(count), before)
    for _ in range(turns):
        place, back = place + place[back], back[back]
    order = np.lexsort((place, first))
    return order, np.flatnonzero(opens[order])
