"""Places on metal, as nodes of its wiring: where it is fed, where it comes apart."""

from collections.abc import Set
from dataclasses import dataclass

import numpy as np

from ...solver.errors import CaseError
from ...solver.metal import Feed, FeedPlace
from ...solver.model import Conductors, Floats, Integers
from ..electrodes.feeding import feeds_at
from .schema import Joint

_tiny = 1e-6  # along a piece [m]


@dataclass(frozen=True)
class OnMetal:
    """Places on the metal of a case; each raises `CaseError` where it is not one node."""

    conductors: Conductors

    def feed(self, place: FeedPlace, broken: Set[Feed]) -> Feed:
        """A place as one node; one that no part is named for is on metal that stays."""
        if place.feed is None:
            return self._head(place.part or 0)
        return self._beside(place.feed, broken)

    def _beside(self, feed: Feed, broken: Set[Feed]) -> Feed:
        """The same place on metal that does not come off there."""
        if feed not in broken:
            return feed
        conductors = self.conductors
        length = float(conductors.length[feed.piece])
        if _tiny < feed.along < length - _tiny:
            msg = (
                "is where the metal is cut (joints), and on which side is open; give a place a "
                "little way to one side"
            )
            raise CaseError(msg)
        place = conductors.start[feed.piece] + feed.along * conductors.direction[feed.piece]
        for piece in _meeting(conductors, place):
            at_start = np.linalg.norm(conductors.start[piece] - place) <= 2 * _tiny
            other = Feed(piece, 0.0 if at_start else float(conductors.length[piece]))
            if other not in broken:
                return other
        return feed

    def _head(self, part: int) -> Feed:
        """Head or start of a part that is one straight piece."""
        conductors = self.conductors
        mine = np.flatnonzero(conductors.part == part)
        way = conductors.direction[mine]
        if not np.allclose(way, way[0], atol=1e-6) or self._pieces_start(mine) != 1:
            msg = (
                f"{conductors.part_names[part]!r} is more than one straight piece, and this is "
                "about one place; give it, [x, y] or [x, y, depth]"
            )
            raise CaseError(msg)
        return Feed(int(mine[0]), 0.0)

    def _pieces_start(self, mine: Integers) -> int:
        """Number of runs of pieces that each begin where the one before ends."""
        start, end = self.conductors.start[mine], self.conductors.end[mine]
        return 1 + int((np.linalg.norm(start[1:] - end[:-1], axis=1) > _tiny).sum())

    def joint(self, item: Joint) -> Feed:
        """Where a joint is: inside one piece, or at the end of one that comes off."""
        conductors = self.conductors
        part = conductors.part_names.index(item.part)
        mine = np.flatnonzero(conductors.part == part)
        feed = self._head(part) if item.at is None else feeds_at(item.at, mine, conductors)[0]
        length = float(conductors.length[feed.piece])
        if _tiny < feed.along < length - _tiny:
            return feed
        there = conductors.start[feed.piece] + feed.along * conductors.direction[feed.piece]
        meeting = _meeting(conductors, there)
        same = [piece for piece in meeting if conductors.part[piece] == part]
        if len(meeting) < 2:
            msg = "is at a free end, where nothing is joined; give a place between two metals"
            raise CaseError(msg)
        if len(same) > 1 and len(meeting) > 2:
            msg = (
                f"is where {len(same)} pieces of {item.part!r} meet other metal, and which of "
                "them comes off is open; give a place a little way along the one that does"
            )
            raise CaseError(msg)
        return feed


def _meeting(conductors: Conductors, place: Floats) -> list[int]:
    """Pieces that end at a place."""
    apart = np.minimum(
        np.linalg.norm(conductors.start - place, axis=1),
        np.linalg.norm(conductors.end - place, axis=1),
    )
    return [int(piece) for piece in np.flatnonzero(apart <= 2 * _tiny)]
