"""Functions that may jump across faces of elements: an unknown there for each side."""

import numpy as np
import scipy.sparse as sparse
from scipy.sparse.csgraph import connected_components

from ..model import Integers


def split_unknowns(unknowns: Integers, *, facets: Integers, slit: Integers) -> Integers:
    """Unknowns of elements, those on a slit with a number for each side.

    Parameters
    ----------
    unknowns : ndarray of int, shape (k, m)
        Of each of m elements, as they are without a slit.
    facets : ndarray of int, shape (2, f)
        Elements on both sides of each facet, the second below 0 where there is none.
    slit : ndarray of int
        Facets across which functions may jump.

    Returns
    -------
    unknowns : ndarray of int, shape (k, m)
        New numbers follow the old ones. Elements round a corner or edge share an unknown if
        one can walk from one to the other through facets that are not slit: an edge or rim
        at which the slit ends keeps one.
    """
    one, other = facets[:, slit]
    # Unknowns of both sides of a facet are those on it.
    shared = (unknowns[:, None, one] == unknowns[None, :, other]).any(axis=1)
    on_slit = np.zeros(int(unknowns.max()) + 1, dtype=bool)
    on_slit[unknowns[:, one][shared]] = True
    held = on_slit[unknowns]
    place = np.full(unknowns.shape, -1)
    place[held] = np.arange(held.sum())
    whole = facets[1] >= 0
    whole[slit] = False
    touches = np.asarray(held.any(axis=0))
    whole &= touches[facets[0]] & touches[facets[1]]
    first, second = facets[:, whole]
    same = unknowns[:, None, first] == unknowns[None, :, second]
    same &= held[:, None, first]
    a, b, facet = np.nonzero(same)
    ends = place[a, first[facet]], place[b, second[facet]]
    graph = sparse.csr_matrix((np.ones(len(facet)), ends), shape=(held.sum(),) * 2)
    side = connected_components(graph, directed=False)[1]
    # Of the sides of each unknown the first keeps its number.
    kinds, kind = np.unique(np.stack([unknowns[held], side]), axis=1, return_inverse=True)
    again = np.diff(kinds[0], prepend=-1) == 0
    number = np.where(again, len(on_slit) - 1 + np.cumsum(again), kinds[0])
    split = unknowns.astype(np.int64)
    split[held] = number[kind.ravel()]
    return split
