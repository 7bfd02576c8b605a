"""Metal as a network: nodes where ends meet, branches between them, and what leaks from each.

Branches are the stretches of each piece between the ends of the line elements that a solved
soil has on it; half of what a branch leaks counts at each of its two nodes, which gives its
mean current and its voltage drop to second order in its length.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sparse
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from ..model import Conductors, Flags, Floats, Integers
from ..solved_soil import Lines

_one_place = 1e-7  # along a piece [m]
_joined = 1e-6  # ends as near as this are one, as case files split metal [m]
_upright = 0.9  # of the cosine to the vertical


@dataclass(frozen=True)
class Feed:
    """Where current enters a piece of metal."""

    piece: int  # of `Conductors`
    along: float  # from its start [m]


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
    length : ndarray of float, shape (b,)
        [m]
    leak : csr_matrix, shape (n, m)
        Share of the current of each line element that counts at each node.
    fed : tuple of int
        Node of each feed asked for.
    """

    place: Floats
    component: Integers
    group: Integers
    can_feed: Flags
    first: Integers
    last: Integers
    piece: Integers
    length: Floats
    leak: sparse.csr_matrix
    fed: tuple[int, ...]

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
    conductors: Conductors, *, elements: Lines, feeds: Sequence[Feed] = ()
) -> Network:
    """Nodes and branches of metal, cut where its elements end and where it is fed.

    Parameters
    ----------
    elements : Lines
        The m line elements. What lies beyond the ends of the metal, such as flat ends and
        fill, counts at the end.
    feeds : sequence of Feed, optional
        Places that have to be nodes.
    """
    low, high = _along(conductors, elements)
    count = len(conductors.radius)
    pieces = np.arange(count)
    cut_piece = np.concatenate(
        [pieces, pieces, elements.piece, elements.piece, [item.piece for item in feeds]]
    ).astype(np.int64)
    lengths = conductors.length
    along = np.concatenate(
        [np.zeros(count), lengths, low, high, [item.along for item in feeds]]
    )
    # Ends of elements that should be one differ by round-off.
    order = np.lexsort((along, cut_piece))
    new = np.diff(cut_piece[order], prepend=-1) != 0
    new |= np.diff(along[order], prepend=0.0) > _one_place
    cut = np.empty(len(order), dtype=np.int64)
    cut[order] = np.cumsum(new) - 1
    along, owner = along[order][new], cut_piece[order][new]
    place = conductors.start[owner] + along[:, None] * conductors.direction[owner]
    node = _nodes(conductors, starts=cut[:count], ends=cut[count : 2 * count], place=place)
    inner = np.flatnonzero(owner[1:] == owner[:-1])  # a branch begins at each of these cuts
    leak = _leak(
        cut[2 * count : 2 * count + len(low)],
        cut[2 * count + len(low) : 2 * count + 2 * len(low)],
        along=along,
        node=node,
    )
    first, last = node[inner], node[inner + 1]
    real = first != last
    total = int(node.max()) + 1
    links = sparse.coo_matrix((np.ones(real.sum()), (first[real], last[real])), (total, total))
    _, component = connected_components(links, directed=False)
    where = np.empty((total, 3))
    where[node[::-1]] = place[::-1]
    group = np.empty(component.max() + 1, dtype=np.int64)
    group[component[node]] = conductors.group[owner]
    return Network(
        place=where,
        component=component.astype(np.int64),
        group=group,
        can_feed=_feedable(conductors, node, cut[: 2 * count].reshape(2, count), total),
        first=first[real],
        last=last[real],
        piece=owner[inner][real],
        length=np.diff(along)[inner][real],
        leak=leak,
        fed=tuple(node[cut[2 * count + 2 * len(low) :]].tolist()),
    )


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
    begins: Integers, ends: Integers, *, along: Floats, node: Integers
) -> sparse.csr_matrix:
    """Share of each element at each node: by the branches it covers, half at either end."""
    count = len(begins)
    covered = np.maximum(ends - begins, 1)
    element = np.repeat(np.arange(count), covered)
    step = np.arange(len(element)) - np.repeat(np.cumsum(covered) - covered, covered)
    one = begins[element] + step
    alone = ends[element] == begins[element]
    other = np.where(alone, one, np.minimum(one + 1, len(node) - 1))
    whole = np.where(alone, 1.0, (along[ends] - along[begins])[element])
    share = np.where(alone, 1.0, along[other] - along[one]) / whole
    return sparse.csr_matrix(
        (
            np.tile(0.5 * share, 2),
            (np.concatenate([node[one], node[other]]), np.tile(element, 2)),
        ),
        shape=(int(node.max()) + 1, count),
    )


def _feedable(conductors: Conductors, node: Integers, tips: Integers, total: int) -> Flags:
    """Nodes at ends of pieces, where not only lower ends of upright metal are."""
    z = np.stack([conductors.start[:, 2], conductors.end[:, 2]])
    lower = (np.abs(conductors.direction[:, 2]) > _upright) & (z < z.max(axis=0))
    found = np.zeros(total, dtype=bool)
    found[node[tips[~lower]]] = True
    return found
