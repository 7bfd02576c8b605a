"""Windows of balls: those a line element gives its current to, and which are near others."""

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sparse
from scipy.spatial import cKDTree

from ..model import Floats, Integers
from ..pairs import numbered
from .clouds import Clouds


@dataclass(frozen=True)
class Windows:
    """Balls that line elements give their current to, w for each; alike ones are one window.

    Attributes
    ----------
    balls : ndarray of int, shape (n, w)
        Of each window; where it has fewer, the first again.
    members : csr_matrix, shape (n, m)
        Which elements each window has.
    share : ndarray of float, shape (m, w)
        Share of the current of each element in each ball of its window.
    """

    balls: Integers
    members: sparse.csr_matrix
    share: Floats

    @classmethod
    def of(cls, clouds: Clouds) -> "Windows":
        """The windows of all line elements."""
        shares = clouds.shares.sorted_indices()
        row, column = numbered(np.diff(shares.indptr))
        first = shares.indices[shares.indptr[:-1]].astype(np.int64)
        balls = np.repeat(first[:, None], int(column.max()) + 1, axis=1)
        share = np.zeros(balls.shape)
        balls[row, column], share[row, column] = shares.indices, shares.data
        unique, window = np.unique(balls, axis=0, return_inverse=True)
        element = np.arange(len(balls))
        members = sparse.csr_matrix((np.ones(len(balls)), (window.ravel(), element)))
        return cls(unique, members, share)

    def touching(self, clouds: Clouds, *, reach: Floats) -> tuple[Integers, Integers]:
        """Pairs of windows with balls within the reach of either, shape (k,), once each."""
        one, other = ball_pairs(clouds, reach=float(reach.max()))
        gap = np.linalg.norm(clouds.place[one] - clouds.place[other], axis=1)
        near = gap <= np.maximum(reach[one], reach[other])
        count = len(clouds.place)
        pairs = sparse.csr_matrix(
            (np.ones(int(near.sum())), (one[near], other[near])), shape=(count, count)
        )
        row = np.repeat(np.arange(len(self.balls)), self.balls.shape[1])
        held = sparse.csr_matrix(
            (np.ones(row.size), (row, self.balls.ravel())), shape=(len(self.balls), count)
        )
        found = sparse.triu(held @ (pairs + pairs.T) @ held.T).tocoo()
        return found.row.astype(np.int64), found.col.astype(np.int64)

    def elements_of(
        self, one: Integers, other: Integers
    ) -> tuple[Integers, Integers, Integers]:
        """Number of the pair of windows, and its pairs of elements, once each."""
        many = np.diff(self.members.indptr)
        pair, number = numbered(many[one] * many[other])
        a, b = one[pair], other[pair]
        first = self.members.indices[self.members.indptr[a] + number // many[b]]
        second = self.members.indices[self.members.indptr[b] + number % many[b]]
        once = (a != b) | (first <= second)
        return pair[once], first[once].astype(np.int64), second[once].astype(np.int64)


def ball_pairs(clouds: Clouds, *, reach: float) -> tuple[Integers, Integers]:
    """Pairs of balls no farther apart, once each, and each with itself."""
    one, other = cKDTree(clouds.place).query_pairs(reach, output_type="ndarray").T
    alone = np.arange(len(clouds.place))
    return np.concatenate([one, alone]), np.concatenate([other, alone])
