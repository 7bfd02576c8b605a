"""Line elements: the pieces of metal cut into lengths of constant leakage density."""

from dataclasses import dataclass, fields, replace

import numpy as np

from ..model import Conductors, Flags, Floats, Integers, Soil
from ..patches import sizes
from .break_points import Marks, breaks_of_pieces, flat_ends, free_ends

# In radii. The mesh feels metal as its axis, from which a face differs by (a/r)² at a distance:
# clouds reach to where that is little.
_least_spread = 2.5
_joined = 2.0
# Length of the line that stands for a flat end, in radii: hardly beyond the end itself, from
# where its current comes, but in the soil that it meets.
_flat = 0.02
PATCH, WIRE, CYLINDER, DISC, MIDDLE, CORE = -1, 0, 1, 2, 3, 4


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
        Soil layer or body (as `Soil.material_at` has them), piece of `Conductors` and electrode
        group that each one belongs to.
    known_face : ndarray of int, shape (n,), or None
        `WIRE` where the near field knows only the axis; `CYLINDER`, `DISC`, `MIDDLE` or `CORE`
        where it knows the face. The last three are the flat end at `start`, with currents that
        crowd towards its rim, towards its middle and, of sheaths, before the metal in it; they
        are short lines just beyond it. `PATCH` of patches of plates.
        None where all are wires; `face` has them in either case.
    stretch : ndarray of int, shape (n,), or None
        Of `Stretches`, where metal is cut into these.
    apart : ndarray of float, shape (n,), or None
        Most that balls of source in its place may be apart, where that is less than their
        spread. [m]
    plate : ndarray of int, shape (n,), or None
        Plate that each is a patch of, -1 where it is of round metal.
    corners : ndarray of float, shape (n, 4, 3), or None
        Corners of each patch. [m]
    """

    start: Floats
    end: Floats
    radius: Floats
    spread: Floats
    series: Floats
    layer: Integers
    piece: Integers
    group: Integers
    known_face: Integers | None = None
    stretch: Integers | None = None
    apart: Floats | None = None
    plate: Integers | None = None
    corners: Floats | None = None

    def __len__(self) -> int:
        """Give the number of elements."""
        return len(self.start)

    @property
    def length(self) -> Floats:
        """Length of each element, of a flat end that of a side of its area, shape (n,). [m]"""
        along = np.linalg.norm(self.end - self.start, axis=1)
        return np.where(self.face < DISC, along, 0.5 * self.radius)

    @property
    def axis(self) -> Floats:
        """Unit vector from start to end of each element, shape (n, 3)."""
        along = self.end - self.start
        return along / np.linalg.norm(along, axis=1)[:, None]

    @property
    def middle(self) -> Floats:
        """Midpoint of each element, shape (n, 3). [m]"""
        return 0.5 * (self.start + self.end)

    @property
    def row(self) -> Integers:
        """What each shares a row of balls with: its piece, or stretch of one, shape (n,)."""
        return self.piece if self.stretch is None else self.stretch

    @property
    def face(self) -> Integers:
        """What the near field knows of each, shape (n,)."""
        if self.known_face is None:
            return np.full(len(self), WIRE)
        return self.known_face

    @property
    def flat(self) -> Flags:
        """Which are patches of plates, shape (n,)."""
        return np.asarray(self.face == PATCH)

    @property
    def extent(self) -> Floats:
        """Largest distance of two places of each element, shape (n,). [m]"""
        found = self.length
        if self.corners is not None:
            found = np.where(self.flat, sizes(self.corners), found)
        return found

    def of(self, chosen: Integers) -> "LineElements":
        """Some of the elements."""
        every = {field.name: getattr(self, field.name) for field in fields(self)}
        some = {name: each[chosen] for name, each in every.items() if each is not None}
        return replace(self, **some)

    def same_as(self, other: "LineElements") -> bool:
        """Whether others are these, number for number."""
        return all(
            np.array_equal(getattr(self, field.name), getattr(other, field.name))
            for field in fields(self)
        )

    def by_group(self, current: Floats) -> Floats:
        """Currents of the elements in k cases, (k, n), summed by group: (g, k). [A]"""
        count = int(self.group.max()) + 1
        member = (self.group == np.arange(count)[:, None]).astype(float)
        return member @ current.T

    def lines(self) -> tuple["LineElements", Integers]:
        """Lengths of metal that leak, and for each element the one that its current goes with.

        Those within two radii of a flat end are joined with it: current per length means
        little where most of it leaves through an edge.
        """
        line, side = np.arange(len(self)), self.face < DISC
        for tip in np.flatnonzero(self.face == DISC):
            own = np.flatnonzero(side & (self.piece == self.piece[tip]))
            gap = np.linalg.norm(self.middle[own] - self.start[tip], axis=1)
            last = own[gap.argmin()]
            reach = min(_joined * self.radius[tip], 0.5 * self.length[own].sum())
            joined = own[(gap < reach) & (self.layer[own] == self.layer[last])]
            flat = np.flatnonzero((self.start == self.start[tip]).all(axis=1) & ~side)
            line[joined] = line[flat] = joined.min(initial=last)
        first, line = np.unique(line, return_inverse=True)
        end = np.zeros(len(first), dtype=np.int64)
        np.maximum.at(end, line[side], np.flatnonzero(side))
        return replace(self.of(first), end=self.end[end]), line


def line_elements(
    conductors: Conductors,
    *,
    soil: Soil,
    element_size: Floats,
    spread: Floats,
    marks: Marks | None = None,
) -> LineElements:
    """Line elements of all pieces, cut at layer interfaces and finer towards free ends.

    Fill that goes on beyond a free end leaks as the metal does: elements go on to its end.

    Parameters
    ----------
    element_size : ndarray of float, shape (n,)
        Edge length of the mesh along each piece. [m]
    spread : ndarray of float, shape (n,)
        Standard deviation of the cloud of each piece; wider where the metal is thicker. [m]
    marks : Marks, optional
        Where elements have to be short besides.
    """
    outer, direction = conductors.sheath_radius, conductors.direction
    breaks = breaks_of_pieces(
        conductors, planes=-soil.interface_depth, element_size=element_size, marks=marks
    )
    flat_start, flat_end = flat_ends(conductors)
    sheathed = outer > conductors.radius
    covered = (free_ends(conductors)[1] | flat_end) & (conductors.sheath_cover > 0)
    starts, ends, pieces, faces = [], [], [], []
    for k, along in enumerate(breaks):
        corners = conductors.start[k] + along[:, None] * direction[k]
        if not covered[k]:
            corners[-1] = conductors.end[k]  # without round-off: joints and the surface
        lines = [
            (corners[:-1], corners[1:], CYLINDER if flat_start[k] or flat_end[k] else WIRE)
        ]
        for flat, tip, out in (
            (flat_start[k], corners[:1], -direction[k]),
            (flat_end[k], corners[-1:], direction[k]),
        ):
            if flat:
                beyond = _end_of_disc(tip, outward=out, radius=outer[k], soil=soil)
                lines.append((tip, beyond, DISC))
                # A film at the face makes the current even by itself.
                if sheathed[k] or conductors.contact[k] == 0:
                    lines.append((tip, beyond, MIDDLE))
                if sheathed[k]:  # through thin or poor fill it crowds before the metal
                    lines.append((tip, beyond, CORE))
        for start, end, face in lines:
            starts.append(start)
            ends.append(end)
            pieces.append(np.full(len(start), k))
            faces.append(np.full(len(start), face))
    piece = np.concatenate(pieces)
    start, end = np.concatenate(starts), np.concatenate(ends)
    film = conductors.contact / (2 * np.pi * conductors.radius)
    sheath = conductors.sheath_resistivity / (2 * np.pi) * np.log(outer / conductors.radius)
    known = np.concatenate(faces)
    series = (film + sheath)[piece]
    series /= np.where(known < DISC, 1.0, conductors.longer[piece])  # per length of the side
    return LineElements(
        start=start,
        end=end,
        radius=outer[piece],
        # A cloud narrower than the metal would make the short-range matrix indefinite.
        spread=np.maximum(np.asarray(spread)[piece], _least_spread * outer[piece]),
        series=series,
        layer=soil.material_at(0.5 * (start + end)),
        piece=piece,
        group=conductors.group[piece],
        known_face=known,
    )


def _end_of_disc(tip: Floats, *, outward: Floats, radius: float, soil: Soil) -> Floats:
    """Where the short line ends that stands for a flat end: beyond it, in the soil it meets."""
    step = _flat * radius * outward
    ahead = (np.append(-soil.interface_depth, 0.0) - tip[0, 2]) * np.sign(outward[2])
    if np.any((ahead > 1e-9) & (ahead < _flat * radius)):
        step = -step  # or its cloud would be of the next layer, or of the air
    return np.asarray(tip + step)
