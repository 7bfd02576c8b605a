"""Metal of a case that its drawing shows, and what was done to make it metal."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from scipy.spatial import cKDTree

from ...solver.errors import CaseError
from ...solver.model import Floats, Integers
from ..drawn_plan import Remark
from ..electrodes.pieces import Pieces
from ..electrodes.schema import DrawnConductors, DrawnRods
from .drawing import Drawing
from .entities import Entity, amounts
from .joining import Lines, tidied

_places = ("insert", "point", "circle")
_level = 1e-3  # m: heights that differ less are one


@dataclass(frozen=True)
class DrawnPart:
    """What the drawing gives for one part of an electrode.

    Attributes
    ----------
    pieces : Pieces
        Its metal.
    taken : tuple of Entity
        What of the drawing it is.
    told : tuple of Remark
        What was left out of what it selects, and what was joined.
    """

    pieces: Pieces
    taken: tuple[Entity, ...]
    told: tuple[Remark, ...]


def drawn_parts(
    drawing: Drawing, *, parts: Sequence[tuple[int, DrawnConductors | DrawnRods]]
) -> list[DrawnPart | CaseError]:
    """Metal of all drawn parts of a case, each with its group; joined within groups only.

    An error stands in the place of a part that cannot be built.
    """
    symbols = {
        name.lower()
        for _, part in parts
        if isinstance(part, DrawnRods)
        for name in part.blocks or ()
    }
    found: list[DrawnPart | CaseError | None] = [None] * len(parts)
    for group in sorted({group for group, _ in parts}):
        mine = [k for k, (other, _) in enumerate(parts) if other == group]
        for k, drawn in _of_group(drawing, mine, [part for _, part in parts], symbols):
            found[k] = drawn
    return [item for item in found if item is not None]


def _of_group(
    drawing: Drawing,
    numbers: list[int],
    parts: list[DrawnConductors | DrawnRods],
    symbols: set[str],
) -> list[tuple[int, DrawnPart | CaseError]]:
    found: list[tuple[int, DrawnPart | CaseError]] = []
    runs: list[tuple[int, Entity]] = []
    told: dict[int, list[Remark]] = {k: [] for k in numbers}
    for k in numbers:
        part = parts[k]
        if isinstance(part, DrawnRods):
            continue
        try:
            runs += [(k, one) for one in _runs(drawing, part, symbols, told[k])]
        except CaseError as error:
            found.append((k, error))
    lines = _lines_of([entity for _, entity in runs])
    tidied(lines, within=drawing.join_within)
    done = {k for k, _ in found}
    for k in numbers:
        part = parts[k]
        if k in done:
            continue
        try:
            if isinstance(part, DrawnRods):
                found.append((k, _rods(drawing, part, lines, told[k])))
            else:
                found.append((k, _conductors(k, runs, lines, told[k])))
        except CaseError as error:
            found.append((k, error))
    first = next((k for k, item in found if isinstance(item, DrawnPart)), None)
    return [
        (k, replace(item, told=(*item.told, *lines.told)))
        if k == first and isinstance(item, DrawnPart)
        else (k, item)
        for k, item in found
    ]


def _runs(
    drawing: Drawing, part: DrawnConductors, symbols: set[str], told: list[Remark]
) -> list[Entity]:
    """Lines that a part of conductors selects, at their depth."""
    drawing.require(part)
    selected = [one for one in drawing.selected(part) if one.block.lower() not in symbols]
    lines = [one for one in selected if one.is_line]
    told += _left_out([one for one in selected if not one.is_line and one.kind != "insert"])
    if not lines:
        msg = f"nothing of {drawing.file} that it selects is a line{_instead(selected)}"
        raise CaseError(msg)
    return [replace(one, points=_at_depth(one, part.depth, told)) for one in lines]


def _rods(drawing: Drawing, part: DrawnRods, lines: Lines, told: list[Remark]) -> DrawnPart:
    """Rods where a part selects places, on a conductor of the electrode that is as near."""
    drawing.require(part)
    selected = drawing.selected(part)
    whole = {one.handle for one in selected if one.kind == "insert"}
    places = [
        one
        for one in selected
        if one.kind in _places
        and len(one.points)
        # What stands in an inserted block is its picture.
        and (one.kind == "insert" or one.handle not in whole)
    ]
    told += _left_out(
        [one for one in selected if one not in places and one.handle not in whole]
    )
    if not places:
        msg = f"nothing of {drawing.file} that it selects is a block, point or circle"
        raise CaseError(msg + _instead(selected))
    centre = [
        replace(one, points=one.points.mean(axis=0)[None], kind=one.kind) for one in places
    ]
    top = np.concatenate([_at_depth(one, part.top_depth, told) for one in centre])
    within = drawing.join_within
    kept = _once(top, places, within=within, told=told)
    top = top[kept]
    for k, number in enumerate(kept):
        top[k] = _on_conductor(top[k], places[int(number)], lines, within=within, told=told)
    down = np.array([0.0, 0.0, -part.length])
    return DrawnPart(
        Pieces(start=top, end=top + down, radius=None, rod=True), tuple(places), tuple(told)
    )


def _once(top: Floats, places: list[Entity], *, within: float, told: list[Remark]) -> Integers:
    """Which rods to keep: of several in one place the first."""
    kept: list[int] = []
    known: set[int] = set()
    near: Any = cKDTree(top[:, :2]).query_ball_point(top[:, :2], within)
    for k, others in enumerate(near):
        before = [other for other in others if other in known]
        if before:
            words = f"{places[k].named}: in the place of {places[before[0]].named}"
            told.append(Remark("taken once", words))
        else:
            kept.append(k)
            known.add(k)
    return np.array(kept, dtype=np.int64)


def _on_conductor(
    top: Floats, rod: Entity, lines: Lines, *, within: float, told: list[Remark]
) -> Floats:
    """Top of a rod, moved in plan onto a conductor of its electrode that is as near."""
    if not len(lines.start):
        return top
    start, step = lines.start[:, :2], (lines.end - lines.start)[:, :2]
    square = np.maximum(np.einsum("ni,ni->n", step, step), 1e-18)
    share = np.clip(np.einsum("ni,ni->n", top[:2] - start, step) / square, 0.0, 1.0)
    foot = start + share[:, None] * step
    gap = np.linalg.norm(foot - top[:2], axis=1)
    one = int(gap.argmin())
    if not 1e-7 < gap[one] <= within:
        return top
    words = (
        f"{rod.named}: {gap[one] * 1e3:.3g} mm onto {lines.name(one)} at "
        f"({foot[one][0]:.3f}, {foot[one][1]:.3f}) m"
    )
    told.append(Remark("moved", words))
    return np.array([*foot[one], top[2]])


def _conductors(
    number: int, runs: list[tuple[int, Entity]], lines: Lines, told: list[Remark]
) -> DrawnPart:
    """What became of the lines of one part."""
    owners = [k for k, (part, _) in enumerate(runs) if part == number]
    mine = np.isin(lines.owner, owners)
    if not mine.any():
        msg = "all its lines run on others, or have no length: nothing is left of them"
        raise CaseError(msg)
    return DrawnPart(
        Pieces(start=lines.start[mine], end=lines.end[mine], radius=None),
        tuple(runs[k][1] for k in owners),
        tuple(told),
    )


def _lines_of(runs: list[Entity]) -> Lines:
    starts, ends, owners = [np.empty((0, 3))], [np.empty((0, 3))], [np.empty(0, dtype=int)]
    for k, run in enumerate(runs):
        corners = run.run
        starts.append(corners[:-1])
        ends.append(corners[1:])
        owners.append(np.full(len(corners) - 1, k))
    return Lines(
        np.concatenate(starts),
        np.concatenate(ends),
        np.concatenate(owners),
        [run.named for run in runs],
    )


def _at_depth(one: Entity, depth: float | None, told: list[Remark]) -> Floats:
    """Corners at the depth that a part gives, or at their own heights."""
    heights = one.points[:, 2]
    if depth is None:
        if heights.max() > 0:
            msg = (
                f"{one.named} lies {heights.max():g} m above 0 in the drawing, where the "
                "surface is; give the depth, or draw it below"
            )
            raise CaseError(msg)
        return one.points
    if np.ptp(heights) > _level:
        low, high = heights.min(), heights.max()
        words = f"{one.named}: drawn from {low:g} to {high:g} m, taken at the depth of its part"
        told.append(Remark("height", words))
    return np.column_stack([one.points[:, :2], np.full(len(heights), 0.0 - depth)])


def _left_out(entities: list[Entity]) -> list[Remark]:
    return [
        Remark("left out", f"{what} on layer {layer!r}: selected, but no metal")
        for layer, what in amounts(entities)
    ]


def _instead(selected: list[Entity]) -> str:
    if not selected:
        return ": it selects nothing at all"
    there = "; ".join(f"{what} on layer {layer!r}" for layer, what in amounts(selected))
    return f": there are {there}"
