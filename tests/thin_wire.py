"""Thin-wire integral method: a second way to the field, for tests only.

It shares nothing with the solver but the data classes. Each piece of metal becomes short
segments with a constant current along their axes; the potential half-way along the face of
each segment is that of its group. The soil enters through the image series of a point
source in two layers (G. F. Tagg, Earth Resistances, 1964; E. D. Sunde, Earth Conduction
Effects in Transmission Systems, 1949; both from memory). Depths count down.
"""

import itertools
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ohmscape.solver.model import Conductors, Soil

_smallest_image = 1e-5  # strength at which the series of images ends
_near = 6.0  # lengths of a segment; beyond, it is a point (error below 0.23 % of the pair)
_block = 250  # field points at once, to bound the memory


def image_series(soil: Soil, *, source: int, field: int) -> list[tuple[float, int, float]]:
    """Images of a point source in two layers, for layer numbers of source and field.

    Each is (strength [Ω·m], sign, shift [m]): a source at depth d has an image of that
    strength at depth sign × d + shift, as if in soil of 1 Ω·m without a surface.
    """
    upper, lower = (*soil.resistivity, soil.resistivity[-1])[:2]
    if len(soil.resistivity) == 1:
        return [(upper, 1, 0.0), (upper, -1, 0.0)]
    h = soil.thickness[0]
    K = (lower - upper) / (lower + upper)
    powers = [1.0]
    while abs(powers[-1] * K) >= _smallest_image:
        powers.append(powers[-1] * K)
    series = []
    for n, power in enumerate(powers):
        shift = 2 * n * h
        if (source, field) == (0, 0):
            both_ways = (-shift, shift) if n else (0.0,)
            series += [(upper * power, sign, c) for sign in (1, -1) for c in both_ways]
        elif (source, field) == (0, 1):
            series += [(upper * (1 + K) * power, sign, -shift) for sign in (1, -1)]
        elif (source, field) == (1, 0):
            series += [(lower * (1 - K) * power, sign, sign * shift) for sign in (1, -1)]
        else:
            series.append((lower * (1 - K**2) * power, -1, -shift))
    if (source, field) == (1, 1):
        series += [(lower, 1, 0.0), (-lower * K, -1, 2 * h)]
    return series


@dataclass(frozen=True)
class Segments:
    """Segments of all pieces; z up. Arrays of shape (n, 3) and (n,)."""

    start: np.ndarray
    end: np.ndarray
    face: np.ndarray  # radius of metal or sheath [m]
    series: np.ndarray  # resistance between metal and face [Ω]
    piece: np.ndarray

    @property
    def middle(self) -> np.ndarray:
        return 0.5 * (self.start + self.end)

    @property
    def length(self) -> np.ndarray:
        return np.linalg.norm(self.end - self.start, axis=1)


def segments_of(conductors: Conductors, *, soil: Soil, longest: float) -> Segments:
    """Segments of at most `longest`, split at the layer planes, finer at the ends of rods."""
    shares, pieces = [], []
    for k, (a, b) in enumerate(zip(conductors.start, conductors.end, strict=True)):
        length = np.linalg.norm(b - a)
        cuts = [0.0, 1.0]
        if a[2] != b[2]:
            crossing = (-soil.interface_depth - a[2]) / (b[2] - a[2])
            cuts = [0.0, *np.sort(crossing[(crossing > 0) & (crossing < 1)]), 1.0]
        for low, high in itertools.pairwise(cuts):
            part = (high - low) * length
            count = max(2, int(np.ceil(part / longest)))
            at = np.linspace(0.0, 1.0, count + 1)
            if a[2] != b[2]:
                # Six to twelve, as many as keep the shortest, at the ends, three radii long.
                face = conductors.sheath_radius[k]
                count = max(count, 6, int(min(12, np.pi * np.sqrt(part / face / 12))))
                at = 0.5 * (1 - np.cos(np.pi * np.arange(count + 1) / count))
            at = low + (high - low) * at
            shares += list(itertools.pairwise(at))
            pieces += [k] * count
    share, piece = np.array(shares), np.array(pieces)
    start = conductors.start[piece]
    whole = conductors.end[piece] - start
    metal, face = conductors.radius, conductors.sheath_radius
    # Film and sheath, in ohms times metres of length: two resistances in the current's way.
    per_length = conductors.contact / metal + conductors.sheath_resistivity * np.log(
        face / metal
    )
    length = np.linalg.norm(whole, axis=1) * (share[:, 1] - share[:, 0])
    return Segments(
        start=start + share[:, :1] * whole,
        end=start + share[:, 1:] * whole,
        face=face[piece],
        series=per_length[piece] / (2 * np.pi * length),
        piece=piece,
    )


def mean_inverse_distance(points, *, start, end, offset):
    """Mean of 1/distance over each segment, shape (points, segments). [1/m]

    `offset` keeps each point that far off an axis it stands on.
    """
    middle, whole = 0.5 * (start + end), end - start
    length = np.linalg.norm(whole, axis=1)
    square = np.repeat(offset[:, None] ** 2, len(start), axis=1)
    for axis in range(3):
        gap = points[:, None, axis] - middle[None, :, axis]
        gap *= gap
        square += gap
    i, j = np.nonzero(square < (_near * length) ** 2)
    np.sqrt(square, out=square)
    np.reciprocal(square, out=square)
    to_start = np.sqrt(((points[i] - start[j]) ** 2).sum(axis=1) + offset[i] ** 2)
    to_end = np.sqrt(((points[i] - end[j]) ** 2).sum(axis=1) + offset[i] ** 2)
    both, span = to_start + to_end, length[j]
    square[i, j] = np.log((both + span) / (both - span)) / span
    return square


@dataclass(frozen=True)
class ThinWire:
    """Groups of conductors in uniform or two-layer soil."""

    conductors: Conductors
    soil: Soil
    longest: float = 0.7

    @cached_property
    def segments(self) -> Segments:
        return segments_of(self.conductors, soil=self.soil, longest=self.longest)

    @cached_property
    def member(self) -> np.ndarray:
        """1 where a segment belongs to a group, shape (segments, groups)."""
        group = self.conductors.group[self.segments.piece]
        return np.eye(len(self.conductors.group_names))[group]

    def potential_matrix(self, points, *, offset=0.0) -> np.ndarray:
        """Potential at each point for 1 A from each segment, shape (points, segments). [Ω]"""
        s = self.segments
        offset = np.broadcast_to(offset, len(points))
        source_layer = self.soil.layer_at(-s.middle[:, 2])
        field_layer = self.soil.layer_at(-points[:, 2])
        matrix = np.zeros((len(points), len(s.face)))
        for source, field in np.ndindex(2, 2):
            columns = np.flatnonzero(source_layer == source)
            everything = np.flatnonzero(field_layer == field)
            if not (columns.size and everything.size):
                continue
            images = image_series(self.soil, source=source, field=field)
            for rows in np.array_split(everything, len(everything) // _block + 1):
                total = np.zeros((len(rows), len(columns)))
                for strength, sign, shift in images:
                    # Depth is -z: the image's z is sign × z - shift.
                    mirror, down = np.array([1, 1, sign]), np.array([0, 0, shift])
                    total += strength * mean_inverse_distance(
                        points[rows],
                        start=s.start[columns] * mirror - down,
                        end=s.end[columns] * mirror - down,
                        offset=offset[rows],
                    )
                matrix[np.ix_(rows, columns)] = total / (4 * np.pi)
        return matrix

    @cached_property
    def unit_current(self) -> np.ndarray:
        """Current of each segment for 1 V on one group, shape (segments, groups). [S]"""
        s = self.segments
        matrix = self.potential_matrix(s.middle, offset=s.face)
        matrix[np.diag_indices_from(matrix)] += s.series
        return np.linalg.solve(matrix, self.member)

    @cached_property
    def resistance(self) -> np.ndarray:
        """Resistance matrix of the groups; [g, g] is that of g, the others floating. [Ω]"""
        return np.linalg.inv(self.member.T @ self.unit_current)

    def group_voltage(self, drives) -> np.ndarray:
        """Voltage of each group under drives: voltage, current or floating. [V]"""
        held = np.array([drive.kind == "voltage" for drive in drives])
        # A floating group is driven by no current.
        value = np.array([0.0 if d.kind == "floating" else d.value for d in drives])
        system = np.where(held[:, None], self.resistance, np.eye(len(drives)))
        current = np.linalg.solve(system, value)
        return self.resistance @ current

    def surface_potential(self, places, *, voltage) -> np.ndarray:
        """Potential of surface places, shape (n, 2); on metal, that of the metal. [V]"""
        points = np.column_stack([places, np.zeros(len(places))])
        value = self.potential_matrix(points) @ (self.unit_current @ voltage)
        c = self.conductors
        for top in np.flatnonzero(c.start[:, 2] == 0):
            on_metal = np.linalg.norm(points - c.start[top], axis=1) <= c.radius[top]
            value[on_metal] = voltage[c.group[top]]
        return value
