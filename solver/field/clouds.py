r"""Balls of source that the mesh feels in place of line elements.

Each length of metal has a row of Gaussian balls, no farther apart than their own standard
deviation, and gives them the current of its line elements so that no moment up to the third
along the metal changes. What a ball cannot tell is the fourth moment: outside the balls, where
the field of metal and balls must be one, it is 0.1 % of the potential of a single short element
and less of all together. However short elements become where leakage varies, there are no more
balls, and metal that meets shares the one where it does.
"""

from dataclasses import dataclass, replace

import numpy as np
import scipy.sparse as sparse

from ..model import Floats, Integers
from .elements import LineElements
from .grids import grid_over, lagrange

# Lengths in spreads up to which a row has one ball, two, three; four and more follow.
_few = (0.05, 0.3, 1.0)
_face = 2.3  # gaps of one radius: a face is as good as its axis 6 radii away
_at_one_place = 1e-7  # m


@dataclass(frozen=True)
class Clouds:
    """Gaussian balls of source, k of them, and what m line elements give them.

    Attributes
    ----------
    place : ndarray of float, shape (k, 3)
        Centre of each. [m]
    spread : ndarray of float, shape (k,)
        Standard deviation in each direction. [m]
    layer : ndarray of int, shape (k,)
        Soil layer, or body, of the metal, of two where it lies in the plane between them.
    gap : ndarray of float, shape (k,)
        To the next ball of its row, or the length of a row of one; where metal is thicker than
        that, what its face is worth. Some gaps away, balls are as good as metal. [m]
    shares : csr_matrix, shape (m, k)
        Share of the current of each element in each ball; rows sum to 1.
    """

    place: Floats
    spread: Floats
    layer: Integers
    gap: Floats
    shares: sparse.csr_matrix

    @property
    def start(self) -> Floats:
        """As `LineElements` has it: a ball is a line without length, shape (k, 3). [m]"""
        return self.place

    @property
    def end(self) -> Floats:
        """The same."""
        return self.place


def clouds_of(elements: LineElements) -> Clouds:
    """Balls for elements: rows for lengths of metal, grids for patches of plates."""
    flat = elements.flat
    if not flat.any():
        return _rows(elements)
    parts = []
    for own, made in ((np.flatnonzero(~flat), _rows), (np.flatnonzero(flat), _grids)):
        if len(own):
            found = made(elements.of(own))
            place = sparse.csr_matrix(
                (np.ones(len(own)), (own, np.arange(len(own)))), (len(flat), len(own))
            )
            parts.append(replace(found, shares=(place @ found.shares).tocsr()))
    if len(parts) == 1:
        return parts[0]
    one, other = parts
    return Clouds(
        place=np.concatenate([one.place, other.place]),
        spread=np.concatenate([one.spread, other.spread]),
        layer=np.concatenate([one.layer, other.layer]),
        gap=np.concatenate([one.gap, other.gap]),
        shares=sparse.hstack([one.shares, other.shares], format="csr"),
    )


def _grids(elements: LineElements) -> Clouds:
    """Balls for patches: a grid over what lies of each plate in one layer."""
    assert elements.plate is not None
    assert elements.corners is not None
    key = np.stack([elements.plate, elements.layer], axis=1)
    run = np.unique(key, axis=0, return_inverse=True)[1].ravel()
    places, spreads, layers, gaps, shares = [], [], [], [], []
    order = np.argsort(run, kind="stable")
    for own in np.split(order, np.flatnonzero(np.diff(run[order])) + 1):
        corners, first = elements.corners[own], int(own[0])
        apart = elements.spread if elements.apart is None else elements.apart
        place, share, gap = grid_over(corners, apart=float(apart[first]), few=gaps_of)
        places.append(place)
        spreads.append(np.full(len(place), elements.spread[first]))
        layers.append(np.full(len(place), elements.layer[first]))
        gaps.append(np.full(len(place), gap))
        shares.append(share)
    back = np.argsort(order)
    return Clouds(
        place=np.concatenate(places),
        spread=np.concatenate(spreads),
        layer=np.concatenate(layers),
        gap=np.concatenate(gaps),
        shares=sparse.csr_matrix(sparse.block_diag(shares, format="csr")[back]),
    )


def _rows(elements: LineElements) -> Clouds:
    """Balls for line elements: a row along what lies of each piece in one layer."""
    key = np.stack([elements.row, elements.layer], axis=1)
    _, first, run = np.unique(key, axis=0, return_index=True, return_inverse=True)
    run = run.ravel()
    axis = elements.axis[first]
    origin = elements.start[first]
    ends = np.stack(
        [
            np.einsum("ni,ni->n", end - origin[run], axis[run])
            for end in (elements.start, elements.end)
        ]
    )
    low, high = np.full(len(first), np.inf), np.full(len(first), -np.inf)
    np.minimum.at(low, run, ends.min(axis=0))
    np.maximum.at(high, run, ends.max(axis=0))
    spread = elements.spread[first]
    apart = spread if elements.apart is None else elements.apart[first]
    gaps = gaps_of((high - low) / apart)
    begin = np.cumsum(gaps + 1) - (gaps + 1)
    row = np.repeat(np.arange(len(first)), gaps + 1)
    number = np.arange(len(row)) - begin[row]
    step = (high - low) / np.maximum(gaps, 1)
    along = np.where(gaps == 0, 0.5 * (low + high), low)[row] + number * step[row]
    place = origin[row] + along[:, None] * axis[row]
    # Two points of each element stand for it to the third moment.
    middle, half = ends.mean(axis=0), 0.5 * (ends[1] - ends[0]) / np.sqrt(3)
    rows, columns, shares = [], [], []
    for point in (middle - half, middle + half):
        for degree in range(4):
            some = np.flatnonzero(np.minimum(gaps[run], 3) == degree)
            i = run[some]
            scaled = (point[some] - low[i]) / step[i] if degree else np.zeros(len(some))
            nearest = np.clip(np.floor(scaled) - 1, 0, np.maximum(gaps[i] - 3, 0)).astype(int)
            for node, share in enumerate(lagrange(scaled - nearest, degree=degree)):
                rows.append(some)
                columns.append(begin[i] + nearest + node)
                shares.append(0.5 * share)
    # Where pieces of one spread meet they share a ball.
    keys = np.column_stack(
        [np.round(place / _at_one_place), spread[row], elements.layer[first][row]]
    )
    _, kept, ball = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    matrix = sparse.csr_matrix(
        (np.concatenate(shares), (np.concatenate(rows), ball.ravel()[np.concatenate(columns)])),
        shape=(len(elements), len(kept)),
    )
    radius = np.zeros(len(first))
    np.maximum.at(radius, run, elements.radius)
    gap = np.zeros(len(kept))
    np.maximum.at(gap, ball.ravel(), np.maximum(step, _face * radius)[row])
    layer = elements.layer[first][row][kept]
    return Clouds(place[kept], spread[row][kept], layer, gap, matrix)


def gaps_of(length: Floats) -> Integers:
    """Number of gaps between the balls of rows of a length in spreads."""
    few = np.searchsorted(_few, length)
    return np.where(few < len(_few), few, np.maximum(np.ceil(length).astype(int), 3))
