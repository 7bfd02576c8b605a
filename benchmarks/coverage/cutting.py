"""Pieces of metal cut into panels: parts of tubes and rings of flat ends, dense at ends."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

# Sizes at an end in radii of the face, and their growth along the metal, of fineness 1.
_at_end = {"free": 0.03, "plane": 0.2, "joint": 1.0}
_growth = 0.4
_longest = 1.0 / 8.0  # of a stretch
_straight_on = np.cos(np.radians(35.0))
_same = 1e-6


@dataclass(frozen=True)
class Panels:
    """n panels; r and x are those of `rings`, x along the axis of the panel's line.

    Attributes
    ----------
    r0, x0, r1, x1 : ndarray of float, shape (n,)
        Ends in the half-plane of the axis. [m]
    start, end : ndarray of float, shape (n, 3)
        Piece of the axis that stands for the panel from afar. [m]
    face : ndarray of float, shape (n,)
        Radius of the face towards the soil. [m]
    line : ndarray of int, shape (n,)
        Panels with one number have one axis.
    vertical : ndarray of bool, shape (n,)
    series : ndarray of float, shape (n,)
        Film and shell between metal and face. [Ω]
    piece, group, layer, stretch : ndarray of int, shape (n,)
        Piece of metal, electrode, soil layer, run of neighbours along one piece (-1: end).
    next_piece, last_piece : ndarray of int, shape (n,)
        Piece that goes on from the end and the start of the panel's own piece round a gentle
        bend; -1 where there is none.
    start_of_piece, end_of_piece : ndarray of float, shape (n, 3)
        Ends of the panel's own piece. [m]
    """

    r0: np.ndarray
    x0: np.ndarray
    r1: np.ndarray
    x1: np.ndarray
    start: np.ndarray
    end: np.ndarray
    face: np.ndarray
    line: np.ndarray
    vertical: np.ndarray
    series: np.ndarray
    piece: np.ndarray
    group: np.ndarray
    layer: np.ndarray
    stretch: np.ndarray
    next_piece: np.ndarray
    last_piece: np.ndarray
    start_of_piece: np.ndarray
    end_of_piece: np.ndarray

    def __len__(self):
        return len(self.face)


@dataclass(frozen=True)
class _Piece:
    """One straight piece of metal with its coating, and what its ends meet."""

    start: np.ndarray
    end: np.ndarray
    kinds: tuple[str, str]  # see `_kinds`
    origin: np.ndarray  # of its line, and which way x runs along that
    direction: np.ndarray
    film: float  # of sides, times their length [Ω·m]
    end_film: float  # of flat ends, times their area [Ω·m²]
    common: dict  # what all its panels share

    @property
    def length(self):
        return float(np.linalg.norm(self.end - self.start))

    @property
    def axis(self):
        return (self.end - self.start) / self.length

    @property
    def face(self):
        return self.common["face"]


def cut(conductors, *, ground, fineness):
    """Panels of all metal in layers of a `LayeredGround`."""
    rows = []
    for piece in _pieces(conductors):
        rows += _sides(piece, ground=ground, fineness=fineness, stretch=len(rows))
        for tip, inward, kind in (
            (piece.start, piece.axis, piece.kinds[0]),
            (piece.end, -piece.axis, piece.kinds[1]),
        ):
            if kind == "free":
                rows += _end(piece, tip, inward=inward, ground=ground, fineness=fineness)
    return Panels(**{key: np.array([row[key] for row in rows]) for key in rows[0]})


def _pieces(conductors):
    """All pieces of metal, one by one."""
    starts, ends = _covered(conductors)
    lines = _lines(starts, ends)
    for piece, (start, end) in enumerate(zip(starts, ends, strict=True)):
        number, origin, direction = lines[piece]
        radius, face = (
            float(value[piece]) for value in (conductors.radius, conductors.sheath_radius)
        )
        contact = float(conductors.contact[piece])
        coat = float(conductors.sheath_resistivity[piece]) if face > radius else 0.0
        onward = _onward(piece, starts=starts, ends=ends)
        yield _Piece(
            start=start,
            end=end,
            kinds=_kinds(piece, starts=starts, ends=ends),
            origin=origin,
            direction=direction,
            film=(contact / radius + coat * np.log(face / radius)) / (2 * np.pi),
            end_film=contact + coat * (face - radius),
            common={
                "face": face,
                "line": number,
                "vertical": abs(end[2] - start[2]) > (1 - 1e-12) * np.linalg.norm(end - start),
                "piece": piece,
                "group": int(conductors.group[piece]),
                "last_piece": onward[0],
                "next_piece": onward[1],
                "start_of_piece": start,
                "end_of_piece": end,
            },
        )


def _sides(piece, *, ground, fineness, stretch):
    """Tubes along one piece, cut at the planes; stretches are numbered from `stretch`."""
    start, axis, length = piece.start, piece.axis, piece.length
    planes = -np.cumsum(ground.thickness)
    crossing = [] if axis[2] == 0 else ((planes - start[2]) / axis[2]).tolist()
    cuts = sorted(value for value in crossing if _same < value < length - _same)
    kinds = [piece.kinds[0], *["plane"] * len(cuts), piece.kinds[1]]
    rows = []
    for k, (first, last) in enumerate(pairwise([0.0, *cuts, length])):
        breaks = first + graded(
            last - first, kinds=kinds[k : k + 2], face=piece.face, fineness=fineness
        )
        for low, high in pairwise(breaks):
            a, b = start + low * axis, start + high * axis
            place = {"start": a, "end": b, "r0": piece.face, "r1": piece.face}
            place["x0"], place["x1"] = (
                (point - piece.origin) @ piece.direction for point in (a, b)
            )
            layer = int(ground.layer_at(-0.5 * (a[2] + b[2])))
            series = piece.film / (high - low)
            rows.append(
                piece.common
                | place
                | {"layer": layer, "series": series, "stretch": stretch + k}
            )
    return rows


def _end(piece, tip, *, inward, ground, fineness):
    """Rings of a flat end. It lies in the soil ahead: in a plane, in the layer beyond it."""
    layer = int(ground.layer_at(-(tip - 1e-9 * inward)[2]))
    x = float((tip - piece.origin) @ piece.direction)
    inside = tip + 1e-3 * piece.face * inward
    rims = piece.face - graded(
        piece.face, kinds=("free", "smooth"), face=piece.face, fineness=fineness
    )
    rows = []
    for outer, inner in pairwise(np.maximum(rims, 0.0)):
        series = piece.end_film / (np.pi * (outer**2 - inner**2))
        place = {"start": tip, "end": inside, "r0": inner, "r1": outer, "x0": x, "x1": x}
        rows.append(piece.common | place | {"layer": layer, "series": series, "stretch": -1})
    return rows


def _covered(conductors):
    """Ends of all pieces, free ones moved on by the coating over them."""
    starts, ends = conductors.start.copy(), conductors.end.copy()
    for piece in range(len(starts)):
        kind = _kinds(piece, starts=conductors.start, ends=conductors.end)
        axis = conductors.direction[piece] * conductors.sheath_cover[piece]
        if kind[0] == "free":
            starts[piece] -= axis
        if kind[1] == "free":
            ends[piece] += axis
    return starts, ends


def _kinds(piece, *, starts, ends):
    """What each end of a piece meets: nothing, a joint, its own continuation, the surface."""
    found = []
    axis = ends[piece] - starts[piece]
    axis = axis / np.linalg.norm(axis)
    for tip, outward in ((starts[piece], -axis), (ends[piece], axis)):
        meeting = []
        for others, beyond in ((starts, ends), (ends, starts)):
            touching = np.flatnonzero(np.linalg.norm(others - tip, axis=1) < _same)
            for other in touching[touching != piece]:
                away = beyond[other] - others[other]
                meeting.append(away @ outward / np.linalg.norm(away))
        if not meeting:
            at_surface = tip[2] > -_same
            upright = abs(axis[2]) > 1 - 1e-9
            found.append(("smooth" if upright else "joint") if at_surface else "free")
        else:
            onward = len(meeting) == 1 and meeting[0] > _straight_on
            found.append("smooth" if onward else "joint")
    return tuple(found)


def _onward(piece, *, starts, ends):
    """Pieces that go on from the start and the end of a piece round a gentle bend, or -1."""
    found = []
    axis = ends[piece] - starts[piece]
    for tip, outward in ((starts[piece], -axis), (ends[piece], axis)):
        met = [
            (int(other), away[other] - here[other])
            for here, away in ((starts, ends), (ends, starts))
            for other in np.flatnonzero(np.linalg.norm(here - tip, axis=1) < _same)
            if other != piece
        ]
        lone = len(met) == 1
        if lone:
            cosine = met[0][1] @ outward / np.linalg.norm(met[0][1]) / np.linalg.norm(outward)
        found.append(met[0][0] if lone and _straight_on < cosine < 1 - 1e-9 else -1)
    return found


def _lines(starts, ends):
    """Number, origin and direction of the line that each piece lies on."""
    known, found = {}, []
    for start, end in zip(starts, ends, strict=True):
        direction = (end - start) / np.linalg.norm(end - start)
        main = int(np.argmax(np.abs(direction) > 1e-6))
        direction = direction * np.sign(direction[main])
        foot = start - (start @ direction) * direction
        key = tuple(np.round([*direction, *foot], 5).tolist())
        if key not in known:
            known[key] = (len(known), foot, direction)
        found.append(known[key])
    return found


def graded(length, *, kinds, face, fineness):
    """Ends of panels along a stretch, shape (count + 1,). [m]"""
    places = np.linspace(0, 1, 2001)[1:-1]
    places = length * 0.5 * (1 - np.cos(np.pi * 0.5 * (1 - np.cos(np.pi * places))))
    places = np.concatenate([[0.0], places, [length]])
    size = np.full(len(places), _longest * length)
    for kind, away in zip(kinds, (places, length - places), strict=True):
        if kind in _at_end:
            size = np.minimum(size, _at_end[kind] * face + _growth * away)
    size = np.minimum(size, 0.5 * length) / fineness
    rate = 1 / size
    steps = 0.5 * (rate[1:] + rate[:-1]) * np.diff(places)
    total = np.concatenate([[0.0], np.cumsum(steps)])
    count = max(2, int(np.ceil(total[-1])))
    return np.interp(np.linspace(0, total[-1], count + 1), total, places)
