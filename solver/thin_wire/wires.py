"""Round metal cut into wires, each short enough for one even leakage current."""

import itertools
from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial import cKDTree

from ..anisotropy import Twin, unstretched
from ..errors import BudgetError
from ..model import Conductors, Flags, Floats, Integers, Soil, require_round_metal, some_of
from ..patches import areas, sizes
from .panels import middles

# Wires at the ends are no shorter than this many radii of the face. The ends are 0.03 % to
# 0.04 % too low in a rod's resistance then; at 2 radii 0.03 % too high, at a half 0.08 % too
# low, since currents on an axis crowd towards an end more than those on a face.
_least_radii = 1.0
_stub = 3.0  # pieces of fewer radii are one wire
# Wires on each stretch at least, and on one with a free end, where leakage rises most. The
# first that keeps the matrix small enough is taken; the error estimate tells what it costs.
_fewest, _fewest_at_free_end = 2, (6, 4, 2)


@dataclass(frozen=True)
class Wires:
    """Straight wires and panels of plates, each with one leakage current and in one layer."""

    start: Floats  # (n, 3): ends of the axis, z up [m]
    end: Floats
    # (n,): radius of the face towards the soil: the metal, or the sheath round it [m]
    face: Floats
    series: Floats  # (n,): resistance of contact film and sheath [Ω]
    layer: Integers  # (n,): soil layer, piece of `Conductors` and electrode group of each
    piece: Integers
    group: Integers
    # (n,): number of the neighbours that each is joined with, for the error estimate
    pair: Integers
    # (n, 4, 3): corners of panels, whose axis is their middle line; None without plates [m]
    corners: Floats | None = None
    plate: Integers | None = None  # (n,): plate that each is of, -1 of round metal

    def __len__(self) -> int:
        """Give the number of wires."""
        return len(self.face)

    @property
    def length(self) -> Floats:
        """Length of each wire, shape (n,). [m]"""
        return np.linalg.norm(self.end - self.start, axis=1)

    @property
    def flat(self) -> Flags:
        """Which are panels, shape (n,)."""
        if self.plate is None:
            return np.zeros(len(self), dtype=bool)
        return np.asarray(self.plate >= 0)

    @property
    def middle(self) -> Floats:
        """Middle of each, shape (n, 3). [m]"""
        middle = 0.5 * (self.start + self.end)
        if self.corners is not None:
            middle[self.flat] = middles(self.corners[self.flat])
        return middle

    @property
    def reach(self) -> Floats:
        """Length of each wire, diagonal of each panel, shape (n,). [m]"""
        if self.corners is None:
            return self.length
        return np.where(self.flat, sizes(self.corners), self.length)

    @property
    def extent(self) -> Floats:
        """What joined neighbours share their current by: lengths, areas, shape (n,)."""
        if self.corners is None:
            return self.length
        return np.where(self.flat, areas(self.corners), self.length)


@dataclass(frozen=True)
class _Metal:
    """Pieces of metal with the fill that goes on beyond their free ends."""

    conductors: Conductors  # the n pieces
    start: Floats  # (n, 3): ends of metal or fill [m]
    end: Floats
    free: Flags  # (2, n): whether start and end meet neither metal nor the surface
    cover: Floats  # (2, n): how far the fill goes on there [m]

    @property
    def length(self) -> Floats:
        return np.linalg.norm(self.end - self.start, axis=1)


def cut_into_wires(conductors: Conductors, *, soil: Soil, longest: float, most: int) -> Wires:
    """Wires of all pieces of metal, cut at the layer planes, shorter towards the ends.

    `longest` is not exceeded by the average wire of a piece. `BudgetError` if there would be
    more wires than `most`, `RoundMetalOnlyError` if there are plates.
    """
    require_round_metal(conductors, method="thin conductors and their images")
    metal = _with_covers(conductors)
    spans = [
        (piece, low, high)
        for piece in range(len(conductors.radius))
        for low, high in itertools.pairwise(
            _cuts(metal.start[piece, 2], metal.end[piece, 2], soil=soil)
        )
    ]
    piece = np.array([span[0] for span in spans])
    low, high = np.array([span[1:] for span in spans]).T
    counts = _counts(
        (high - low) * metal.length[piece],
        face=conductors.sheath_radius[piece],
        free=(metal.free[0] | metal.free[1])[piece],
        longest=longest,
        most=most,
    )
    breaks = [_breaks(count) for count in counts]
    first = np.concatenate([b[:-1] for b in breaks])
    last = np.concatenate([b[1:] for b in breaks])
    span = np.repeat(np.arange(len(spans)), counts)
    width = (high - low)[span]
    return _wires(
        metal,
        soil=soil,
        piece=piece[span],
        low=low[span] + width * first,
        high=low[span] + width * last,
    )


def bluntness(conductors: Conductors) -> float:
    """Radii of the faces at free ends over the length of their group; the largest group's.

    Of round metal alone: plates have no ends.
    """
    rounded = ~conductors.flat
    if not rounded.any():
        return 0.0
    metal = some_of(conductors, piece=rounded)
    ends = _with_covers(metal).free.sum(axis=0) * metal.sheath_radius
    length = np.bincount(metal.group, weights=metal.length)
    share = np.bincount(metal.group, weights=ends)[length > 0] / length[length > 0]
    return float(share.max())


def _with_covers(conductors: Conductors) -> _Metal:
    """Pieces made longer by the fill beyond their free ends."""
    ends = np.concatenate([conductors.start, conductors.end])
    radius = np.tile(conductors.radius, 2)
    nearest = np.asarray(cKDTree(ends).query(ends, k=2)[0])[:, 1]
    free = ((nearest > radius) & (ends[:, 2] < -radius)).reshape(2, -1)
    cover = np.where(free, conductors.sheath_cover, 0.0)
    return _Metal(
        conductors=conductors,
        start=conductors.start - cover[0][:, None] * conductors.direction,
        end=conductors.end + cover[1][:, None] * conductors.direction,
        free=free,
        cover=cover,
    )


def _cuts(first: float, last: float, *, soil: Soil) -> list[float]:
    """Shares of a length between two heights where layers change, with both ends."""
    if first == last:
        return [0.0, 1.0]
    share = (-soil.interface_depth - first) / (last - first)
    inside = share[(share > 1e-9) & (share < 1 - 1e-9)]
    return [0.0, *np.sort(inside).tolist(), 1.0]


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


def _wires(metal: _Metal, *, soil: Soil, piece: Integers, low: Floats, high: Floats) -> Wires:
    """Wires between two shares of the length of their pieces."""
    start, whole = metal.start[piece], (metal.end - metal.start)[piece]
    begin, stop = start + low[:, None] * whole, start + high[:, None] * whole
    group = metal.conductors.group[piece]
    length = metal.length[piece]
    return Wires(
        start=begin,
        end=stop,
        face=metal.conductors.sheath_radius[piece],
        series=_series(metal, piece=piece, low=low * length, high=high * length),
        layer=soil.layer_at(-0.5 * (begin + stop)[:, 2]),
        piece=piece,
        group=group,
        pair=_pairs(group),
    )


def _series(metal: _Metal, *, piece: Integers, low: Floats, high: Floats) -> Floats:
    """Resistance of film and shell from metal to face of wires between two places. [Ω]

    Straight outwards along the metal. How current reaches the fill beyond an end lies between
    two simple pictures: straight outwards from metal as if that went on, which is too easy,
    and from the end as from a hemisphere of the metal's radius, too hard. Their geometric
    mean it is: 1.1 % at most on the resistance of the encased rods in the tests, where the
    two pictures are up to 4 % apart.
    """
    c = metal.conductors
    a, b = c.radius, c.sheath_radius
    straight = (c.contact / a + c.sheath_resistivity * np.log(b / a)) / (2.0 * np.pi)
    before, after = metal.cover
    tip = before + c.length
    along_metal = np.minimum(high, tip[piece]) - np.maximum(low, before[piece])
    beyond_start = np.maximum(before[piece] - low, 0.0) - np.maximum(before[piece] - high, 0.0)
    beyond_end = np.maximum(high - tip[piece], 0.0) - np.maximum(low - tip[piece], 0.0)
    # Length along the metal that conducts as well.
    length = (
        np.maximum(along_metal, 0.0)
        + beyond_start
        / _hardship(before / c.longer, inner=a / c.wider, outer=b / c.wider)[piece]
        + beyond_end / _hardship(after / c.longer, inner=a / c.wider, outer=b / c.wider)[piece]
    )
    return np.asarray(straight[piece] / length)


def _hardship(cover: Floats, *, inner: Floats, outer: Floats) -> Floats:
    """How much harder fill beyond an end is to reach than straight outwards from metal."""
    ratio = np.ones_like(cover)
    some = (cover > 0) & (outer > inner)
    a, b = inner[some], outer[some]
    # Resistances: ρ (1/a - 1/b) / 2 π from the hemisphere, ρ ln(b/a) / 2 π cover straight.
    ratio[some] = np.sqrt((1.0 / a - 1.0 / b) * cover[some] / np.log(b / a))
    return np.asarray(np.maximum(ratio, 1.0))


def _pairs(group: Integers) -> Integers:
    """Neighbours two by two within each group, in the order of the metal."""
    pair = np.empty(len(group), dtype=np.int64)
    used = 0
    for number in np.unique(group):
        members = np.flatnonzero(group == number)
        pair[members] = used + np.arange(len(members)) // 2
        used += (len(members) + 1) // 2
    return pair


def in_place(wires: Wires, *, twin: Twin, soil: Soil, conductors: Conductors) -> Wires:
    """Wires of the isotropic twin where they are."""
    if soil.isotropic:
        return wires
    piece = twin.piece[wires.piece]
    return replace(
        wires,
        start=unstretched(wires.start, soil=soil),
        end=unstretched(wires.end, soil=soil),
        face=conductors.sheath_radius[piece],
        piece=piece,
    )
