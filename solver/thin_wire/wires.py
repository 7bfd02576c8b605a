"""Metal cut into wires, each short enough for one even leakage current."""

import itertools
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from ...errors import BudgetError
from ..model import Conductors, Flags, Floats, Integers, Soil

# Wires at the ends are no shorter than this many radii of the face. The ends are 0.03 % to
# 0.04 % too low in a rod's resistance then; at 2 radii 0.03 % too high, at a half 0.08 % too
# low, since currents on an axis crowd towards an end more than those on a face.
_least_radii = 1.0
_stub = 3.0  # pieces of fewer radii are one wire
# Wires on each stretch at least, and on one with a free end, where leakage rises most. The
# first that keeps the matrix small enough is taken; the error estimate tells what it costs.
_fewest, _fewest_at_free_end = 2, (6, 4, 2)
_joint = 1e-6  # ends closer than this are joined [m]


@dataclass(frozen=True)
class Wires:
    """Straight wires, each with one leakage current and in one layer.

    Attributes
    ----------
    start, end : ndarray of float, shape (n, 3)
        Ends of the axis, z up. [m]
    face : ndarray of float, shape (n,)
        Radius of the face towards the soil: the metal, or the sheath round it. [m]
    series : ndarray of float, shape (n,)
        Resistance of contact film and sheath. [Ω]
    layer, piece, group : ndarray of int, shape (n,)
        Soil layer, piece of `Conductors` and electrode group of each.
    pair : ndarray of int, shape (n,)
        Number of the pair of neighbours that each belongs to, for the error estimate.
    """

    start: Floats
    end: Floats
    face: Floats
    series: Floats
    layer: Integers
    piece: Integers
    group: Integers
    pair: Integers

    def __len__(self) -> int:
        """Give the number of wires."""
        return len(self.face)

    @property
    def length(self) -> Floats:
        """Length of each wire, shape (n,). [m]"""
        return np.linalg.norm(self.end - self.start, axis=1)

    @property
    def middle(self) -> Floats:
        """Midpoint of each axis, shape (n, 3). [m]"""
        return 0.5 * (self.start + self.end)


def cut_into_wires(conductors: Conductors, *, soil: Soil, longest: float, most: int) -> Wires:
    """Wires of all pieces of metal, cut at the layer planes, shorter towards the ends.

    Parameters
    ----------
    conductors : Conductors
        The metal.
    soil : Soil
        Its planes cut the pieces.
    longest : float
        Length that the average wire of a piece is not to exceed. [m]
    most : int
        Largest number of wires.

    Returns
    -------
    wires : Wires

    Raises
    ------
    BudgetError
        If there would be more wires than `most`.
    """
    spans = [
        (piece, low, high)
        for piece in range(len(conductors.radius))
        for low, high in itertools.pairwise(_cuts(conductors, piece, soil=soil))
    ]
    piece = np.array([span[0] for span in spans])
    low, high = np.array([span[1:] for span in spans]).T
    counts = _counts(
        (high - low) * conductors.length[piece],
        face=conductors.sheath_radius[piece],
        free=_has_free_end(conductors)[piece],
        longest=longest,
        most=most,
    )
    breaks = [_breaks(count) for count in counts]
    first = np.concatenate([b[:-1] for b in breaks])
    last = np.concatenate([b[1:] for b in breaks])
    span = np.repeat(np.arange(len(spans)), counts)
    width = (high - low)[span]
    return _wires(
        conductors,
        soil=soil,
        piece=piece[span],
        low=low[span] + width * first,
        high=low[span] + width * last,
    )


def _cuts(conductors: Conductors, piece: int, *, soil: Soil) -> list[float]:
    """Shares of a piece's length where layers change, with both ends."""
    top, bottom = conductors.start[piece, 2], conductors.end[piece, 2]
    if top == bottom:
        return [0.0, 1.0]
    share = (-soil.interface_depth - top) / (bottom - top)
    inside = share[(share > 1e-9) & (share < 1 - 1e-9)]
    return [0.0, *np.sort(inside).tolist(), 1.0]


def _has_free_end(conductors: Conductors) -> Flags:
    """Whether an end of each piece meets no other piece."""
    ends = np.concatenate([conductors.start, conductors.end])
    met = cKDTree(ends).query_ball_point(ends, _joint, return_length=True)
    return np.asarray((met == 1).reshape(2, -1).any(axis=0))


def _counts(
    length: Floats, *, face: Floats, free: Flags, longest: float, most: int
) -> Integers:
    """Even number of wires on each stretch; one where it is hardly longer than wide."""
    wanted = 2 * np.ceil(0.5 * length / longest)
    slender = length / face
    # The first of n wires is π² / 4 n² of the length.
    bearable = 2 * np.round(0.25 * np.pi * np.sqrt(slender / _least_radii))
    bearable = np.where(slender < _stub, 1, bearable)
    for at_free_end in _fewest_at_free_end:
        fewest = np.where(free, at_free_end, _fewest)
        counts = np.minimum(np.maximum(wanted, fewest), bearable)
        if counts.sum() <= most:
            return np.asarray(counts, dtype=np.int64)
    msg = (
        f"the second opinion would cut the metal into {counts.sum():,.0f} wires; its matrix "
        f"takes at most {most:,}: do without it (numerics.second_opinion: never), or allow "
        "more wires or longer ones from Python"
    )
    raise BudgetError(msg)


def _breaks(count: int) -> Floats:
    """Break points from 0 to 1, closer towards both ends where the leakage varies most."""
    return np.asarray(0.5 * (1.0 - np.cos(np.pi * np.arange(count + 1) / count)))


def _wires(
    conductors: Conductors, *, soil: Soil, piece: Integers, low: Floats, high: Floats
) -> Wires:
    """Wires between two shares of the length of their pieces."""
    start, whole = conductors.start[piece], (conductors.end - conductors.start)[piece]
    metal, face = conductors.radius[piece], conductors.sheath_radius[piece]
    length = (high - low) * conductors.length[piece]
    # Film on the metal, then the shell: two resistances in the current's way.
    shell = conductors.sheath_resistivity[piece] * np.log(face / metal)
    series = (conductors.contact[piece] / metal + shell) / (2.0 * np.pi * length)
    begin, stop = start + low[:, None] * whole, start + high[:, None] * whole
    group = conductors.group[piece]
    return Wires(
        start=begin,
        end=stop,
        face=face,
        series=series,
        layer=soil.layer_at(-0.5 * (begin + stop)[:, 2]),
        piece=piece,
        group=group,
        pair=_pairs(group),
    )


def _pairs(group: Integers) -> Integers:
    """Neighbours two by two within each group, in the order of the metal."""
    pair = np.empty(len(group), dtype=np.int64)
    used = 0
    for number in np.unique(group):
        members = np.flatnonzero(group == number)
        pair[members] = used + np.arange(len(members)) // 2
        used += (len(members) + 1) // 2
    return pair
