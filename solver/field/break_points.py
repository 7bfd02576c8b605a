"""Where straight pieces of metal are cut: short at ends, joints and planes, longer between."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.spatial import cKDTree

from ..model import Conductors, Flags, Floats

# Leakage rises towards a free end over a few radii; elements grow from there by this ratio.
# From a joint by less: the surface sees where density jumps along a shallow wire. With 1.6 it
# was 0.32, 0.22 and 0.16 % of the rise off over 40 m arms (coarse, normal, fine), now 0.16,
# 0.15 and 0.11 %.
_growth, _growth_from_joint = 1.6, 1.4
# In radii. A thin wire has no end face: shorter elements crowd current at the tip without
# limit. With 1 a rod comes out 0.03 % low, with 2 0.02 % high, with 4 0.08 %.
_first_at_free_end = 2.0
# Where wires meet, each shades the others: leakage dips there over about the depth, and the
# soil above sees it. In depths; a star of 40 m arms 0.3 m deep was 5 % of the rise off above.
# With 1, stars of 4 to 6 m arms over better soil are still 0.2 to 0.35 % off a depth from their
# middle, with 0.3 below 0.1 %. Of metal in many pieces each is a small share of the rise.
_first_at_joint, _first_of_few, _few_pieces = 1.0, 0.3, 300
# Where current enters metal that is not at one potential, leakage rises as towards a joint.
# In depths.
_first_at_mark = 1.0
_straight_on = np.cos(np.radians(35.0))
# The edge of a flat end wants short elements, a plane where the density of a face jumps some
# of a few radii. In radii.
_first_at_edge = 0.3
_first_at_plane = 2.0
_flush = 1e-9  # with the surface [m]
_longest = 1.0  # in mesh element sizes
# Fill that goes on beyond the metal by less has no element of its own: shorter than its
# radius it would be no thin wire. In outer radii.
_least_cover = 0.5


@dataclass(frozen=True)
class Marks:
    """Places where current enters metal that is not at one potential, k of them.

    Leakage rises towards them as towards a joint, so elements grow from there.

    Attributes
    ----------
    place : ndarray of float, shape (k, 3)
        On the axis of metal. [m]
    """

    place: Floats

    def along(self, conductors: Conductors) -> list[Floats]:
        """Where on each piece they are, in order, its ends included. [m]"""
        found = []
        for start, axis, length, near in zip(
            conductors.start,
            conductors.direction,
            conductors.length,
            conductors.radius,
            strict=True,
        ):
            offset = self.place - start
            along = offset @ axis
            across = np.linalg.norm(offset - along[:, None] * axis, axis=1)
            on_it = (across <= near) & (along >= -near) & (along <= length + near)
            # An end is meant where a radius is all that is left to it.
            some = np.where(along < near, 0.0, np.where(along > length - near, length, along))
            found.append(np.unique(some[on_it]))
        return found


def breaks_of_pieces(
    conductors: Conductors, *, planes: Floats, element_size: Floats, marks: Marks | None = None
) -> list[Floats]:
    """Break points of each piece, from the start of its metal along its axis. [m]

    Fill that goes on beyond a free end leaks as the metal does: break points go on to its end.

    Parameters
    ----------
    planes : ndarray of float
        Heights of the planes between layers, where there must be break points. [m]
    element_size : ndarray of float, shape (n,)
        Edge length of the mesh along each piece. [m]
    marks : Marks, optional
        Where elements have to be short besides.
    """
    loose, flat = np.stack(free_ends(conductors), 1), np.stack(flat_ends(conductors), 1)
    outer = conductors.sheath_radius
    cover = np.where(loose | flat, conductors.sheath_cover[:, None], 0.0)
    first = np.stack(first_lengths(conductors), 1)
    first[flat] = np.broadcast_to(_first_at_edge * outer[:, None], flat.shape)[flat]
    metal = conductors.length
    depth = -0.5 * (conductors.start + conductors.end)[:, 2]
    marked = [np.zeros(0)] * len(metal) if marks is None else marks.along(conductors)
    made: dict[tuple[object, ...], Floats] = {}  # pieces of a grid or a field are much alike
    found = []
    for k, length in enumerate(metal + cover.sum(axis=1)):
        parts = _parts(length, size=element_size[k], loose=bool((loose | flat)[k].any()))
        longest = min(_longest * element_size[k], max(length / parts, 2 * outer[k]))
        planes_cut = _places_of_cuts(conductors, k, length=metal[k], planes=planes)
        inside = marked[k][(marked[k] > 0) & (marked[k] < metal[k])]
        cuts = cover[k, 0] + np.union1d(planes_cut, inside)
        cuts = cuts[(cuts > 1e-6 * length) & (cuts < (1 - 1e-6) * length)]
        at_mark = max(_first_at_free_end * outer[k], _first_at_mark * depth[k])
        ends = np.isin([0.0, metal[k]], marked[k])
        first[k, ends] = np.minimum(first[k, ends], at_mark)
        joint = np.isfinite(first[k]) & ~loose[k] & ~flat[k]
        at_ends = min(float(first[k, 0]), longest), min(float(first[k, 1]), longest)
        edged, joined = bool(flat[k].any()), bool(joint.any())
        key = (length, longest, at_ends, tuple(cuts), edged, joined, len(inside), outer[k])
        if key not in made and (edged or len(inside)):
            at_cuts = at_mark if len(inside) else _first_at_plane * outer[k]
            made[key] = graded(
                length, longest=longest, first=at_ends, cuts=cuts, at_cuts=at_cuts
            )
        elif key not in made:
            growth = _growth_from_joint if joined else _growth
            made[key] = break_points(
                length, longest=longest, first=at_ends, cuts=cuts, growth=growth
            )
        found.append(made[key] - cover[k, 0])
    return found


def _ramp(first: float, *, growth: float, longest: float, room: float) -> Floats:
    """Break points of growing elements from an end until `longest` or `room` is reached."""
    if first >= longest:
        return np.zeros(0)
    count = int(np.ceil(np.log(longest / first) / np.log(growth)))
    breaks = np.cumsum(first * growth ** np.arange(count))
    return breaks[breaks < room]


def break_points(
    length: float,
    *,
    longest: float,
    first: tuple[float, float],
    cuts: Floats,
    growth: float = _growth,
) -> Floats:
    """Break points of one straight piece, from 0 to `length`.

    Parameters
    ----------
    length : float
        Length of the piece. [m]
    longest : float
        Longest element allowed. [m]
    first : tuple of float, length 2
        Length of the element at the start and at the end. [m]
    cuts : ndarray of float
        Places that must be break points, such as layer interfaces. [m]
    growth : float, optional
        Ratio of the length of each element to that of the one nearer to the end.

    Returns
    -------
    breaks : ndarray of float
        Increasing, first 0, last `length`. [m]
    """
    from_start, from_end = (
        _ramp(size, growth=growth, longest=longest, room=0.45 * length) for size in first
    )
    from_end = length - from_end[::-1]
    fixed = np.concatenate([[0.0], from_start, from_end, [length]])
    close = 0.2 * min(longest, length)
    if len(cuts):
        inner = fixed[1:-1]
        clear = np.abs(inner[:, None] - cuts[None, :]).min(axis=1) > close
        fixed = np.unique(np.concatenate([[0.0], inner[clear], cuts, [length]]))
    gaps = np.diff(fixed)
    parts = np.maximum(1, np.ceil(gaps / longest - 1e-9)).astype(int)
    pieces = [
        np.linspace(lower, upper, n + 1)[:-1]
        for lower, upper, n in zip(fixed[:-1], fixed[1:], parts, strict=True)
    ]
    return np.concatenate([*pieces, [length]])


def free_ends(conductors: Conductors) -> tuple[Flags, Flags]:
    """Whether the start and the end of each piece touch no other piece's end.

    An end at the surface is not free: its image in the surface continues it.
    """
    start, end = _lone_ends(conductors)
    deep = -conductors.radius
    return start & (conductors.start[:, 2] < deep), end & (conductors.end[:, 2] < deep)


def _lone_ends(conductors: Conductors) -> tuple[Flags, Flags]:
    """Whether the start and the end of each piece touch no other piece's end."""
    ends = np.concatenate([conductors.start, conductors.end])
    nearest = np.asarray(cKDTree(ends).query(ends, k=2)[0])[:, 1]
    start, end = np.split(nearest > np.tile(conductors.radius, 2), 2)
    return start, end


def flat_ends(conductors: Conductors) -> tuple[Flags, Flags]:
    """Whether the start and the end of each piece show the soil a flat face.

    So do vertical pieces, of metal or of the sheath round it, where their end touches no other
    piece and is below the surface by more than round-off.
    """
    upright = np.abs(conductors.direction[:, 2]) > 1 - 1e-9
    start, end = _lone_ends(conductors)
    start &= upright & (conductors.start[:, 2] < -_flush)
    return start, end & upright & (conductors.end[:, 2] < -_flush)


def first_lengths(conductors: Conductors) -> tuple[Floats, Floats]:
    """Longest element allowed at the start and the end of each piece. [m]

    A few radii at free ends and a share of the depth where pieces meet at an angle; no bound
    (infinity) where metal goes straight on, also through the surface to its image.
    """
    ends = np.concatenate([conductors.start, conductors.end])
    outward = np.concatenate([-conductors.direction, conductors.direction])
    radius = np.tile(conductors.radius, 2)
    tip = _first_at_free_end * np.tile(conductors.sheath_radius, 2)
    first = np.full(len(ends), np.inf)
    free = np.concatenate(free_ends(conductors))
    first[free] = tip[free]
    # Under less soil than a radius an end is not free, nor does its image continue it.
    thinly = (ends[:, 2] < 0) & (ends[:, 2] >= -radius)
    first[thinly] = tip[thinly]
    one, other = cKDTree(ends).query_pairs(float(radius.max()), output_type="ndarray").T
    meet = np.linalg.norm(ends[one] - ends[other], axis=1) <= np.maximum(
        radius[one], radius[other]
    )
    bent = np.einsum("ni,ni->n", outward[one], outward[other]) > -_straight_on
    joint = np.unique(np.concatenate([one[meet & bent], other[meet & bent]]))
    depths = _first_of_few if len(radius) <= 2 * _few_pieces else _first_at_joint
    first[joint] = np.maximum(tip[joint], -depths * ends[joint, 2])
    return np.split(first, 2)[0], np.split(first, 2)[1]


def _parts(length: float, *, size: float, loose: bool) -> int:
    """Least number of elements in a piece: four where an end is free, few in dense metal."""
    if loose:
        return 4
    return 2 if length > 0.5 * size else 1


def _places_of_cuts(
    conductors: Conductors, piece: int, *, length: float, planes: Floats
) -> Floats:
    """Places that must be break points, from the start of the metal along its axis. [m]"""
    a, b = conductors.start[piece], conductors.end[piece]
    rise = float(b[2] - a[2])
    cuts = (planes - a[2]) / rise * length if rise != 0 else np.zeros(0)
    cover = conductors.sheath_cover[piece]
    if cover > _least_cover * conductors.sheath_radius[piece]:
        # The current is least even where fill takes over from metal.
        cuts = np.append(cuts, [0.0, length])
    return np.sort(cuts)


def graded(
    length: float,
    *,
    longest: float,
    first: tuple[float, ...],
    cuts: Floats,
    at_cuts: float,
) -> Floats:
    """Break points as `break_points` has them, but growing from both sides of each cut too.

    Parameters
    ----------
    at_cuts : float
        Length of the elements at a cut. [m]
    """
    fixed = [0.0, *cuts.tolist(), length]
    sizes = [first[0], *[at_cuts] * len(cuts), first[1]]
    runs = [
        low
        + break_points(
            high - low,
            longest=min(longest, max(0.25 * (high - low), 1e-6 * length)),
            first=(sizes[k], sizes[k + 1]),
            cuts=np.zeros(0),
        )[:-1]
        for k, (low, high) in enumerate(pairwise(fixed))
    ]
    return np.concatenate([*runs, [length]])
