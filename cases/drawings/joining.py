"""Drawn lines made metal that meets: doubles dropped, ends joined that nearly meet."""

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from scipy.spatial import cKDTree

from ...solver.model import Flags, Floats, Integers
from ..drawn_plan import Remark, RemarkKind
from ..electrodes.proximity import approaches, shared_stretch

_same = 1e-7  # m, of places: round-off of a drawing's own digits


@dataclass
class Lines:
    """Straight pieces of drawn lines, in place.

    Attributes
    ----------
    start, end : ndarray of float, shape (n, 3)
        [m]
    owner : ndarray of int, shape (n,)
        Which drawn line each belongs to.
    names : list of str
        What each drawn line is called in messages.
    told : list of Remark
        What was done to them.
    """

    start: Floats
    end: Floats
    owner: Integers
    names: list[str]
    told: list[Remark] = field(default_factory=list)

    def tell(self, kind: RemarkKind, words: str, at: Floats) -> None:
        """Keep what was done at a place."""
        x, y = at[:2]
        self.told.append(Remark(kind, f"{words} at ({x:.3f}, {y:.3f}) m"))

    def keep(self, kept: Flags) -> None:
        """Drop pieces."""
        self.start, self.end, self.owner = self.start[kept], self.end[kept], self.owner[kept]

    def name(self, piece: int | np.integer[Any]) -> str:
        """What the drawn line of a piece is called."""
        return self.names[int(self.owner[piece])]


def tidied(lines: Lines, *, within: float) -> None:
    """Make drawn lines metal: no piece without length, none twice, ends joined.

    Parameters
    ----------
    lines : Lines
        Changed in place, with all that was done to them.
    within : float
        Ends of a drawn line as near as this to another line are put onto it. [m]
    """
    _without_length(lines)
    if not len(lines.start):
        return
    _without_doubles(lines)
    _without_overlap(lines)
    _ends_together(lines, within)
    _ends_on_lines(lines, within)
    _without_length(lines)
    _crossings_told(lines)


def _without_length(lines: Lines) -> None:
    length = np.linalg.norm(lines.end - lines.start, axis=1)
    for piece in np.flatnonzero(length <= _same):
        lines.tell(
            "left out", f"{lines.name(piece)}: a piece without length,", lines.start[piece]
        )
    lines.keep(length > _same)


def _without_doubles(lines: Lines) -> None:
    """Drop pieces that have both ends of one before them."""
    place = np.concatenate([lines.start, lines.end])
    number = _numbers(place)
    pairs = np.sort(number.reshape(2, -1).T, axis=1)
    _, first, of = np.unique(pairs, axis=0, return_index=True, return_inverse=True)
    kept = first[of.ravel()] == np.arange(len(pairs))
    for piece in np.flatnonzero(~kept):
        other = int(first[of.ravel()[piece]])
        lines.tell(
            "taken once",
            f"{lines.name(piece)}: the same as {lines.name(other)}",
            lines.start[piece],
        )
    lines.keep(kept)


def _numbers(place: Floats) -> Integers:
    """Number of the place of each point; those that round-off sets apart have one."""
    tree = cKDTree(place)
    number = np.arange(len(place))
    pairs = tree.query_pairs(_same, output_type="ndarray")
    pairs.sort(axis=1)
    for low, high in pairs[np.lexsort((pairs[:, 1], pairs[:, 0]))]:
        number[high] = number[low]
    return number


def _without_overlap(lines: Lines) -> None:
    """Cut pieces back where they run on another: the shorter of the two gives way."""
    reach = np.full(len(lines.start), _same)
    near = approaches(lines.start, end=lines.end, reach=reach)
    shared, _ = shared_stretch(
        lines.start,
        end=lines.end,
        first=near.first,
        second=near.second,
        within=np.full(len(near.first), 2 * _same),
    )
    length = np.linalg.norm(lines.end - lines.start, axis=1)
    gone = np.zeros(len(length), dtype=bool)
    for pair in np.flatnonzero(shared > 10 * _same):
        i, j = int(near.first[pair]), int(near.second[pair])
        short, long = (i, j) if length[i] < length[j] else (j, i)
        if gone[short] or gone[long]:
            continue
        axis = (lines.end[long] - lines.start[long]) / length[long]
        ends = np.stack([lines.start[short], lines.end[short]]) - lines.start[long]
        along = ends @ axis
        if np.linalg.norm(ends - along[:, None] * axis, axis=1).max() > 10 * _same:
            continue  # as near only where they meet, at a small angle
        inside = (along >= -_same) & (along <= length[long] + _same)
        lines.tell(
            "taken once",
            f"{lines.name(short)}: runs on {lines.name(long)} for {shared[pair]:.3f} m",
            lines.start[short],
        )
        if inside.all():
            gone[short] = True
        else:  # one end stands out: keep what is beyond the end of the longer one
            edge = lines.start[long] if along.min() < 0 else lines.end[long]
            (lines.start if inside[0] else lines.end)[short] = edge
    lines.keep(~gone)


def _free_ends(lines: Lines) -> tuple[Integers, Integers, Floats]:
    """Piece, side (0 start, 1 end) and place of the two ends of each drawn line."""
    count = len(lines.owner)
    number = _numbers(np.concatenate([lines.start, lines.end]))
    met = np.bincount(number, minlength=2 * count)
    ends = np.flatnonzero(met[number] == 1)
    return ends % count, ends // count, np.concatenate([lines.start, lines.end])[ends]


def _ends_together(lines: Lines, within: float) -> None:
    """Move free ends onto ends of other lines that are as near."""
    piece, side, place = _free_ends(lines)
    every = np.concatenate([lines.start, lines.end])
    owner = np.tile(lines.owner, 2)
    tree = cKDTree(every)
    fixed: set[int] = set()
    for one in range(len(piece)):
        if one in fixed:
            continue
        near = np.array(tree.query_ball_point(place[one], within), dtype=np.int64)
        near = near[owner[near] != lines.owner[piece[one]]]
        gap = np.linalg.norm(every[near] - place[one], axis=1)
        near, gap = near[gap > _same], gap[gap > _same]
        if not len(near):
            continue
        target = int(near[gap.argmin()])
        lines.tell(
            "joined",
            f"{lines.name(int(piece[one]))}: its end with "
            f"{lines.names[int(owner[target])]}, {gap.min() * 1e3:.3g} mm off,",
            place[one],
        )
        (lines.start, lines.end)[side[one]][piece[one]] = every[target]
        fixed |= set(np.flatnonzero(piece == target % len(lines.owner)).tolist())


def _ends_on_lines(lines: Lines, within: float) -> None:
    """Move free ends onto other lines that pass as near, short of it or beyond."""
    near = approaches(lines.start, end=lines.end, reach=np.full(len(lines.start), 0.5 * within))
    piece, side, place = _free_ends(lines)
    nearest: dict[int, tuple[float, int, Floats]] = {}
    by_piece: dict[int, list[int]] = {}
    for one, two in zip(near.first.tolist(), near.second.tolist(), strict=True):
        by_piece.setdefault(one, []).append(two)
        by_piece.setdefault(two, []).append(one)
    for end, (mine, at) in enumerate(zip(piece.tolist(), place, strict=True)):
        for other in by_piece.get(mine, ()):
            if lines.owner[other] == lines.owner[mine]:
                continue
            foot = _foot(at, lines.start[other], lines.end[other])
            gap = float(np.linalg.norm(foot - at))
            if gap <= within and gap < nearest.get(end, (np.inf, 0, at))[0]:
                nearest[end] = (gap, other, foot)
    for end, (gap, other, foot) in nearest.items():
        if gap <= _same:
            continue
        mine = int(piece[end])
        lines.tell(
            "joined",
            f"{lines.name(mine)}: its end with {lines.name(other)}, {gap * 1e3:.3g} mm off,",
            place[end],
        )
        (lines.start, lines.end)[side[end]][mine] = foot


def _foot(at: Floats, start: Floats, end: Floats) -> Floats:
    """Place on a segment that is nearest to a place."""
    step = end - start
    return np.asarray(start + np.clip((at - start) @ step / (step @ step), 0.0, 1.0) * step)


def _crossings_told(lines: Lines) -> None:
    """Tell of lines that cross with no corner of either there: metal at one depth touches."""
    near = approaches(lines.start, end=lines.end, reach=np.full(len(lines.start), _same))
    length = np.linalg.norm(lines.end - lines.start, axis=1)
    inner = (
        (near.along_first > _same)
        & (near.along_first < length[near.first] - _same)
        & (near.along_second > _same)
        & (near.along_second < length[near.second] - _same)
        & (lines.owner[near.first] != lines.owner[near.second])
    )
    for pair in np.flatnonzero(inner):
        one, two = int(near.first[pair]), int(near.second[pair])
        share = near.along_first[pair] / length[one]
        at = lines.start[one] + share * (lines.end[one] - lines.start[one])
        lines.tell("crossing", f"{lines.name(one)} and {lines.name(two)}: taken as joined", at)
