"""Runs of metal: lengths of branches that induce by the mean current along them.

Straight runs end with each piece, which of a grid is an edge. Where those are too many, they
go on to what lies in a line with them, over the nodes of a grid, or round bends to what alone
comes next, along a winding route; whichever needs the shorter ones.
"""

from dataclasses import dataclass, replace

import numpy as np
import scipy.sparse as sparse

from ..model import Conductors, Flags, Floats, Integers
from .network import Network

MOST_RUNS = 600  # a matrix of these takes 6 MB and a third of a second to solve
_longest = 50.0  # of a run [m]
# Of a run in reaches of the kernel, so that one place stands for all of it.
OF_REACH = 0.2
_gap = 0.01  # between what lies in a line [m]
_growth = 1.25  # of runs while there are more
_straight = 1e-6  # between the ways of what is one straight length
_upright = 0.9  # of the cosine to the vertical


@dataclass(frozen=True)
class Runs:
    """Runs of branches, r of them, each of one straight length or more: s in all.

    Attributes
    ----------
    start, end : ndarray of float, shape (s, 3)
        Of each straight length, the way that the current of its run counts. [m]
    radius : ndarray of float, shape (s,)
        Geometric mean of its metal. [m]
    run : ndarray of int, shape (s,)
        That each length is of, in order.
    of_branch : csr_matrix, shape (b, r)
        Share of each branch in the length of its run, below zero where it goes against it.
    """

    start: Floats
    end: Floats
    radius: Floats
    run: Integers
    of_branch: sparse.csr_matrix

    def __len__(self) -> int:
        return int(self.of_branch.shape[1])

    def only(self, chosen: Integers) -> "Runs":
        """Some of them, in their order."""
        number = np.full(len(self), -1)
        number[chosen] = np.arange(len(chosen))
        mine = number[self.run] >= 0
        return Runs(
            start=self.start[mine],
            end=self.end[mine],
            radius=self.radius[mine],
            run=number[self.run[mine]],
            of_branch=self.of_branch[:, chosen],
        )

    def parted(self) -> tuple["Runs", "Runs | None"]:
        """Those that are taken together, and the others, where there are too many.

        Level ones come before upright ones, of which rods are, and long before short.
        """
        if len(self) <= MOST_RUNS:
            return self, None
        step = self.end - self.start
        count = len(self)
        length = np.bincount(self.run, np.linalg.norm(step, axis=1), count)
        up = np.bincount(self.run, np.abs(step[:, 2]), count) > _upright * length
        order = np.lexsort((-length, up))
        return self.only(np.sort(order[:MOST_RUNS])), self.only(np.sort(order[MOST_RUNS:]))


@dataclass(frozen=True)
class Straights:
    """Straight lengths of branches, s of them: what runs are made of.

    Attributes
    ----------
    middle, axis : ndarray of float, shape (s, 3)
        Middle [m] and unit vector along the current of the branch.
    length, radius : ndarray of float, shape (s,)
        [m]
    piece : ndarray of int, shape (s,)
        Runs end with each unless that makes too many.
    branch : ndarray of int, shape (s,)
        That each belongs to.
    nodes : ndarray of int, shape (s, 2)
        At its start and its end.
    parted : ndarray of bool, shape (s, 2)
        Whether currents part at its start and at its end: their mean across is none.
    leads : ndarray of bool, shape (s,)
        Whether it is a lead: those and metal share no run.
    """

    middle: Floats
    axis: Floats
    length: Floats
    radius: Floats
    piece: Integers
    branch: Integers
    nodes: Integers
    parted: Flags
    leads: Flags

    @classmethod
    def of(cls, network: Network, *, conductors: Conductors, fed: Integers) -> "Straights":
        """Branches of metal, of which some nodes may be fed."""
        ends = network.first, network.last
        count = len(network.first)
        return cls(
            middle=0.5 * (network.place[network.first] + network.place[network.last]),
            axis=conductors.direction[network.piece],
            length=network.length,
            radius=conductors.radius[network.piece],
            piece=network.piece,
            branch=np.arange(count),
            nodes=np.stack(ends, axis=1),
            parted=np.stack([np.isin(end, fed) for end in ends], axis=1),
            leads=np.zeros(count, dtype=bool),
        )

    def __add__(self, other: "Straights") -> "Straights":
        """Give both together."""
        mine, theirs = vars(self), vars(other)
        return Straights(**{key: np.concatenate([mine[key], theirs[key]]) for key in mine})


def runs_of(network: Network, *, conductors: Conductors, reach: float, fed: Integers) -> Runs:
    """Metal in runs of a length.

    Parameters
    ----------
    reach : float
        Of the kernel. [m]
    fed : ndarray of int
        Nodes that may be fed: currents part there.
    """
    straights = Straights.of(network, conductors=conductors, fed=fed)
    return runs_along(straights, branches=len(network.first), longest=longest_run(reach))


def longest_run(reach: float) -> float:
    """Longest run for a reach of the kernel. [m]"""
    return min(_longest, OF_REACH * reach)


def runs_along(straights: Straights, *, branches: int, longest: float) -> Runs:
    """Straight lengths in runs of at most a length, longer where there would be too many."""
    way, run = _ordered(straights, longest)
    order, sign = way.order, way.sign
    count = int(run[-1]) + 1
    length, axis = straights.length[order], sign[:, None] * straights.axis[order]
    total = np.bincount(run, weights=length)
    share = sparse.csr_matrix(
        (sign * length / total[run], (straights.branch[order], run)), shape=(branches, count)
    )
    bends = np.linalg.norm(np.diff(axis, axis=0, prepend=axis[:1]), axis=1) > _straight
    first = np.flatnonzero((np.diff(run, prepend=-1) != 0) | bends)
    last = np.append(first[1:], len(run)) - 1
    middle, half = straights.middle[order], 0.5 * length[:, None]
    start, end = (
        middle[first] - half[first] * axis[first],
        middle[last] + half[last] * axis[last],
    )
    span = np.einsum("ni,ni->n", end - start, axis[first])
    of_length = np.repeat(np.arange(len(first)), last - first + 1)
    logs = np.bincount(of_length, weights=length * np.log(straights.radius[order]))
    return Runs(
        start=start,
        end=start + span[:, None] * axis[first],
        radius=np.exp(logs / np.bincount(of_length, weights=length)),
        run=run[first],
        of_branch=share,
    )


def _ordered(straights: Straights, longest: float) -> tuple["_Way", Integers]:
    """An order of straight lengths, and the run of each in it."""
    lines = _in_lines(straights)
    level = np.abs(straights.axis[:, 2]) <= _upright

    def few(way: _Way, run: Integers) -> bool:
        return len(np.unique(run[level[way.order]])) <= MOST_RUNS

    piece = straights.piece[lines.order]
    pieces = replace(lines, parted=lines.parted | (np.diff(piece, prepend=-1) != 0))
    usual = pieces, pieces.cut(straights.length, longest)
    if few(*usual):
        return usual
    ways = (_in_chains(straights), lines)
    grown, most = longest, _growth * max(way.longest(straights.length) for way in ways)
    while grown < most:
        for way in ways:
            found = way, way.cut(straights.length, grown)
            if few(*found):
                return found
        grown *= _growth
    return min(
        ((way, way.cut(straights.length, longest)) for way in ways),
        key=lambda each: each[1][-1],
    )


@dataclass(frozen=True)
class _Way:
    """Straight lengths in an order, s of them, each along it or against it."""

    order: Integers
    sign: Floats  # in that order
    parted: Flags  # likewise, whether a stretch begins with it

    def longest(self, length: Floats) -> float:
        """Of the stretches. [m]"""
        stretch = np.cumsum(self.parted) - 1
        return float(np.bincount(stretch, weights=length[self.order]).max())

    def cut(self, length: Floats, longest: float) -> Integers:
        """Run of each: stretches in equal parts of at most a length, in order."""
        length = length[self.order]
        stretch = np.cumsum(self.parted) - 1
        total = np.bincount(stretch, weights=length)
        parts = np.ceil(total / longest - 1e-9)
        inside = np.cumsum(length) - 0.5 * length - (np.cumsum(total) - total)[stretch]
        part = np.minimum(np.floor(inside / (total / parts)[stretch]), parts[stretch] - 1)
        begins = self.parted | (np.diff(part, prepend=-1) != 0)
        return np.asarray(np.cumsum(begins) - 1, dtype=np.int64)


def _in_lines(straights: Straights) -> _Way:
    """What lies in a line, one after the other."""
    direction = straights.axis
    # Both ways along a line are one: the first component that is not nothing is above it.
    leading = np.take_along_axis(direction, (np.abs(direction) > 1e-6).argmax(1)[:, None], 1)
    sign = np.sign(leading[:, 0])
    axis = direction * sign[:, None]
    along = np.einsum("ni,ni->n", straights.middle, axis)
    foot = straights.middle - along[:, None] * axis
    key = np.column_stack([np.round(axis, 4), np.round(foot, 2), straights.leads]) + 0.0
    line = np.unique(key, axis=0, return_inverse=True)[1].ravel()
    order = np.lexsort((along, line))
    half = 0.5 * straights.length[order]
    low, high = along[order] - half, along[order] + half
    parted = (np.diff(line[order], prepend=-1) != 0) | np.concatenate(
        [[True], np.abs(low[1:] - high[:-1]) > _gap]
    )
    backwards = (sign[order] < 0).astype(np.int64)
    parted |= straights.parted[order, backwards]
    return _Way(order, sign[order], parted)


def _in_chains(straights: Straights) -> _Way:
    """What alone meets end to end, one after the other, round bends."""
    count = len(straights.length)
    node = (2 * straights.nodes + straights.leads[:, None]).ravel()
    order = np.argsort(node, kind="stable")
    _, first, times = np.unique(node[order], return_index=True, return_counts=True)
    pairs = order[first[times == 2][:, None] + [0, 1]]  # ends, two to a length
    on = (pairs[:, 0] // 2 != pairs[:, 1] // 2) & ~straights.parted.ravel()[pairs].any(axis=1)
    beyond = np.full(2 * count, -1)
    beyond[pairs[on, 0]], beyond[pairs[on, 1]] = pairs[on, 1], pairs[on, 0]
    free = np.flatnonzero(beyond < 0)
    next_end, seen = beyond.tolist(), [False] * count
    walked: list[int] = []  # the end at which each length is entered
    begins: list[bool] = []
    for start in (*free.tolist(), *range(0, 2 * count, 2)):
        end = start
        while end >= 0 and not seen[end // 2]:
            seen[end // 2] = True
            begins.append(end == start)
            walked.append(end)
            end = next_end[end ^ 1]
    entered = np.array(walked)
    return _Way(entered // 2, np.where(entered % 2 == 0, 1.0, -1.0), np.array(begins))
