"""Steps beside the edge of a ground: the direction of the largest share of what is permissible.

Where the limit differs between the grounds that the other foot may stand on, the largest
voltage need not be the worst: a smaller one that leads onto the lower limit may be.
"""

from collections.abc import Callable, Sequence

import numpy as np

from ..model import Flags, Floats, Integers, Phasors
from ..polygons import nearest_on_segments
from ..solved_soil import Field

_directions = 36
_halvings = 6  # of the angle in which a step comes over the edge


def steps_by_share(
    places: Floats,
    *,
    potential: Phasors,
    step: Floats,
    direction: Floats,
    field: Field,
    pace: float,
    permissible: Callable[[Floats], Floats],
    edges: Sequence[Floats],
) -> tuple[Floats, Floats]:
    """Steps in the direction of the largest share of what is permissible under either foot.

    Parameters
    ----------
    places : ndarray of float, shape (n, 2)
        Of one foot. [m]
    potential : ndarray of float or complex, shape (n,)
        Of the surface there. [V]
    step, direction : ndarray of float, shape (n,)
        The largest steps [V], and where they lead [rad].
    pace : float
        Distance between the feet, > 0. [m]
    permissible : callable
        Gives what is permissible at places of shape (m, 2). [V]
    edges : sequence of ndarray of float, each of shape (c, 2)
        Closed outlines at which that may change. [m]

    Returns
    -------
    step, direction : ndarray of float, shape (n,)
        What was given, save where a step onto a lower limit uses more of it.
    """
    rows = np.flatnonzero(_near(places, edges=edges, within=pace))
    if not len(rows):
        return step, direction
    foot, own = places[rows], permissible(places[rows])

    def over_ground(row: Integers, angle: Floats) -> Flags:
        return field.on_ground(_other(foot[row], angle, pace=pace))

    def limit(row: Integers, angle: Floats) -> Floats:
        return np.minimum(own[row], permissible(_other(foot[row], angle, pace=pace)))

    known = limit(np.arange(len(rows)), direction[rows])
    tried = 2 * np.pi * np.arange(_directions) / _directions
    row, way = np.divmod(np.arange(len(rows) * _directions), _directions)
    # Only what leads onto a lower limit can be worse than the largest voltage.
    lower = (limit(row, tried[way]) < known[row]) & over_ground(row, tried[way])
    table = lower.reshape(-1, _directions)
    candidates = [(row[lower], tried[way[lower]])]
    for turn in (-1, 1):
        # A step that just comes over the edge may be the worst of those that do.
        row, way = np.nonzero(table & ~np.roll(table, -turn, axis=1))
        over, short = tried[way], tried[way] + turn * 2 * np.pi / _directions
        for _ in range(_halvings):
            middle = (over + short) / 2
            still = limit(row, middle) < known[row]
            over, short = np.where(still, middle, over), np.where(still, short, middle)
        candidates.append((row, over))
    row, angle = (np.concatenate(each) for each in zip(*candidates, strict=True))
    standing = over_ground(row, angle)
    row, angle = row[standing], angle[standing]
    there = field.surface_potential(_other(foot[row], angle, pace=pace))
    voltage = np.abs(potential[rows[row]] - there)
    share = voltage / limit(row, angle)
    order = np.lexsort([share, row])  # the largest share of each place last, which stays
    best = order[np.flatnonzero(np.diff(row[order], append=-1))]
    best = best[share[best] > step[rows[row[best]]] / known[row[best]]]
    step, direction = step.copy(), direction.copy()
    step[rows[row[best]]] = voltage[best]
    direction[rows[row[best]]] = np.mod(angle[best], 2 * np.pi)
    return step, direction


def _near(places: Floats, *, edges: Sequence[Floats], within: float) -> Flags:
    found = np.zeros(len(places), dtype=bool)
    for outline in edges:
        nearest = nearest_on_segments(places, start=outline, end=np.roll(outline, -1, axis=0))
        found |= np.linalg.norm(places - nearest, axis=1) <= within
    return found


def _other(foot: Floats, angle: Floats, *, pace: float) -> Floats:
    return foot + pace * np.column_stack([np.cos(angle), np.sin(angle)])
