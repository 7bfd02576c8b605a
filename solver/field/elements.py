"""Line elements: the pieces of metal cut into lengths of constant leakage density."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.spatial import cKDTree

from ..model import Conductors, Flags, Floats, Integers, Soil

# Leakage rises towards a free end over a few radii; elements grow from there by this ratio.
_growth = 1.6
# In radii. A thin wire has no end face: shorter elements crowd current at the tip without
# limit. With 1 a rod comes out 0.03 % low, with 2 0.02 % high, with 4 0.08 %.
_first_at_free_end = 2.0
# Where wires meet, each shades the others: leakage dips there over about the depth, and the
# soil above sees it. In depths; a star of 40 m arms 0.3 m deep was 5 % of the rise off above.
_first_at_joint = 1.0
_straight_on = np.cos(np.radians(35.0))
_longest = 1.0  # in mesh element sizes
_least_spread = 1.5  # in radii
# Fill that goes on beyond the metal by less has no element of its own: shorter than its
# radius it would be no thin wire. In outer radii.
_least_cover = 0.5


# A bare vertical piece with a free end has its faces. An edge wants short elements, a plane
# where the density jumps some of a few radii. In radii.
_first_at_edge = 0.3
_first_at_plane = 2.0
WIRE, CYLINDER, DISC = 0, 1, 2


@dataclass(frozen=True)
class LineElements:
    """Straight line elements, each with one leakage current.

    Attributes
    ----------
    start, end : ndarray of float, shape (n, 3)
        Ends of the axis. [m]
    radius : ndarray of float, shape (n,)
        Radius of the face towards the soil: the metal, or the sheath round it. [m]
    spread : ndarray of float, shape (n,)
        Standard deviation of the Gaussian that smears the source on the mesh. [m]
    series : ndarray of float, shape (n,)
        Resistance of contact film and sheath times length. [Ω·m]
    layer, piece, group : ndarray of int, shape (n,)
        Soil layer, piece of `Conductors` and electrode group that each one belongs to.
    face : ndarray of int, shape (n,), or None
        `WIRE`, `CYLINDER` or `DISC`: whether the near field knows only the axis, or the face
        too. A disc is the flat end at `start`; it is as long as the cylinder of its area.
        None where all are wires.
    """

    start: Floats
    end: Floats
    radius: Floats
    spread: Floats
    series: Floats
    layer: Integers
    piece: Integers
    group: Integers
    face: Integers | None = None

    def __len__(self) -> int:
        """Give the number of elements."""
        return len(self.start)

    @property
    def length(self) -> Floats:
        """Length of each element, shape (n,). [m]"""
        return np.linalg.norm(self.end - self.start, axis=1)

    @property
    def middle(self) -> Floats:
        """Midpoint of each element, shape (n, 3). [m]"""
        return 0.5 * (self.start + self.end)


def _ramp(first: float, *, longest: float, room: float) -> Floats:
    """Break points of growing elements from an end until `longest` or `room` is reached."""
    if first >= longest:
        return np.zeros(0)
    count = int(np.ceil(np.log(longest / first) / np.log(_growth)))
    breaks = np.cumsum(first * _growth ** np.arange(count))
    return breaks[breaks < room]


def break_points(
    length: float, *, longest: float, first: tuple[float, float], cuts: Floats
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

    Returns
    -------
    breaks : ndarray of float
        Increasing, first 0, last `length`. [m]
    """
    from_start = _ramp(first[0], longest=longest, room=0.45 * length)
    from_end = length - _ramp(first[1], longest=longest, room=0.45 * length)[::-1]
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
    ends = np.concatenate([conductors.start, conductors.end])
    radius = np.concatenate([conductors.radius, conductors.radius])
    nearest = np.asarray(cKDTree(ends).query(ends, k=2)[0])[:, 1]
    free = (nearest > radius) & (ends[:, 2] < -radius)
    half = len(conductors.start)
    return free[:half], free[half:]


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
    first[joint] = np.maximum(tip[joint], -_first_at_joint * ends[joint, 2])
    return np.split(first, 2)[0], np.split(first, 2)[1]


def _parts(length: float, *, size: float, loose: bool) -> int:
    """Least number of elements in a piece: four where an end is free, few in dense metal."""
    if loose:
        return 4
    return 2 if length > 0.5 * size else 1


def _places_of_cuts(conductors: Conductors, piece: int, *, planes: Floats) -> Floats:
    """Places that must be break points, from the start of the metal along its axis. [m]"""
    a, b = conductors.start[piece], conductors.end[piece]
    length, rise = float(conductors.length[piece]), float(b[2] - a[2])
    cuts = (planes - a[2]) / rise * length if rise != 0 else np.zeros(0)
    cover = conductors.sheath_cover[piece]
    if cover > _least_cover * conductors.sheath_radius[piece]:
        # The current is least even where fill takes over from metal.
        cuts = np.append(cuts, [0.0, length])
    return np.sort(cuts)


def line_elements(
    conductors: Conductors, *, soil: Soil, element_size: Floats, spread: Floats
) -> LineElements:
    """Line elements of all pieces, cut at layer interfaces and finer towards free ends.

    Fill that goes on beyond a free end leaks as the metal does: elements go on to its end.

    Parameters
    ----------
    element_size : ndarray of float, shape (n,)
        Edge length of the mesh along each piece. [m]
    spread : ndarray of float, shape (n,)
        Standard deviation of the cloud of each piece; wider where the metal is thicker. [m]
    """
    free_start, free_end = free_ends(conductors)
    first_start, first_end = first_lengths(conductors)
    outer = conductors.sheath_radius
    direction = conductors.direction
    before = np.where(free_start, conductors.sheath_cover, 0.0)
    after = np.where(free_end, conductors.sheath_cover, 0.0)
    faced = has_faces(conductors)
    starts, ends, pieces, faces = [], [], [], []
    for k, length in enumerate(conductors.length + before + after):
        parts = _parts(length, size=element_size[k], loose=free_start[k] or free_end[k])
        loose = (bool(free_start[k]), bool(free_end[k]))
        longest = min(_longest * element_size[k], max(length / parts, 2 * outer[k]))
        cuts = before[k] + _places_of_cuts(conductors, k, planes=-soil.interface_depth)
        cuts = cuts[(cuts > 1e-6 * length) & (cuts < (1 - 1e-6) * length)]
        edge = _first_at_edge * outer[k]
        at_ends = tuple(
            min(edge if faced[k] and free else float(first[k]), longest)
            for free, first in zip(loose, (first_start, first_end), strict=True)
        )
        if faced[k]:
            at_plane = _first_at_plane * outer[k]
            breaks = graded(length, longest=longest, first=at_ends, cuts=cuts, at_cuts=at_plane)
        else:
            breaks = break_points(length, longest=longest, first=at_ends, cuts=cuts)
        corners = conductors.start[k] + (breaks - before[k])[:, None] * direction[k]
        if after[k] == 0:
            corners[-1] = conductors.end[k]  # without round-off: joints and the surface
        starts.append(corners[:-1])
        ends.append(corners[1:])
        pieces.append(np.full(len(breaks) - 1, k))
        faces.append(np.full(len(breaks) - 1, CYLINDER if faced[k] else WIRE))
        for free, tip, out in (
            (loose[0], corners[0], -direction[k]),
            (loose[1], corners[-1], direction[k]),
        ):
            if faced[k] and free:
                starts.append(tip[None])
                ends.append(_end_of_disc(tip, outward=out, radius=outer[k], soil=soil)[None])
                pieces.append(np.array([k]))
                faces.append(np.array([DISC]))
    piece = np.concatenate(pieces)
    start, end = np.concatenate(starts), np.concatenate(ends)
    film = conductors.contact / (2 * np.pi * conductors.radius)
    sheath = conductors.sheath_resistivity / (2 * np.pi) * np.log(outer / conductors.radius)
    return LineElements(
        start=start,
        end=end,
        radius=outer[piece],
        # A cloud narrower than the metal would make the short-range matrix indefinite.
        spread=np.maximum(np.asarray(spread)[piece], _least_spread * outer[piece]),
        series=(film + sheath)[piece],
        layer=soil.layer_at(-0.5 * (start + end)[:, 2]),
        piece=piece,
        group=conductors.group[piece],
        face=np.concatenate(faces),
    )


def has_faces(conductors: Conductors) -> Flags:
    """Whether each piece is bare, vertical and ends in the soil: faces instead of an axis."""
    start, end = free_ends(conductors)
    upright = np.abs(conductors.direction[:, 2]) > 1 - 1e-9
    bare = conductors.sheath_radius == conductors.radius
    return np.asarray(upright & bare & (start | end))


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


def _end_of_disc(tip: Floats, *, outward: Floats, radius: float, soil: Soil) -> Floats:
    """Where the short line ends that stands for a flat end: beyond it, in the soil it meets."""
    step = 0.5 * radius * outward
    heights = -soil.interface_depth
    ahead = (heights - tip[2]) * np.sign(outward[2])
    if np.any((ahead > 1e-9) & (ahead < 0.5 * radius)):
        step = -step  # or its cloud would be of the next layer
    return np.asarray(tip + step)
