"""Worst places that are alike, as round a rod or at the corners of a grid: told once."""

from collections.abc import Sequence

import numpy as np

from ..exposure.worst import WorstVoltage
from ..model import Conductors, Floats
from ..polygons import nearest_on_segments
from .findings import JudgedPlace

_as_large = 5e-3  # of the larger one; symmetric places of a mesh differ by less
_as_far = 0.1  # of a reach or a pace: the top of a voltage is flat


def distinct(
    places: Sequence[JudgedPlace],
    *,
    worst: Sequence[WorstVoltage],
    conductors: Conductors,
    apart: float,
    most: int,
) -> list[tuple[JudgedPlace, int]]:
    """Places of which no two are alike, worst first, and how many more each stands for.

    Alike are those with as large a share on the same ground, with their feet as far from metal.

    Parameters
    ----------
    places : sequence of JudgedPlace
        Of one exposure, in the order of `worst`.
    apart : float
        Reach or pace, which distances are held against. [m]
    most : int
        Places at most.
    """
    far = _from_metal(worst, conductors=conductors)
    found: list[tuple[int, int]] = []
    for row in np.argsort([-place.share for place in places], kind="stable").tolist():
        for number, (first, more) in enumerate(found):
            one, other = places[first], places[row]
            if (
                other.share > (1 - _as_large) * one.share
                and one.ground == other.ground
                and np.abs(far[first] - far[row]).max() < _as_far * apart
            ):
                found[number] = (first, more + 1)
                break
        else:
            if len(found) < most:
                found.append((row, 0))
    return [(places[row], more) for row, more in found]


def _from_metal(worst: Sequence[WorstVoltage], *, conductors: Conductors) -> Floats:
    """Distances of both feet from metal in plan, the nearer first, shape (n, 2). [m]"""
    pairs = [(item.foot, item.other_foot or item.foot) for item in worst]
    feet = np.array(pairs, dtype=float).reshape(-1, 2)
    metal = nearest_on_segments(feet, start=conductors.start[:, :2], end=conductors.end[:, :2])
    return np.sort(np.linalg.norm(feet - metal, axis=1).reshape(-1, 2), axis=1)
