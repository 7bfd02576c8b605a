"""Places on metal: where current enters it, and where it is cut."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from ..errors import CaseError
from ..model import Conductors, Integers

ONE_PLACE = 1e-7  # along a piece [m]


@dataclass(frozen=True)
class Feed:
    """Where current enters a piece of metal."""

    piece: int  # of `Conductors`
    along: float  # from its start [m]
    # Of a piece that is cut just there: the metal before the cut or after it.
    side: Literal["before", "after"] | None = None


def require_on_piece(feed: Feed, conductors: Conductors) -> None:
    """Raise `CaseError` unless a place is on its piece of metal."""
    count = len(conductors.radius)
    if not 0 <= feed.piece < count:
        msg = f"piece {feed.piece} of metal is asked for; there are {count}, from 0"
        raise CaseError(msg)
    length = float(conductors.length[feed.piece])
    if not -ONE_PLACE <= feed.along <= length + ONE_PLACE:
        msg = (
            f"a place {feed.along:g} m along piece {feed.piece}, which is {length:g} m long; "
            "give one on the metal"
        )
        raise CaseError(msg)


@dataclass(frozen=True)
class Sides:
    """Nodes on both sides of each cut of a piece, which differ where it is broken."""

    before: Integers  # where the branch ends that comes to the cut
    after: Integers  # where the branch starts that goes on from it
    cut: tuple[tuple[int, int], ...]  # of each break


def parted(
    nodes: Integers, *, owner: Integers, breaks: Sequence[Feed], cuts: Integers
) -> Sides:
    """Nodes with those that breaks add."""
    before, after = nodes.copy(), nodes.copy()
    total = int(nodes.max()) + 1
    made = []
    at_ends = np.diff(owner, prepend=-1) != 0, np.diff(owner, append=-1) != 0
    for number, (item, at) in enumerate(zip(breaks, cuts.tolist(), strict=True)):
        is_end = bool(at_ends[0][at] or at_ends[1][at])
        if before[at] != after[at]:
            msg = f"two breaks {item.along:g} m along piece {item.piece}; leave one out"
            raise CaseError(msg)
        if is_end and (nodes == nodes[at]).sum() < 2:
            msg = (
                f"a break at the end of piece {item.piece}, which touches no other metal; give "
                "a place where there is metal on both sides"
            )
            raise CaseError(msg)
        new = total + number
        if at_ends[1][at]:
            before[at] = new
        else:
            after[at] = new
        made.append((int(before[at]), int(after[at])))
    return Sides(before, after, tuple(made))


def fed_node(feed: Feed, at: int, *, nodes: Integers, owner: Integers, sides: Sides) -> int:
    """Node where current enters: of a piece that is cut off at its end, its own."""
    is_first = at == 0 or owner[at - 1] != owner[at]
    is_last = at == len(owner) - 1 or owner[at + 1] != owner[at]
    if feed.side == "before":
        return int(nodes[at] if is_first else sides.before[at])
    if feed.side == "after":
        return int(nodes[at] if is_last else sides.after[at])
    if is_last:
        return int(sides.before[at])
    if is_first or sides.before[at] == sides.after[at]:
        return int(sides.after[at])
    msg = (
        f"current enters {feed.along:g} m along piece {feed.piece}, where it is cut; say "
        "whether before or after"
    )
    raise CaseError(msg)
