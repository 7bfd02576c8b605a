"""Metal as a network: nodes where ends meet, branches between them, and what leaks from each.

What leaks from a branch counts at its two nodes as a load on a lever does: so its current is
the mean of the true one, and its voltage drop that of the leakage that it is given, however
long it is.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sparse
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from ..model import Conductors, Flags, Floats, Integers, require_round_metal
from ..solved_soil import Lines
from .places import ONE_PLACE, Sides, fed_node, parted, require_on_piece
from .places import Feed as Feed

_joined = 1e-6  # ends as near as this are one, as case files split metal [m]
_samples = 4  # places along an element whose current goes to the nodes next to them
_upright = 0.9  # of the cosine to the vertical


@dataclass(frozen=True)
class Network:
    """Metal of g groups as n nodes and b branches.

    Attributes
    ----------
    place : ndarray of float, shape (n, 3)
        Of each node. [m]
    component : ndarray of int, shape (n,)
        What hangs together with it.
    group : ndarray of int, shape (number of components,)
        Electrode group of each.
    can_feed : ndarray of bool, shape (n,)
        Whether leads may be thought to come there: ends and joints, not the feet of rods.
    first, last : ndarray of int, shape (b,)
        Nodes of each branch.
    piece : ndarray of int, shape (b,)
        Of `Conductors`.
    begin, length : ndarray of float, shape (b,)
        From the start of its piece, and of it. [m]
    leak : csr_matrix, shape (n, m)
        Share of the current of each line element that counts at each node.
    fed : tuple of int
        Node of each feed asked for.
    cut : tuple of (int, int)
        Nodes before and after each break asked for.
    """

    place: Floats
    component: Integers
    group: Integers
    can_feed: Flags
    first: Integers
    last: Integers
    piece: Integers
    begin: Floats
    length: Floats
    leak: sparse.csr_matrix
    fed: tuple[int, ...]
    cut: tuple[tuple[int, int], ...] = ()

    @property
    def incidence(self) -> sparse.csr_matrix:
        """One where a branch starts, less one where it ends, shape (b, n)."""
        rows = np.arange(len(self.first))
        ones = np.ones(len(rows))
        return sparse.csr_matrix(
            (
                np.concatenate([ones, -ones]),
                (np.tile(rows, 2), np.concatenate([self.first, self.last])),
            ),
            shape=(len(rows), len(self.place)),
        )


def network_of(
    conductors: Conductors,
    *,
    elements: Lines,
    feeds: Sequence[Feed] = (),
    breaks: Sequence[Feed] = (),
    longest: float | None = None,
) -> Network:
    """Nodes and branches of metal, cut evenly or where its elements end, and where it is fed.

    Parameters
    ----------
    elements : Lines
        The m line elements. What lies beyond the ends of the metal, such as flat ends and
        fill, counts at the end.
    feeds : sequence of Feed, optional
        Places that have to be nodes.
    breaks : sequence of Feed, optional
        Places where metal is cut: two nodes.
    longest : float, optional
        Of a branch; without it there is one for each element. [m]

    Raises
    ------
    CaseError
        If a place is not on its piece, a break has nothing to cut, or it is open on which side
        of a break current enters.
    RoundMetalOnlyError
        If there are plates.
    """
    require_round_metal(conductors, method="networks of metal")
    low, high = _along(conductors, elements)
    count = len(conductors.radius)
    pieces = np.arange(count)
    if longest is None:
        inner_piece, inner = np.tile(elements.piece, 2), np.concatenate([low, high])
    else:
        inner_piece, inner = _even_cuts(conductors.length, longest)
    places = [*feeds, *breaks]
    for item in places:
        require_on_piece(item, conductors)
    owner, along, cut = _cuts(
        np.concatenate([pieces, pieces, [item.piece for item in places], inner_piece]),
        np.concatenate(
            [np.zeros(count), conductors.length, [item.along for item in places], inner]
        ),
    )
    place = conductors.start[owner] + along[:, None] * conductors.direction[owner]
    nodes = _nodes(conductors, starts=cut[:count], ends=cut[count : 2 * count], place=place)
    marked = cut[2 * count : 2 * count + len(places)]
    sides = parted(nodes, owner=owner, breaks=breaks, cuts=marked[len(feeds) :])
    begins = np.flatnonzero(owner[1:] == owner[:-1])  # a branch begins at each of these cuts
    first, last = sides.after[begins], sides.before[begins + 1]
    real = first != last
    total = int(sides.after.max(initial=sides.before.max())) + 1
    links = sparse.coo_matrix((np.ones(real.sum()), (first[real], last[real])), (total, total))
    _, component = connected_components(links, directed=False)
    where = np.empty((total, 3))
    group = np.empty(component.max() + 1, dtype=np.int64)
    for node in (sides.before, sides.after, nodes):
        where[node[::-1]] = place[::-1]
        group[component[node]] = conductors.group[owner]
    return Network(
        place=where,
        component=component.astype(np.int64),
        group=group,
        can_feed=_feedable(conductors, nodes, cut[: 2 * count].reshape(2, count), total),
        first=first[real],
        last=last[real],
        piece=owner[begins][real],
        begin=along[begins][real],
        length=np.diff(along)[begins][real],
        leak=_leak(elements.piece, low, high, owner=owner, along=along, sides=sides),
        fed=tuple(
            fed_node(feed, at, nodes=nodes, owner=owner, sides=sides)
            for feed, at in zip(feeds, marked, strict=False)
        ),
        cut=sides.cut,
    )


def _even_cuts(length: Floats, longest: float) -> tuple[Integers, Floats]:
    """Pieces and places along them where they are cut into even parts of at most a length."""
    parts = np.ceil(length / longest - 1e-9).astype(np.int64)
    piece = np.repeat(np.arange(len(length)), parts - 1)
    step = np.arange(len(piece)) - np.repeat(np.cumsum(parts - 1) - parts + 1, parts - 1) + 1
    return piece, length[piece] * step / parts[piece]


def _cuts(piece: Integers, along: Floats) -> tuple[Integers, Floats, Integers]:
    """Piece and place of each cut, in order, and the cut that each of the places given is."""
    # Ends of elements that should be one differ by round-off.
    piece = piece.astype(np.int64)
    order = np.lexsort((along, piece))
    new = np.diff(piece[order], prepend=-1) != 0
    new |= np.diff(along[order], prepend=0.0) > ONE_PLACE
    cut = np.empty(len(order), dtype=np.int64)
    cut[order] = np.cumsum(new) - 1
    return piece[order][new], along[order][new], cut


def _along(conductors: Conductors, elements: Lines) -> tuple[Floats, Floats]:
    """Where on its piece each element begins and ends, kept to the metal. [m]"""
    piece = elements.piece
    origin, axis = conductors.start[piece], conductors.direction[piece]
    ends = np.stack(
        [np.einsum("ni,ni->n", each - origin, axis) for each in (elements.start, elements.end)]
    )
    ends = np.clip(ends, 0.0, conductors.length[piece])
    return ends.min(axis=0), ends.max(axis=0)


def _nodes(
    conductors: Conductors, *, starts: Integers, ends: Integers, place: Floats
) -> Integers:
    """Number of the node at each cut: ends of pieces of a group that touch are one.

    Metal as near as its radii is one lump: joints so near to another end are not cut.
    """
    tips = np.concatenate([starts, ends])
    radius = np.tile(conductors.radius, 2)
    group = np.tile(conductors.group, 2)
    reach = max(_joined, 2.0 * float(radius.max()))
    pairs = cKDTree(place[tips]).query_pairs(reach, output_type="ndarray")
    a, b = pairs.T
    gap = np.linalg.norm(place[tips[a]] - place[tips[b]], axis=1)
    met = (gap <= np.maximum(_joined, radius[a] + radius[b])) & (group[a] == group[b])
    count = len(place)
    links = sparse.coo_matrix(
        (np.ones(met.sum()), (tips[a[met]], tips[b[met]])), shape=(count, count)
    )
    return np.asarray(connected_components(links, directed=False)[1], dtype=np.int64)


def _leak(
    piece: Integers,
    low: Floats,
    high: Floats,
    *,
    owner: Integers,
    along: Floats,
    sides: Sides,
) -> sparse.csr_matrix:
    """Share of each element at each node: that of a lever, for places along it."""
    count = len(piece)
    share = (np.arange(_samples) + 0.5) / _samples
    at = (low[:, None] + share * (high - low)[:, None]).ravel()
    on = np.repeat(piece, _samples)
    # All pieces one after the other, with room between them.
    room = 2.0 * float(along.max()) + 1.0
    found = np.searchsorted(owner * room + along, on * room + at, side="right") - 1
    first = np.searchsorted(owner, on)
    last = np.searchsorted(owner, on, side="right") - 2
    one = np.clip(found, first, last)
    lever = np.clip((at - along[one]) / (along[one + 1] - along[one]), 0.0, 1.0)
    values = np.concatenate([1.0 - lever, lever]) / _samples
    element = np.tile(np.repeat(np.arange(count), _samples), 2)
    node = np.concatenate([sides.after[one], sides.before[one + 1]])
    total = int(sides.after.max(initial=sides.before.max())) + 1
    return sparse.csr_matrix((values, (node, element)), shape=(total, count))


def _feedable(conductors: Conductors, node: Integers, tips: Integers, total: int) -> Flags:
    """Nodes at ends of pieces, where not only lower ends of upright metal are."""
    z = np.stack([conductors.start[:, 2], conductors.end[:, 2]])
    lower = (np.abs(conductors.direction[:, 2]) > _upright) & (z < z.max(axis=0))
    found = np.zeros(total, dtype=bool)
    found[node[tips[~lower]]] = True
    return found
