"""Inductance of metal with earth return, between runs of it rather than between branches.

Runs of branches (`runs`) stand for what they induce in each other: the current of each is the
mean along it. As long as an edge of a grid they give its impedance to 0.1 %; so no matrix of
all branches is ever made. Of more runs than are taken together the others act on themselves
alone, and what that leaves out is told.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from scipy.constants import mu_0

from ..errors import TrustError
from ..model import Floats, Integers, Phasors, Soil
from ..wire_distances import wire_to_wire
from .earth import EarthReturn
from .internal import Complexes
from .runs import OF_REACH, Runs

_far = 6.0  # lengths, from where on runs act as their middles
_block = 100_000  # pairs at once
_to_a_reach, _most_points = 2.5, 24  # points of the smooth part along runs that are longer
_one_place = 1.0 - 1e-6  # mutual over own impedance
_level = 1e-6  # cosine between lengths that induce nothing in each other


@dataclass(frozen=True)
class Induction:
    """What b branches induce in each other by r runs.

    Attributes
    ----------
    runs : Runs
        Those taken together.
    mutual : ndarray of complex, shape (r, r)
        Self and mutual impedances. [Ω]
    alone : Runs or None
        The others, which act on themselves alone.
    own : ndarray of complex, shape (b,)
        What those add to the impedance of each branch. [Ω]
    earth : EarthReturn
        Soil and frequency.
    """

    runs: Runs
    mutual: Complexes
    alone: Runs | None
    own: Complexes
    earth: EarthReturn

    def left_out(self, current: Phasors) -> Complexes:
        """What the runs alone would add to impedances of ports, to first order, (p, p). [Ω]

        Parameters
        ----------
        current : ndarray, shape (p, b)
            Of each branch, per ampere into each port.
        """
        found = np.zeros((len(current),) * 2, dtype=complex)
        if self.alone is None:
            return found
        one, other = _Lengths.of(self.alone), _Lengths.of(self.runs)
        mine = np.asarray(current @ self.alone.of_branch)[:, self.alone.run]
        theirs = np.asarray(current @ self.runs.of_branch)[:, self.runs.run]
        both, means = one + other, np.concatenate([mine, theirs], axis=1)
        for a, b in _pair_blocks(len(both.length), first=len(one.length)):
            a, b = both.inducing(a, b)
            apart = both.run[a] != both.run[b]
            a, b = a[apart], b[apart]
            half = (means[:, a] * _pairs(a, b, both, self.earth)) @ means[:, b].T
            found += half + half.T
        return found


def induction_of(runs: Runs, *, soil: Soil, frequency: float) -> Induction:
    """What runs induce in each other at a frequency above 0 [Hz]."""
    together, alone = runs.parted()
    earth = EarthReturn(soil, frequency)
    own = np.zeros(runs.of_branch.shape[0], dtype=complex)
    if alone is not None:
        own += abs(alone.of_branch) @ _own(alone, earth)
    mutual = inductance(together, soil=soil, frequency=frequency)
    _require_apart(mutual)
    return Induction(together, mutual, alone, own, earth)


def _require_apart(mutual: Complexes) -> None:
    """Raise `TrustError` where two runs induce in each other all that they do in themselves."""
    own = np.sqrt(np.abs(mutual.diagonal()))
    shares = np.abs(mutual) / np.outer(own, own)
    np.fill_diagonal(shares, 0.0)
    if shares.max(initial=0.0) > _one_place:
        msg = (
            "metal or leads run in one place, so that how current divides between them is "
            "open; give leads routes that lie apart"
        )
        raise TrustError(msg)


def inductance(runs: Runs, *, soil: Soil, frequency: float) -> Complexes:
    """Self and mutual impedances of runs with earth return, shape (r, r), symmetric. [Ω]

    Upright metal has no part in the return through the soil.
    """
    earth, lengths, count = EarthReturn(soil, frequency), _Lengths.of(runs), len(runs)
    found = np.zeros((count, count), dtype=complex)
    each = np.arange(len(runs.run))
    _add(found, runs.run, runs.run, _pairs(each, each, lengths, earth))
    for a, b in _pair_blocks(len(each), first=len(each)):
        a, b = lengths.inducing(a, b)
        values = _pairs(a, b, lengths, earth)
        _add(found, runs.run[a], runs.run[b], values)
        _add(found, runs.run[b], runs.run[a], values)
    return found


def _own(runs: Runs, earth: EarthReturn) -> Complexes:
    """Impedance of each run by itself, shape (r,). [Ω]"""
    lengths, count = _Lengths.of(runs), len(runs)
    each = np.arange(len(runs.run))
    found = np.zeros(count, dtype=complex)
    np.add.at(found, runs.run, _pairs(each, each, lengths, earth))
    for number in np.flatnonzero(np.bincount(runs.run) > 1):
        mine = np.flatnonzero(runs.run == number)
        i, j = np.triu_indices(len(mine), k=1)
        a, b = lengths.inducing(mine[i], mine[j])
        found[number] += 2.0 * _pairs(a, b, lengths, earth).sum()
    return found


def _add(found: Complexes, row: Integers, column: Integers, values: Complexes) -> None:
    """Add values to a square matrix, some of them to the same entry."""
    np.add.at(found.reshape(-1), row * len(found) + column, values)


def _pair_blocks(count: int, *, first: int) -> Iterator[tuple[Integers, Integers]]:
    """Pairs i < j of `count` things with i below `first`, block by block."""
    rows = np.arange(min(first, count))
    more = np.cumsum(count - 1 - rows)
    begin = 0
    while begin < len(rows):
        done = int(more[begin - 1]) if begin else 0
        end = max(begin + 1, int(np.searchsorted(more, done + _block)))
        some = rows[begin:end]
        many = count - 1 - some
        i = np.repeat(some, many)
        yield i, i + 1 + np.arange(len(i)) - np.repeat(np.cumsum(many) - many, many)
        begin = end


@dataclass(frozen=True)
class _Lengths:
    """Straight lengths of runs, s of them, with what is asked of each often."""

    start: Floats  # (s, 3) [m]
    end: Floats
    radius: Floats
    run: Integers
    step: Floats
    middle: Floats
    length: Floats

    @classmethod
    def of(cls, runs: Runs) -> "_Lengths":
        step = runs.end - runs.start
        return cls(
            runs.start,
            runs.end,
            runs.radius,
            runs.run,
            step,
            0.5 * (runs.start + runs.end),
            np.linalg.norm(step, axis=1),
        )

    def __add__(self, other: "_Lengths") -> "_Lengths":
        """Both, the runs of the other numbered on."""
        mine, theirs = vars(self), dict(vars(other))
        theirs["run"] = other.run + (int(self.run.max()) + 1)
        return _Lengths(**{key: np.concatenate([mine[key], theirs[key]]) for key in mine})

    def inducing(self, a: Integers, b: Integers) -> tuple[Integers, Integers]:
        """Those of pairs that are not at right angles."""
        straight = np.abs(np.einsum("ni,ni->n", self.step[a], self.step[b]))
        some = straight > _level * self.length[a] * self.length[b]
        return a[some], b[some]


def _pairs(a: Integers, b: Integers, lengths: _Lengths, earth: EarthReturn) -> Complexes:
    """Impedance between lengths of each pair. [Ω]"""
    omega = 2 * np.pi * earth.frequency
    step, middle, length = lengths.step, lengths.middle, lengths.length
    distance = np.linalg.norm(middle[a] - middle[b], axis=1)
    mean = np.empty(len(a))
    far = distance > _far * np.maximum(length[a], length[b])
    mean[far] = 1.0 / distance[far]
    near = ~far
    mean[near] = wire_to_wire(
        lengths.start[a[near]],
        end=lengths.end[a[near]],
        other_start=lengths.start[b[near]],
        other_end=lengths.end[b[near]],
        offset=np.maximum(lengths.radius[a[near]], lengths.radius[b[near]]),
    )
    straight = np.einsum("ni,ni->n", step[a], step[b])
    level = np.einsum("ni,ni->n", step[a, :2], step[b, :2])
    smooth = earth.smooth(distance)
    long = near & (np.maximum(length[a], length[b]) > 1.25 * OF_REACH * earth.reach)
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
