"""Nodes and branches of thin wires that are not at one potential, and of their leads."""

import itertools
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from ..errors import CaseError
from ..metal.wiring import REMOTE_EARTH, End, Lead, Terminal, Wiring
from ..model import Conductors, Flags, Floats, Integers
from .wires import Wires

_one_place = 1e-7  # [m]
_joined = 1e-6  # [m]
_leg = 25.0  # that leads are cut into, so that what varies along them is followed [m]


class CutMetal:
    """Metal cut where it is fed and broken, with the node of each tip of what it became."""

    def __init__(self, conductors: Conductors, wiring: Wiring) -> None:
        ends = [port.at for port in wiring.ports]
        ends += [end for lead in wiring.leads for end in lead.ends]
        feeds = [end for end in ends if not isinstance(end, Terminal)]
        feeds += [item.feed for item in wiring.breaks]
        length = conductors.length
        pieces, begins, stops = [], [], []
        for piece in range(len(length)):
            at = {0.0, float(length[piece])}
            for feed in feeds:
                inside = _one_place < feed.along < length[piece] - _one_place
                if feed.piece == piece and inside:
                    at.add(feed.along)
            places = sorted(at)
            kept = [
                places[0],
                *(b for a, b in itertools.pairwise(places) if b - a > _one_place),
            ]
            pieces += [piece] * (len(kept) - 1)
            begins += kept[:-1]
            stops += kept[1:]
        self.origin = np.array(pieces)
        self.begin, self.stop = np.array(begins), np.array(stops)
        share = length[self.origin]
        self.conductors = conductors.cut(
            self.origin, begin=self.begin / share, end=self.stop / share
        )
        self.tips, self.cuts = self._tips(wiring)

    def _tips(self, wiring: Wiring) -> tuple[Integers, list[tuple[int, int]]]:
        """Node of start and end of each piece, (2, pieces), and those beside each break."""
        c = self.conductors
        ends = np.concatenate([c.start, c.end])
        radius, group = np.tile(c.radius, 2), np.tile(c.group, 2)
        label = np.arange(len(ends))
        near = cKDTree(ends).query_pairs(max(_joined, 2 * float(radius.max())))
        for a, b in sorted(near):
            gap = float(np.linalg.norm(ends[a] - ends[b]))
            if group[a] == group[b] and gap <= max(_joined, radius[a] + radius[b]):
                label[label == label[b]] = label[a]
        tips = np.unique(label, return_inverse=True)[1].reshape(2, -1)
        cuts = []
        for item in wiring.breaks:
            rows = np.flatnonzero(self.origin == item.feed.piece)
            new, along = int(tips.max()) + 1, item.feed.along
            ends_here = rows[np.abs(self.stop[rows] - along) <= _one_place]
            starts_here = rows[np.abs(self.begin[rows] - along) <= _one_place]
            if len(starts_here):  # what begins here comes off what was before
                before = int(tips[0, starts_here[0]])
                tips[0, starts_here[0]] = new
                cuts.append((before, new))
            else:
                after = int(tips[1, ends_here[0]])
                tips[1, ends_here[0]] = new
                cuts.append((new, after))
        return tips, cuts

    def node(self, piece: int, along: float, side: str | None) -> int:
        """Node at a place on the metal."""
        rows = np.flatnonzero(self.origin == piece)
        before = rows[np.abs(self.stop[rows] - along) <= _one_place]
        after = rows[np.abs(self.begin[rows] - along) <= _one_place]
        if len(before) and (side != "after" or not len(after)):
            return int(self.tips[1, before[0]])
        if not len(after):
            msg = f"no place {along:g} m along piece {piece}; give one on the metal"
            raise CaseError(msg)
        return int(self.tips[0, after[0]])


@dataclass(frozen=True)
class Net:
    """Nodes and branches: wires that have length, then leads, then breaks with impedance."""

    count: int  # nodes
    nodes: Integers  # (w, 2): of each wire
    along: Floats  # (w, 2): metal ends of each wire along its piece [m]
    real: Flags  # (w,): whether it is a branch, not fill beyond an end
    branches: tuple[tuple[int, int], ...]
    breaks: int  # number of them with impedance
    ports: tuple[int, ...]

    @classmethod
    def of(cls, sub: CutMetal, wires: Wires, wiring: Wiring) -> "Net":
        """Nodes and branches of metal cut into wires, with its leads and joints."""
        c = sub.conductors
        origin, way, length = c.start[wires.piece], c.direction[wires.piece], c.length
        limit = length[wires.piece]
        ends = [
            np.clip(np.einsum("ni,ni->n", each - origin, way), 0.0, limit)
            for each in (wires.start, wires.end)
        ]
        along = np.stack(ends, axis=1)
        count = int(sub.tips.max()) + 1
        nodes = np.empty((len(wires), 2), dtype=np.int64)
        for piece in range(len(length)):
            rows = np.flatnonzero(wires.piece == piece)
            inner: dict[float, int] = {0.0: int(sub.tips[0, piece])}
            inner[round(float(length[piece]), 7)] = int(sub.tips[1, piece])
            for row in rows:
                for end in (0, 1):
                    at = round(float(along[row, end]), 7)
                    if at not in inner:
                        inner[at] = count
                        count += 1
                    nodes[row, end] = inner[at]
        real = np.abs(np.diff(along, axis=1))[:, 0] > _one_place
        terminals = {REMOTE_EARTH: -1}

        def node(end: End) -> int:
            nonlocal count
            if not isinstance(end, Terminal):
                return sub.node(end.piece, end.along, end.side)
            if end not in terminals:
                terminals[end] = count
                count += 1
            return terminals[end]

        ports = tuple(node(port.at) for port in wiring.ports)
        branches = [(int(a), int(b)) for a, b in nodes[real]]
        branches += [(node(lead.ends[0]), node(lead.ends[1])) for lead in wiring.leads]
        joints = [
            cut
            for cut, item in zip(sub.cuts, wiring.breaks, strict=True)
            if item.impedance is not None
        ]
        branches += joints
        return cls(count, nodes, along, real, tuple(branches), len(joints), ports)


def legs_of(lead: Lead, sub: CutMetal) -> tuple[Floats, Floats]:
    """Short straight lengths of a lead that has a way."""
    corners = np.array(lead.route, dtype=float)
    if not lead.route:
        places = []
        for end in lead.ends:
            assert not isinstance(end, Terminal)  # the lead has checked it
            row = int(np.flatnonzero(sub.origin == end.piece)[0])
            c = sub.conductors
            places.append(c.start[row] + end.along * c.direction[row])
        corners = np.array(places)
    starts, stops = [], []
    for a, b in itertools.pairwise(corners):
        share = np.linspace(0.0, 1.0, int(np.ceil(np.linalg.norm(b - a) / _leg)) + 1)[:, None]
        at = a + share * (b - a)
        starts.append(at[:-1])
        stops.append(at[1:])
    return np.concatenate(starts), np.concatenate(stops)
