"""How much current the metal of an electrode can carry along itself at the most."""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from ..model import Conductors, Integers, Phasors
from ..solved_soil import Field


@dataclass(frozen=True)
class Carried:
    """Current that heats a conductor.

    Attributes
    ----------
    current : float
        Effective value of the symmetrical current of today, >= 0. [A]
    words : str
        Which current that is.
    error : float
        Estimated numerical error, relative; 0 for what was given.
    """

    current: float
    words: str
    error: float = 0.0


def most_along(terminals: Phasors) -> float:
    """Most current that any cut through connected metal can carry. [A]

    Parameters
    ----------
    terminals : ndarray of float or complex
        All currents that enter the metal, those that leave it with the other sign. [A]

    Notes
    -----
    They add up to nothing, so that those on one side of a cut are, in size, those on the other:
    neither is more than half of the sum of all sizes. It holds wherever leads are attached
    and however the current divides in a grid; metal that takes a fault may carry all of it.
    """
    return 0.5 * float(np.abs(terminals).sum())


def most_in_a_rod(field: Field, *, part: int) -> float | None:
    """Most current that one of the rods of a part lets into the soil. [A]

    None if a rod is joined to other metal in more than one place, as it may carry on what
    enters in one of them. Leads are taken to be attached where the rods are joined.
    """
    conductors = field.solution.conductors
    rods, joints = _rods(conductors, part)
    if (joints > 1).any():
        return None
    size = np.zeros(len(conductors.start))
    np.add.at(size, field.solution.elements.piece, np.abs(field.element_current))
    mine = conductors.part == part
    return float(np.bincount(rods, weights=size[mine]).max())


def _rods(conductors: Conductors, part: int) -> tuple[Integers, Integers]:
    """Rod that each piece of a part belongs to, and places where each rod meets other metal.

    Pieces of one rod share an end to the last digit, as do pieces that a joint has cut.
    """
    pieces = np.flatnonzero(conductors.part == part)
    ends = np.concatenate([conductors.start, conductors.end])
    _, point = np.unique(ends, axis=0, return_inverse=True)
    point = point.reshape(2, -1)
    mine = point[:, pieces]
    count = int(point.max()) + 1
    graph = coo_array((np.ones(len(pieces)), (mine[0], mine[1])), shape=(count, count))
    label = connected_components(graph, directed=False)[1]
    rods = np.unique(label[mine[0]], return_inverse=True)[1]
    others = np.delete(point, pieces, axis=1)
    meeting = np.intersect1d(mine, others)
    per_label = np.bincount(label[meeting], minlength=count)
    first = np.unique(rods, return_index=True)[1]
    return rods, per_label[label[mine[0]][first]]
