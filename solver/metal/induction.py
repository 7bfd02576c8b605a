"""Inductance of metal with earth return, between runs of it rather than between branches.

Straight runs of branches stand for what they induce in each other: the current of each is the
mean along it. As long as an edge of a grid they give its impedance to 0.1 %; so no matrix of
all branches is ever made.
"""

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sparse
from scipy.constants import mu_0

from ..model import Conductors, Flags, Floats, Integers, Soil
from ..wire_distances import wire_to_wire
from .earth import EarthReturn
from .internal import Complexes
from .network import Network

_longest = 50.0  # of a run [m]
# Of a run in reaches of the kernel, so that one place stands for all of it.
_of_reach = 0.2
_most_runs = 600  # a matrix of these takes 6 MB and a third of a second to solve
_gap = 0.01  # between what lies in a line [m]
_growth = 1.25  # of runs while there are more
_far = 6.0  # lengths, from where on runs act as their middles
_block = 100_000  # pairs at once
_to_a_reach, _most_points = 2.5, 24  # points of the smooth part along runs that are longer


@dataclass(frozen=True)
class Runs:
    """Straight runs of branches, r of them.

    Attributes
    ----------
    start, end : ndarray of float, shape (r, 3)
        [m]
    radius : ndarray of float, shape (r,)
        Geometric mean of its metal. [m]
    of_branch : csr_matrix, shape (b, r)
        Share of each branch in the length of its run, below zero where it goes against it.
    """

    start: Floats
    end: Floats
    radius: Floats
    of_branch: sparse.csr_matrix


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
            parted=np.stack([np.isin(end, fed) for end in ends], axis=1),
            leads=np.zeros(count, dtype=bool),
        )

    def __add__(self, other: "Straights") -> "Straights":
        """Give both together."""
        mine, theirs = vars(self), vars(other)
        return Straights(**{key: np.concatenate([mine[key], theirs[key]]) for key in mine})


def runs_of(network: Network, *, conductors: Conductors, reach: float, fed: Integers) -> Runs:
    """Straight stretches of metal in runs of a length.

    They end with each piece, which of a grid is an edge, or where those are too many go on to
    what lies in a line with it.

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
    return min(_longest, _of_reach * reach)


def runs_along(straights: Straights, *, branches: int, longest: float) -> Runs:
    """Straight lengths in runs of at most a length, longer where there would be too many."""
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
    line, length = line[order], straights.length[order]
    low, high = along[order] - 0.5 * length, along[order] + 0.5 * length
    parted = (np.diff(line, prepend=-1) != 0) | np.concatenate(
        [[True], np.abs(low[1:] - high[:-1]) > _gap]
    )
    backwards = (sign[order] < 0).astype(np.int64)
    parted |= straights.parted[order, backwards]
    pieces = parted | (np.diff(straights.piece[order], prepend=-1) != 0)
    run = _cut(pieces, length, longest)
    fewest = int(parted.sum())
    while run[-1] >= max(_most_runs, fewest):
        run = _cut(parted, length, longest)
        longest *= _growth
    count = int(run[-1]) + 1
    first = np.searchsorted(run, np.arange(count))
    last = np.append(first[1:], len(run)) - 1
    total = np.bincount(run, weights=length)
    logs = length * np.log(straights.radius[order])
    origin, way = foot[order[first]], axis[order[first]]
    share = sparse.csr_matrix(
        (sign[order] * length / total[run], (straights.branch[order], run)),
        shape=(branches, count),
    )
    return Runs(
        start=origin + low[first, None] * way,
        end=origin + high[last, None] * way,
        radius=np.exp(np.bincount(run, weights=logs) / total),
        of_branch=share,
    )


def _cut(parted: Flags, length: Floats, longest: float) -> Integers:
    """Run of each branch: stretches in equal parts of at most a length, in order."""
    stretch = np.cumsum(parted) - 1
    total = np.bincount(stretch, weights=length)
    parts = np.ceil(total / longest - 1e-9)
    inside = np.cumsum(length) - 0.5 * length - (np.cumsum(total) - total)[stretch]
    part = np.minimum(np.floor(inside / (total / parts)[stretch]), parts[stretch] - 1)
    return np.asarray(np.cumsum(parted | (np.diff(part, prepend=-1) != 0)) - 1, dtype=np.int64)


def inductance(runs: Runs, *, soil: Soil, frequency: float) -> Complexes:
    """Self and mutual impedances of runs with earth return, shape (r, r), symmetric. [Ω]

    Of more runs than are taken together the shorter ones keep only what they do to themselves.
    Upright metal has no part in the return through the soil.
    """
    earth = EarthReturn(soil, frequency)
    step = runs.end - runs.start
    length = np.linalg.norm(step, axis=1)
    middle = 0.5 * (runs.start + runs.end)
    found = np.zeros((len(length), len(length)), dtype=complex)
    alone = np.arange(len(length))
    found[alone, alone] = _pairs(alone, alone, runs, step, middle, earth)
    together = np.sort(np.argsort(-length, kind="stable")[:_most_runs])
    i, j = np.triu_indices(len(together), k=1)
    rows, columns = together[i], together[j]
    for begin in range(0, len(rows), _block):
        a, b = rows[begin : begin + _block], columns[begin : begin + _block]
        cosine = np.abs(np.einsum("ni,ni->n", step[a], step[b])) / (length[a] * length[b])
        some = cosine > 1e-6
        a, b = a[some], b[some]
        values = _pairs(a, b, runs, step, middle, earth)
        found[a, b] = values
        found[b, a] = values
    return found


def _pairs(
    a: Integers, b: Integers, runs: Runs, step: Floats, middle: Floats, earth: EarthReturn
) -> Complexes:
    """Impedance between runs of each pair. [Ω]"""
    omega = 2 * np.pi * earth.frequency
    distance = np.linalg.norm(middle[a] - middle[b], axis=1)
    length = np.linalg.norm(step, axis=1)
    mean = np.empty(len(a))
    far = distance > _far * np.maximum(length[a], length[b])
    mean[far] = 1.0 / distance[far]
    near = ~far
    mean[near] = wire_to_wire(
        runs.start[a[near]],
        end=runs.end[a[near]],
        other_start=runs.start[b[near]],
        other_end=runs.end[b[near]],
        offset=np.maximum(runs.radius[a[near]], runs.radius[b[near]]),
    )
    straight = np.einsum("ni,ni->n", step[a], step[b])
    level = np.einsum("ni,ni->n", step[a, :2], step[b, :2])
    smooth = earth.smooth(distance)
    long = near & (np.maximum(length[a], length[b]) > 1.25 * _of_reach * earth.reach)
    if long.any():
        smooth[long] = _smooth_mean(a[long], b[long], step, middle, earth)
    return np.asarray(
        1j * omega * mu_0 / (2 * np.pi) * (0.5 * straight * mean + level * smooth)
    )


def _smooth_mean(
    a: Integers, b: Integers, step: Floats, middle: Floats, earth: EarthReturn
) -> Complexes:
    """Mean of the smooth part of the kernel over runs that are long for it. [1/m]"""
    longest = float(np.linalg.norm(step[np.concatenate([a, b])], axis=1).max())
    count = min(1 + int(np.ceil(_to_a_reach * longest / earth.reach)), _most_points)
    nodes, weights = np.polynomial.legendre.leggauss(count)
    found = np.zeros(len(a), dtype=complex)
    for one, weight in zip(0.5 * nodes, 0.5 * weights, strict=True):
        here = middle[a] + one * step[a]
        for other, share in zip(0.5 * nodes, 0.5 * weights, strict=True):
            there = middle[b] + other * step[b]
            found += weight * share * earth.smooth(np.linalg.norm(here - there, axis=1))
    return found
