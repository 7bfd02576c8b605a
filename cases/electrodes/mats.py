"""Reinforcement as straight pieces: bars both ways in an outline, in one level or two."""

from math import floor

import numpy as np

from ...solver.errors import CaseError
from ...solver.model import Floats
from ..reading.polygons import clipped_line
from .grids import local_outline
from .pieces import Pieces, elevated, rotated
from .schema import Mat

_slack = 1e-9  # of the size: bars that fit to round-off fit, and are on the rim
_hair = 1e-7  # of the size: so far to both sides bars are looked for
_shortest = 0.5  # bar, in spacings


def bars_of(part: Mat) -> tuple[int, int]:
    """Number of bars at different x, and at different y, in the rectangle round a mat."""
    nx, ny = (
        floor(size / part.spacing + _slack) + 1
        for size in np.ptp(local_outline(part)[0], axis=0)
    )
    return nx, ny


def mat_pieces(part: Mat) -> Pieces:
    """Whole bars of a mat, not yet split where they cross, and its ties.

    `CaseError` if no bar finds room.
    """
    outline, origin = local_outline(part)
    places = _places(part, outline)
    bars = [
        bar
        for axis in (0, 1)
        for at in places[1 - axis]
        for bar in _bars(outline, axis=axis, at=float(at), shortest=_shortest * part.spacing)
    ]
    if not bars:
        wide, tall = np.ptp(outline, axis=0)
        msg = (
            f"no bar finds room at a spacing of {part.spacing:g} m in {wide:.4g} x {tall:.4g} "
            "m; give a smaller spacing"
        )
        raise CaseError(msg)

    def place(plan: Floats, depth: float) -> Floats:
        return elevated(rotated(plan, angle=part.rotation) + origin, depth=depth)

    ends = np.array(bars)
    start = [place(ends[:, 0], depth) for depth in part.depths]
    end = [place(ends[:, 1], depth) for depth in part.depths]
    if part.tie_every is not None:
        nodes = _crossings(places, outline, every=part.tie_every, bars=ends)
        start.append(place(nodes, part.depths[0]))
        end.append(place(nodes, part.depths[1]))
    return Pieces(start=np.vstack(start), end=np.vstack(end))


def _places(part: Mat, outline: Floats) -> list[Floats]:
    """Where bars stand across x and y, even about the middle of the outline. [m]"""
    middle = 0.5 * (outline.min(axis=0) + outline.max(axis=0))
    return [
        at + part.spacing * (np.arange(count) - (count - 1) / 2)
        for at, count in zip(middle, bars_of(part), strict=True)
    ]


def _bars(
    outline: Floats, *, axis: int, at: float, shortest: float
) -> list[tuple[Floats, Floats]]:
    """Ends of the bars along an axis at a place across it, those along sides too."""
    hair = _hair * float(np.ptp(outline, axis=0).max())
    both = [clipped_line(outline, axis=axis, at=at + off) for off in (-hair, hair)]
    found: list[tuple[Floats, Floats]] = []
    reached = -np.inf
    for low, high in sorted(np.vstack(both).tolist()):
        if low <= reached:  # the same bar, or where it goes on beside a side
            found[-1][1][axis] = reached = max(high, reached)
            continue
        ends = np.full((2, 2), at)
        ends[:, axis], reached = (low, high), high
        found.append((ends[0], ends[1]))
    return [(a, b) for a, b in found if b[axis] - a[axis] >= shortest]


def _crossings(places: list[Floats], outline: Floats, *, every: int, bars: Floats) -> Floats:
    """Every so many-th crossing both ways that has bars of both directions, shape (n, 2)."""
    lattice = np.stack(
        np.meshgrid(*(at[::every] for at in places), indexing="ij"), axis=-1
    ).reshape(-1, 2)
    near = _slack * float(np.ptp(outline, axis=0).max()) + 10 * _hair
    held = np.zeros((2, len(lattice)), dtype=bool)
    for start, end in bars:
        axis = int(abs(end[1] - start[1]) > abs(end[0] - start[0]))
        on_it = np.abs(lattice[:, 1 - axis] - start[1 - axis]) <= near
        on_it &= (lattice[:, axis] >= start[axis] - near) & (
            lattice[:, axis] <= end[axis] + near
        )
        held[axis] |= on_it
    return np.asarray(lattice[held.all(axis=0)])
