"""Posts of fences and rails on ballast as straight pieces, and what joins them above ground."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ...solver.errors import CaseError
from ...solver.model import Floats, Integers
from .pieces import Pieces, elevated
from .schema import Part
from .schema_fences import Fence, Rails

_here = 1e-6  # along a fence [m]
_sharpest = 2.0  # mitre of two rails at a corner of 60°, over half their gauge


@dataclass(frozen=True)
class Posts:
    """Where posts stand, and which of them are joined.

    Attributes
    ----------
    place : ndarray of float, shape (n, 2)
        In the order of the fence, each once. [m]
    spans : ndarray of int, shape (m, 2)
        Posts of each span that is joined.
    """

    place: Floats
    spans: Integers


def fence_pieces(part: Fence) -> Pieces:
    """One vertical piece for each post, with what joins them.

    `CaseError` if gates or breaks do not fit the fence.
    """
    posts = posts_of(part)
    top = elevated(posts.place, depth=0.0)
    ends = top[posts.spans]
    return Pieces(start=top, end=top - [0.0, 0.0, part.footing], rod=True, raised=ends)


def rails_pieces(part: Rails) -> Pieces:
    """Both rails cut at their corners and cross bonds, with these."""
    run, passed = _measured(part.points, closed=False)
    total = float(passed[-1])
    parts = 1 if part.bonded_every is None else int(np.ceil(total / part.bonded_every - 1e-9))
    bonds = np.linspace(0.0, total, parts + 1)
    marks = _distinct(np.concatenate([passed, bonds]))
    middle, aside = _placed(run, passed, marks)
    if np.linalg.norm(aside, axis=1).max() > _sharpest:
        msg = "points: the rails turn back on themselves; give the corners of a wider turn"
        raise CaseError(msg)
    left, right = (
        elevated(middle + sign * 0.5 * part.gauge * aside, depth=part.depth) for sign in (1, -1)
    )
    bonded = np.abs(marks[:, None] - bonds).min(axis=1) <= _here
    return Pieces(
        start=np.concatenate([left[:-1], right[:-1]]),
        end=np.concatenate([left[1:], right[1:]]),
        raised=np.stack([left, right], axis=1)[bonded],
    )


def film_of(part: Part) -> float:
    """Film between the metal of a part and the soil, of rails that of their leakage. [Ω·m²]"""
    return part.film if isinstance(part, Rails) else part.contact_resistivity


def posts_of(part: Fence) -> Posts:
    """Posts of a fence; `CaseError` if gates or breaks do not fit it."""
    run, passed = _measured(part.points, closed=part.closed)
    total = float(passed[-1])
    gates = sorted((gate.at, gate.at + gate.width, gate.bonded) for gate in part.gates)
    _require_gates(gates, passed)
    marks = _distinct(np.concatenate([passed, *[gate[:2] for gate in gates]]))
    at, joined, opening = [0.0], [], []
    for begin, end in pairwise(marks.tolist()):
        own = [gate for gate in gates if abs(gate[0] - begin) <= _here]
        parts = 1 if own else int(np.ceil((end - begin) / part.spacing - 1e-9))
        at += np.linspace(begin, end, parts + 1)[1:].tolist()
        joined += [not own or own[0][2]] * parts
        opening += [bool(own)] * parts
    along = np.array(at)
    for distance in part.breaks:
        joined[_broken(distance, along, opening, total=total)] = False
    place, _ = _placed(run, passed, along)
    count = len(place) - part.closed
    ends = np.stack([np.arange(len(along) - 1), np.arange(1, len(along)) % count], axis=1)
    return Posts(place[:count], ends[np.array(joined)])


def _measured(
    points: tuple[tuple[float, float], ...], *, closed: bool
) -> tuple[Floats, Floats]:
    """Corners of a run, the first repeated at the end of a closed one, and how far each is."""
    run = np.array([*points, *points[:1]] if closed else points, dtype=float)
    sides = np.linalg.norm(np.diff(run, axis=0), axis=1)
    if not (sides > _here).all():
        msg = "points: two corners in a row are one place; leave one of them out"
        raise CaseError(msg)
    return run, np.concatenate([[0.0], np.cumsum(sides)])


def _placed(run: Floats, passed: Floats, at: Floats) -> tuple[Floats, Floats]:
    """Places at distances along a run, and the way to its left there, longer at corners."""
    side = np.clip(np.searchsorted(passed, at + _here, side="right") - 1, 0, len(run) - 2)
    before = np.clip(np.searchsorted(passed, at - _here, side="right") - 1, 0, len(run) - 2)
    ways = np.diff(run, axis=0) / np.diff(passed)[:, None]
    left = np.column_stack([-ways[:, 1], ways[:, 0]])
    share = (at - passed[side])[:, None]
    both = left[side] + left[before]
    # A mitre: as far from both sides as the line between is.
    aside = 2.0 * both / np.maximum(np.einsum("ni,ni->n", both, both), 1e-9)[:, None]
    return run[side] + share * ways[side], aside


def _distinct(marks: Floats) -> Floats:
    """Distances in order, each once."""
    ordered = np.sort(marks)
    return ordered[np.diff(ordered, prepend=-1.0) > _here]


def _require_gates(gates: list[tuple[float, float, bool]], corners: Floats) -> None:
    """`CaseError` unless gates lie in the fence, one after the other, none round a corner."""
    total = float(corners[-1])
    for begin, end, _ in gates:
        if end > total + _here:
            msg = f"gates: one ends {end:g} m along the fence, which is {total:g} m long"
            raise CaseError(msg)
        inside = corners[(corners > begin + _here) & (corners < end - _here)]
        if len(inside):
            msg = (
                f"gates: the one at {begin:g} m goes round the corner at {inside[0]:g} m; give "
                "gates between two corners"
            )
            raise CaseError(msg)
    for (_, end, _), (begin, _, _) in pairwise(gates):
        if begin < end - _here:
            msg = f"gates: one begins at {begin:g} m, where another goes on to {end:g} m"
            raise CaseError(msg)


def _broken(distance: float, at: Floats, opening: list[bool], *, total: float) -> int:
    """Span that a break is in; `CaseError` if it is in none, at a post or in a gate."""
    if distance >= total:
        msg = f"breaks: {distance:g} m is not along the fence, which is {total:g} m long"
        raise CaseError(msg)
    if np.abs(at - distance).min() <= _here:
        msg = f"breaks: at {distance:g} m there is a post; give a place between two posts"
        raise CaseError(msg)
    span = int(np.searchsorted(at, distance)) - 1
    if opening[span]:
        msg = f"breaks: {distance:g} m is in a gate; say 'bonded: false' of that"
        raise CaseError(msg)
    return span
