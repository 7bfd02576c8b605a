"""Where current enters the metal of an electrode, as its key `fed_at` says."""

from collections.abc import Sequence

import numpy as np

from ...solver.errors import CaseError, Problem
from ...solver.metal import Feed, FeedPlace
from ...solver.model import Conductors, Floats, Integers
from ..reading.documents import Document
from ..reading.messages import not_among

_farthest = 1.0  # from the axis of the metal: a lead comes to it, not to the soil beside [m]


def feeds_of(
    given: Sequence[str | tuple[float, ...] | None],
    *,
    conductors: Conductors,
    document: Document,
) -> tuple[FeedPlace | None, ...]:
    """Where current enters each group; None where nobody says.

    Parameters
    ----------
    given : sequence of str, tuple of float or None
        Of each group: the name of a part, or (x, y) or (x, y, depth) on its metal.

    Raises
    ------
    CaseError
        If a part is not of the electrode, or a place not on its metal; all of them at once.
    """
    found: list[FeedPlace | None] = []
    problems: list[Problem] = []
    for group, place in enumerate(given):
        try:
            found.append(None if place is None else feed_on(place, group, conductors))
        except CaseError as error:
            problems.append(document.problem(str(error), path=("electrodes", group, "fed_at")))
    if problems:
        raise CaseError(problems)
    return tuple(found)


def feed_on(place: str | tuple[float, ...], group: int, conductors: Conductors) -> FeedPlace:
    """Where a name or a place on the metal of a group is; `CaseError` if it is not on it."""
    mine = np.flatnonzero(conductors.group == group)
    if isinstance(place, str):
        parts = np.unique(conductors.part[mine]).tolist()
        names = [conductors.part_names[part] for part in parts]
        if place not in names:
            raise CaseError(not_among(place, names, what="part of this electrode"))
        return FeedPlace(part=parts[names.index(place)])
    return FeedPlace(feed=feeds_at(place, mine, conductors)[0])


def feeds_at(place: tuple[float, ...], mine: Integers, conductors: Conductors) -> list[Feed]:
    """The place on each of the pieces that are nearest, the highest one first.

    `CaseError` where none of them is near.
    """
    at = np.array([*place[:2], -place[2] if len(place) == 3 else 0.0])
    flat = np.array([1.0, 1.0, float(len(place) == 3)])
    along, gap = _nearest(at, flat, conductors, mine)
    nearest = np.flatnonzero(gap <= gap.min() + 1e-6)
    # In plan a rod is one place: its lead comes to its head.
    height = conductors.start[mine, 2] + along * conductors.direction[mine, 2]
    ordered = nearest[np.argsort(-height[nearest], kind="stable")]
    if gap[ordered[0]] > _farthest:
        msg = (
            f"lies {gap[ordered[0]]:.3g} m from the axis of any metal of the electrode; give a "
            f"place on it, within {_farthest:g} m, or the name of a part"
        )
        raise CaseError(msg)
    return [Feed(int(mine[one]), float(along[one])) for one in ordered]


def _nearest(
    at: Floats, flat: Floats, conductors: Conductors, mine: Integers
) -> tuple[Floats, Floats]:
    """Place along each piece that is nearest, the higher one of a tie, and its distance. [m]"""
    start, step = conductors.start[mine], (conductors.end - conductors.start)[mine]
    level = step * flat
    square = np.einsum("ni,ni->n", level, level)
    share = np.einsum("ni,ni->n", (at - start) * flat, level)
    upright = square < 1e-12
    share = np.clip(np.where(upright, 0.0, share / np.where(upright, 1.0, square)), 0.0, 1.0)
    share = np.where(upright & (step[:, 2] > 0), 1.0, share)
    gap = np.linalg.norm((start + share[:, None] * step - at) * flat, axis=1)
    return share * conductors.length[mine], gap
